import { Bone, Group, Matrix4, MeshLambertMaterial, Object3D, Quaternion, SkinnedMesh, Vector3, DoubleSide, Mesh } from "three";
import { GLTFLoader } from "three/addons/loaders/GLTFLoader.js";
import type { PlacementDocument, Vec3 } from "../service/contract.ts";
import type { SceneFrame } from "./frame.ts";
import type { Inks } from "./inks.ts";

/** How the head is moved: degrees, and for the lids the part of the way to closed, 0 to 1. */
export interface Pose {
  readonly jaw: number;
  readonly eyesLeft: number;
  readonly eyesUp: number;
  readonly lids: number;
}

export const rest: Pose = { jaw: 0, eyesLeft: 0, eyesUp: 0, lids: 0 };

interface Turning {
  readonly bone: Object3D;
  readonly restRotation: Quaternion;
  readonly parentRotation: Quaternion;
}

const sides = ["left", "right"] as const;

/** The head with the lattice as its skin, from placement.glb: joints turn, and the skin follows by the initial weights. */
export class MotionRig extends Group {
  readonly #bones = new Map<string, Object3D>();
  readonly #turnings = new Map<string, Turning>();
  readonly #lidAngles = new Map<string, number>();
  readonly #skin = new MeshLambertMaterial({ side: DoubleSide });
  readonly #axes: { readonly left: Vector3; readonly up: Vector3; readonly hand: number };
  /** Motions that this lattice has joints for. */
  readonly can: { readonly jaw: boolean; readonly eyes: boolean; readonly lids: boolean };

  static async from(glb: ArrayBuffer, document: PlacementDocument, frame: SceneFrame): Promise<MotionRig> {
    const gltf = await new GLTFLoader().parseAsync(glb, "");
    const nodes = (gltf.parser.json as { nodes: { name?: string }[] }).nodes;
    const names = new Map<Object3D, string>();
    gltf.scene.traverse((object) => {
      const index = gltf.parser.associations.get(object)?.nodes;
      const name = index === undefined ? undefined : nodes[index]?.name;
      if (name !== undefined) {
        names.set(object, name);
      }
    });
    return new MotionRig(gltf.scene, names, document, frame);
  }

  private constructor(scene: Group, names: ReadonlyMap<Object3D, string>, document: PlacementDocument, frame: SceneFrame) {
    super();
    scene.updateMatrixWorld(true);
    const joints = new Set(document.joints.map((joint) => joint.name));
    let root: Object3D = scene;
    for (const [object, name] of names) {
      if (object instanceof Bone && joints.has(name)) {
        this.#bones.set(name, object);
      } else if (name === "file_to_gltf") {
        root = object;
      }

      if (object instanceof SkinnedMesh) {
        object.frustumCulled = false;
      }
    }

    scene.traverse((object) => {
      if (object instanceof Mesh) {
        object.material = this.#skin;
        object.frustumCulled = false;
      }
    });
    const axis = (direction: Vec3): Vector3 => new Vector3(...direction).transformDirection(root.matrixWorld);
    const { left, up, front } = document.head.frame;
    const [x, y, z] = [axis(left), axis(up), axis(front)];
    this.#axes = { left: x, up: y, hand: Math.sign(x.clone().cross(y).dot(z)) };
    this.#prepare(document, frame);
    this.can = { jaw: this.#turnings.has("jaw_hinge"), eyes: this.#turnings.has("eye_centre_left"), lids: this.#lidAngles.size > 0 };
    this.matrixAutoUpdate = false;
    this.matrix.multiplyMatrices(frame.fileToScene, new Matrix4().copy(root.matrixWorld).invert());
    this.add(scene);
    this.updateMatrixWorld(true);
  }

  #prepare(document: PlacementDocument, frame: SceneFrame): void {
    for (const name of ["jaw_hinge", ...sides.flatMap((side) => [`eye_centre_${side}`, `lid_upper_${side}`, `lid_lower_${side}`])]) {
      const bone = this.#bones.get(name);
      if (bone !== undefined) {
        this.#turnings.set(name, {
          bone, restRotation: bone.quaternion.clone(), parentRotation: bone.parent?.getWorldQuaternion(new Quaternion()) ?? new Quaternion(),
        });
      }
    }

    // How far each lid turns about its joint until the middle of its margin meets the closing line, or the other lid half way.
    const place = (name: string | undefined): Vector3 | null => {
      const joint = document.joints.find((candidate) => candidate.name === name);
      return joint === undefined ? null : frame.toScene(joint.position);
    };
    const middle = (row: string): Vector3 | null => {
      const line = document.rows.find((candidate) => candidate.name === row);
      return place(line?.joints[Math.floor(line.joints.length / 2)]);
    };
    for (const side of sides) {
      const [upper, lower] = [middle(`lid_upper_margin_${side}`), middle(`lid_lower_margin_${side}`)];
      const closed = middle(`lid_closing_${side}`) ?? (upper !== null && lower !== null ? upper.clone().lerp(lower, 0.5) : null);
      for (const [name, margin] of [[`lid_upper_${side}`, upper], [`lid_lower_${side}`, lower]] as const) {
        const centre = place(name);
        if (this.#turnings.has(name) && margin !== null && closed !== null && centre !== null) {
          const angle = (p: Vector3): number => Math.atan2(p.y - centre.y, p.z - centre.z);
          this.#lidAngles.set(name, angle(margin) - angle(closed));
        }
      }
    }
  }

  setInks(inks: Inks): void {
    this.#skin.color = inks.skin;
  }

  /** Turns the joints; `rest` puts back exactly what the file has. */
  pose(pose: Pose): void {
    const radians = Math.PI / 180;
    this.#turn("jaw_hinge", [[this.#axes.left, pose.jaw * radians]]);
    for (const side of sides) {
      this.#turn(`eye_centre_${side}`, [[this.#axes.left, -pose.eyesUp * radians], [this.#axes.up, pose.eyesLeft * radians]]);
      for (const lid of [`lid_upper_${side}`, `lid_lower_${side}`]) {
        this.#turn(lid, [[this.#axes.left, (this.#lidAngles.get(lid) ?? 0) * pose.lids]]);
      }
    }

    this.updateMatrixWorld(true);
  }

  #turn(name: string, turns: readonly (readonly [Vector3, number])[]): void {
    const turning = this.#turnings.get(name);
    if (turning === undefined) {
      return;
    }

    const { bone, restRotation, parentRotation } = turning;
    if (turns.every(([, angle]) => angle === 0)) {
      bone.quaternion.copy(restRotation);
      return;
    }

    const world = new Quaternion();
    for (const [axis, angle] of turns) {
      world.premultiply(new Quaternion().setFromAxisAngle(axis, angle * this.#axes.hand));
    }

    bone.quaternion.copy(parentRotation).invert().multiply(world).multiply(parentRotation).multiply(restRotation);
  }

  /** Where the joints are now, the scene's frame. */
  places(): Map<string, Vector3> {
    return new Map([...this.#bones].map(([name, bone]) => [name, new Vector3().setFromMatrixPosition(bone.matrixWorld)]));
  }

  override dispose(): void {
    this.traverse((object) => {
      if (object instanceof Mesh) {
        object.geometry.dispose();
      }
    });
    this.#skin.dispose();
  }
}
