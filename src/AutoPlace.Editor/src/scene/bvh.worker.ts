import { BufferAttribute, BufferGeometry } from "three";
import { MeshBVH } from "three-mesh-bvh";
import type { BvhRequest } from "./bvhBuilder.ts";

self.onmessage = (event: MessageEvent<BvhRequest>) => {
  const geometry = new BufferGeometry();
  geometry.setAttribute("position", new BufferAttribute(event.data.positions, 3));
  if (event.data.index !== null) {
    geometry.setIndex(new BufferAttribute(event.data.index, 1));
  }

  self.postMessage(MeshBVH.serialize(new MeshBVH(geometry)));
};
