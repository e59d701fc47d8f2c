import { Vector3 } from "three";
import { chosenJoints, mayEdit, moveJoints } from "../model/editing.ts";
import { beforeOthers } from "../model/pending.ts";
import { complain } from "../model/session.ts";
import { state } from "../model/state.ts";
import { JointDrag } from "./drag.ts";
import type { SceneView } from "./sceneView.ts";

/** Quiet time after which nudges become one revision, milliseconds. */
const pause = 450;

/** Moves the chosen joints by small steps in the plane of the large view; steps that follow each other make one revision. */
export class Nudge {
  readonly #view: SceneView;
  #drag: JointDrag | null = null;
  #shift = new Vector3();
  #timer: ReturnType<typeof setTimeout> | undefined;

  constructor(view: SceneView) {
    this.#view = view;
    state.watch(["chosen"], () => this.commit());
    beforeOthers(() => this.commit());
  }

  /** @param right Steps to the right as seen. @param up Steps up. @param step Length of one, interocular distances. */
  by(right: number, up: number, step: number): void {
    const pane = this.#view.plate.panes[0];
    const joints = chosenJoints();
    const first = joints[0];
    if (pane === undefined || first === undefined || !mayEdit()) {
      return;
    }

    this.#drag ??= new JointDrag(this.#view, first.name, joints.map((joint) => joint.name));
    this.#shift.addScaledVector(pane.eye.right, right * step).addScaledVector(pane.eye.up, up * step);
    this.#drag.moveBy(this.#shift);
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => this.commit(), pause);
  }

  /** Makes a revision of what was nudged. */
  commit(): void {
    clearTimeout(this.#timer);
    const drag = this.#drag;
    this.#drag = null;
    this.#shift = new Vector3();
    if (drag !== null) {
      this.#view.lattice.setInfluence(null);
      void moveJoints(drag.result, state.value.travel === "skin").catch(complain);
    }
  }

  cancel(): boolean {
    clearTimeout(this.#timer);
    const held = this.#drag;
    this.#drag = null;
    this.#shift = new Vector3();
    held?.cancel();
    return held !== null;
  }
}
