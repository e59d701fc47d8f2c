import {
  BufferGeometry, Color, DoubleSide, Group, LineBasicMaterial, LineSegments, Mesh, MeshLambertMaterial, Raycaster, Vector3, type Box3, type Matrix4, type Object3D,
} from "three";
import { GLTFLoader } from "three/addons/loaders/GLTFLoader.js";
import { acceleratedRaycast, type MeshBVH } from "three-mesh-bvh";
import { BvhBuilder } from "./bvhBuilder.ts";
import type { Inks } from "./inks.ts";

export interface Part {
  readonly name: string;
  readonly surface: Mesh<BufferGeometry, MeshLambertMaterial>;
  readonly loops: LineSegments | null;
  bvh: MeshBVH | null;
}

/** A place on the skin, in the scene's frame. */
export interface SkinPoint {
  readonly part: Part;
  readonly position: Vector3;
  readonly normal: Vector3;
  readonly distance: number;
}

/** The head's mesh: its parts as surfaces, the polygons' own edges as lines, and the trees that rays are shot through. */
export class HeadModel extends Group {
  readonly parts: Part[] = [];
  readonly #skin = new MeshLambertMaterial({ side: DoubleSide });
  readonly #loops = new LineBasicMaterial({ transparent: true, opacity: 0.36, depthWrite: false });
  readonly #caster = new Raycaster();

  static async from(glb: ArrayBuffer): Promise<HeadModel> {
    const { scene, parser } = await new GLTFLoader().parseAsync(glb, "");
    const model = new HeadModel();
    const nodes = (parser.json as { nodes: { name?: string }[] }).nodes;
    const parts = new Map<number, { surface: Mesh | null; loops: LineSegments | null }>();
    scene.traverse((object) => {
      // The loader changes names and makes a group of a mesh with two primitives: the node says which part it is.
      for (let at: Object3D | null = object; at !== null && (object instanceof Mesh || object instanceof LineSegments); at = at.parent) {
        const node = parser.associations.get(at)?.nodes;
        if (node !== undefined) {
          const part = parts.get(node) ?? { surface: null, loops: null };
          parts.set(node, object instanceof LineSegments ? { ...part, loops: object } : { ...part, surface: object });
          break;
        }
      }
    });
    for (const [node, { surface, loops }] of parts) {
      if (surface !== null) {
        model.#addPart(nodes[node]?.name ?? `part ${node}`, surface, loops);
      }
    }

    model.matrixAutoUpdate = false;
    return model;
  }

  #addPart(name: string, source: Mesh, edges: LineSegments | null): void {
    const surface = new Mesh<BufferGeometry, MeshLambertMaterial>(source.geometry, this.#skin);
    surface.name = name;
    // Pushed back a little, so that edges and marks on the surface aren't cut by it.
    this.#skin.polygonOffset = true;
    this.#skin.polygonOffsetFactor = 1;
    this.#skin.polygonOffsetUnits = 1;
    surface.raycast = acceleratedRaycast;
    const loops = edges === null ? null : new LineSegments(edges.geometry, this.#loops);
    this.add(surface);
    if (loops !== null) {
      loops.renderOrder = 1;
      this.add(loops);
    }

    this.parts.push({ name, surface, loops, bvh: null });
  }

  /** Builds the trees in a worker; until one is there, rays go by all triangles of its part. */
  async buildTrees(): Promise<void> {
    const builder = new BvhBuilder();
    try {
      for (const part of this.parts) {
        part.bvh = await builder.build(part.surface.geometry);
        part.surface.geometry.boundsTree = part.bvh;
      }
    } finally {
      builder.close();
    }
  }

  get trianglesTotal(): number {
    return this.parts.reduce((sum, part) => sum + (part.surface.geometry.index?.count ?? part.surface.geometry.getAttribute("position").count) / 3, 0);
  }

  setFrame(fileToScene: Matrix4): void {
    this.matrix.copy(fileToScene);
    this.updateMatrixWorld(true);
  }

  setInks(inks: Inks): void {
    this.#skin.color = inks.skin;
    this.#loops.color = new Color(inks.loops);
  }

  setSeeThrough(on: boolean): void {
    this.#skin.transparent = on;
    this.#skin.opacity = on ? 0.42 : 1;
    this.#skin.depthWrite = !on;
    this.#skin.needsUpdate = true;
  }

  setLoops(on: boolean): void {
    for (const part of this.parts) {
      if (part.loops !== null) {
        part.loops.visible = on && part.surface.visible;
      }
    }
  }

  setPartVisible(name: string, visible: boolean, loops: boolean): void {
    const part = this.parts.find((candidate) => candidate.name === name);
    if (part !== undefined) {
      part.surface.visible = visible;
      if (part.loops !== null) {
        part.loops.visible = visible && loops;
      }
    }
  }

  /** The first place where a ray meets a part, or any part that is shown. */
  hit(origin: Vector3, direction: Vector3, only: Part | null = null): SkinPoint | null {
    this.#caster.set(origin, direction);
    this.#caster.firstHitOnly = true;
    let best: SkinPoint | null = null;
    for (const part of only === null ? this.parts.filter((candidate) => candidate.surface.visible) : [only]) {
      const found = this.#caster.intersectObject(part.surface, false)[0];
      if (found !== undefined && (best === null || found.distance < best.distance)) {
        const normal = (found.face?.normal.clone() ?? new Vector3(0, 0, 1)).transformDirection(part.surface.matrixWorld);
        if (normal.dot(direction) > 0) {
          normal.negate();
        }

        best = { part, position: found.point.clone(), normal, distance: found.distance };
      }
    }

    return best;
  }

  /** The place on a part, or any, that is nearest to a point; null while the trees aren't built. */
  nearest(point: Vector3, only: Part | null = null): SkinPoint | null {
    const local = point.clone().applyMatrix4(this.matrixWorld.clone().invert());
    let best: SkinPoint | null = null;
    for (const part of only === null ? this.parts.filter((candidate) => candidate.surface.visible) : [only]) {
      const found = part.bvh?.closestPointToPoint(local);
      if (found != null) {
        const position = found.point.clone().applyMatrix4(this.matrixWorld);
        const distance = position.distanceTo(point);
        if (best === null || distance < best.distance) {
          best = { part, position, normal: normalOf(part, found.faceIndex, this.matrixWorld), distance };
        }
      }
    }

    return best;
  }

  bounds(box: Box3): Box3 {
    return box.setFromObject(this);
  }

  override dispose(): void {
    for (const part of this.parts) {
      part.surface.geometry.dispose();
      part.loops?.geometry.dispose();
    }

    this.#skin.dispose();
    this.#loops.dispose();
  }
}

function normalOf(part: Part, face: number, toScene: Matrix4): Vector3 {
  const { index, attributes } = part.surface.geometry;
  const position = attributes["position"];
  const corner = (k: number): Vector3 => {
    const at = index?.getX(3 * face + k) ?? 3 * face + k;
    return position === undefined ? new Vector3() : new Vector3().fromBufferAttribute(position, at).applyMatrix4(toScene);
  };
  const a = corner(0);
  return corner(1).sub(a).cross(corner(2).sub(a)).normalize();
}
