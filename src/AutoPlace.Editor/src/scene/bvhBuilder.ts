import { type BufferGeometry } from "three";
import { MeshBVH, type SerializedBVH } from "three-mesh-bvh";

export interface BvhRequest {
  readonly positions: Float32Array;
  readonly index: Uint32Array | null;
}

/** Has the trees of geometries built in a worker, so that the page never stops for them. */
export class BvhBuilder {
  readonly #worker = new Worker(new URL("./bvh.worker.ts", import.meta.url), { type: "module" });

  build(geometry: BufferGeometry): Promise<MeshBVH> {
    const position = geometry.getAttribute("position");
    const positions = new Float32Array(position.count * 3);
    for (let i = 0; i < position.count; i++) {
      positions.set([position.getX(i), position.getY(i), position.getZ(i)], 3 * i);
    }

    const request: BvhRequest = { positions, index: geometry.index === null ? null : Uint32Array.from(geometry.index.array) };
    return new Promise((resolve, reject) => {
      this.#worker.onmessage = (event: MessageEvent<SerializedBVH>) => resolve(MeshBVH.deserialize(event.data, geometry));
      this.#worker.onerror = (event) => reject(new Error(event.message));
      this.#worker.postMessage(request, [positions.buffer, ...(request.index === null ? [] : [request.index.buffer])]);
    });
  }

  close(): void {
    this.#worker.terminate();
  }
}
