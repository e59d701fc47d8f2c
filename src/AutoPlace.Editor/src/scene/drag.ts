import { Vector3 } from "three";
import { followers } from "../model/spread.ts";
import { state } from "../model/state.ts";
import type { Joint, Vec3 } from "../service/contract.ts";
import type { Part } from "./headModel.ts";
import type { Pane } from "./plate.ts";
import type { SceneView } from "./sceneView.ts";

interface Held {
  readonly joint: Joint;
  readonly start: Vector3;
  /** The part of the mesh that the joint rides on; null for joints that don't ride on the skin. */
  readonly part: Part | null;
}

/** Joints being moved: shows where they and those that follow them go, without asking the service. */
export class JointDrag {
  readonly #view: SceneView;
  readonly #held: readonly Held[];
  readonly #start: ReadonlyMap<string, Vector3>;
  #moved = new Map<string, Vector3>();
  #shown = new Set<string>();

  /** @param first The joint that the pointer has hold of; the others move by as much. */
  constructor(view: SceneView, first: string, names: readonly string[]) {
    this.#view = view;
    this.#start = new Map([...view.lattice.places].map(([name, place]) => [name, place.clone()]));
    const joints = [first, ...names.filter((name) => name !== first)]
      .map((name) => view.lattice.joints.find((joint) => joint.name === name))
      .filter((joint) => joint !== undefined);
    this.#held = joints.map((joint) => {
      const start = this.#start.get(joint.name) ?? new Vector3();
      return { joint, start, part: state.value.travel === "skin" && joint.kind === "surface" ? partUnder(view, start) : null };
    });
  }

  /** Moves the joints so that the first one is seen at a place on the canvas. */
  moveTo(pane: Pane, x: number, y: number): void {
    const first = this.#held[0];
    if (first === undefined) {
      return;
    }

    const inPlane = this.#view.plate.inPlane(first.start, pane, x, y);
    const { origin, direction } = this.#view.plate.ray(pane, x, y);
    const hit = first.part === null ? null : this.#view.head?.hit(origin, direction, first.part) ?? this.#view.head?.nearest(inPlane, first.part);
    const to = hit != null ? this.#lifted(first.joint, hit.position, hit.normal) : inPlane;
    this.moveBy(to.clone().sub(first.start), hit != null);
  }

  /** Moves the joints by as much; with `firstIsThere` the first one isn't put onto the skin again. */
  moveBy(shift: Vector3, firstIsThere = false): void {
    this.#moved = new Map();
    this.#held.forEach(({ joint, start, part }, i) => {
      const goal = start.clone().add(shift);
      const on = part === null || (i === 0 && firstIsThere) ? null : this.#view.head?.nearest(goal, part);
      this.#moved.set(joint.name, on != null ? this.#lifted(joint, on.position, on.normal) : goal);
    });
    this.#show();
  }

  #lifted(joint: Joint, position: Vector3, normal: Vector3): Vector3 {
    return position.clone().addScaledVector(normal, joint.lift / (this.#view.frame?.unit ?? 1));
  }

  #show(): void {
    const { influence } = state.value;
    const frame = this.#view.frame;
    if (frame === null) {
      return;
    }

    const goal = new Map<string, Vec3>([...this.#moved].map(([name, place]) => [name, frame.toFile(place)]));
    const after = new Map([...followers(this.#view.lattice.joints, goal, influence === null ? null : influence * frame.unit)]
      .map(([name, place]) => [name, frame.toScene(place)]));
    for (const name of this.#shown) {
      // What followed a moment ago and doesn't now goes back.
      const start = this.#start.get(name);
      if (!after.has(name) && start !== undefined) {
        after.set(name, start);
      }
    }

    this.#shown = new Set(after.keys());
    this.#view.lattice.preview(after);
    const first = this.#moved.get(this.#held[0]?.joint.name ?? "");
    this.#view.lattice.setInfluence(influence === null || first === undefined ? null : { at: first, radius: influence });
    this.#view.plate.draw();
  }

  /** Where the moved joints go, the file's coordinates. */
  get result(): Map<string, Vec3> {
    const frame = this.#view.frame;
    return new Map(frame === null ? [] : [...this.#moved].map(([name, place]) => [name, frame.toFile(place)]));
  }

  cancel(): void {
    this.#view.lattice.preview(new Map([...this.#start].filter(([name]) => this.#shown.has(name))));
    this.#view.lattice.setInfluence(null);
    this.#view.plate.draw();
  }
}

/** The part that a place lies on: of those about equally near the one with the most triangles, so that lids aren't taken for the ball. */
export function partUnder(view: SceneView, place: Vector3): Part | null {
  const near = (view.head?.parts ?? []).filter((part) => part.surface.visible)
    .map((part) => ({ part, distance: view.head?.nearest(place, part)?.distance ?? Infinity }))
    .sort((a, b) => a.distance - b.distance);
  const least = near[0]?.distance ?? Infinity;
  const size = (part: Part): number => part.surface.geometry.index?.count ?? 0;
  return near.filter((candidate) => candidate.distance <= least + 0.05).sort((a, b) => size(b.part) - size(a.part))[0]?.part ?? null;
}
