import type { Vector3 } from "three";
import { choose, mayEdit, moveJoints, moveLandmark, pivotToPart, rowToLoop } from "../model/editing.ts";
import { complain } from "../model/session.ts";
import { state } from "../model/state.ts";
import { countDrag } from "../model/stats.ts";
import { say } from "../model/words.ts";
import { JointDrag, partUnder } from "./drag.ts";
import type { Part } from "./headModel.ts";
import { pick, within, type Picked } from "./picking.ts";
import type { Pane } from "./plate.ts";
import type { SceneView } from "./sceneView.ts";

/** Pixels that the pointer moves before a press is a drag. */
const slack = 3;
/** Degrees for a pixel. */
const turning = 0.35;

interface Press {
  readonly pane: Pane;
  readonly x: number;
  readonly y: number;
  readonly picked: Picked | null;
  readonly does: "move" | "turn" | "pan" | "box";
  readonly more: boolean;
  readonly wasChosen: boolean;
  lastX: number;
  lastY: number;
  moved: boolean;
  drag: JointDrag | null;
  landmark: { readonly name: string; readonly place: Vector3; readonly part: Part | null } | null;
  /** Where the pointer has hold of the mark, from its middle. */
  readonly offsetX: number;
  readonly offsetY: number;
}

/** What mouse, pen and finger do on the plate. */
export class PlatePointer {
  readonly #view: SceneView;
  readonly #box: HTMLElement;
  #press: Press | null = null;

  /** @param box An element over the canvas that is shown as the rectangle being drawn. */
  constructor(view: SceneView, box: HTMLElement) {
    this.#view = view;
    this.#box = box;
    const { canvas } = view.plate;
    canvas.addEventListener("pointerdown", (event) => this.#down(event));
    canvas.addEventListener("pointermove", (event) => this.#move(event));
    canvas.addEventListener("pointerup", (event) => this.#up(event));
    canvas.addEventListener("pointercancel", () => this.cancel());
    canvas.addEventListener("pointerleave", () => this.#press === null && view.hover(null));
    canvas.addEventListener("contextmenu", (event) => event.preventDefault());
    canvas.addEventListener("dblclick", () => this.#view.flyTo(state.value.chosen));
    canvas.addEventListener("wheel", (event) => this.#wheel(event), { passive: false });
  }

  #place(event: MouseEvent): { x: number; y: number } {
    const box = this.#view.plate.canvas.getBoundingClientRect();
    return { x: event.clientX - box.left, y: event.clientY - box.top };
  }

  #down(event: PointerEvent): void {
    const { x, y } = this.#place(event);
    const pane = this.#view.plate.paneAt(x, y);
    if (pane === undefined || this.#press !== null || event.button === 1) {
      return;
    }

    const canvas = this.#view.plate.canvas;
    canvas.focus({ preventScroll: true });
    canvas.setPointerCapture(event.pointerId);
    const more = event.ctrlKey || event.metaKey;
    const picked = event.button === 0 && !event.shiftKey ? pick(this.#view, pane, x, y, true) : null;
    const mark = picked === null ? undefined : this.#markPlace(picked);
    const at = mark === undefined ? { x, y } : this.#view.plate.project(mark, pane);
    const does = event.button === 2 ? "pan" : event.shiftKey ? "box" : picked !== null && state.value.clickFor.kind === "choose" ? "move" : more ? "pan" : "turn";
    const wasChosen = picked?.kind === "joint" && state.value.chosen.includes(picked.name);
    this.#press = {
      pane, x, y, picked, more, lastX: x, lastY: y, moved: false, drag: null, landmark: null, offsetX: at.x - x, offsetY: at.y - y,
      does, wasChosen,
    };
    if (does === "move" && picked !== null) {
      this.#hold(this.#press, picked);
    }
  }

  #markPlace(picked: Picked): Vector3 | undefined {
    return (picked.kind === "joint" ? this.#view.lattice.places : this.#view.lattice.landmarkPlaces).get(picked.name);
  }

  #move(event: PointerEvent): void {
    const began = performance.now();
    const { x, y } = this.#place(event);
    const press = this.#press;
    if (press === null) {
      const pane = this.#view.plate.paneAt(x, y);
      const picked = pane === undefined ? null : pick(this.#view, pane, x, y, true);
      this.#view.hover(picked?.kind === "joint" ? picked.name : null);
      this.#view.plate.canvas.dataset["over"] = picked === null ? "" : "mark";
      return;
    }

    if (!press.moved && Math.hypot(x - press.x, y - press.y) < slack) {
      return;
    }

    if (!press.moved) {
      press.moved = true;
      if (press.does === "move" && !mayEdit()) {
        [press.drag, press.landmark] = [null, null];
      }
    }

    const [dx, dy] = [x - press.lastX, y - press.lastY];
    [press.lastX, press.lastY] = [x, y];
    switch (press.does) {
      case "turn":
        press.pane.eye.turn(-dx * turning, dy * turning);
        break;
      case "pan":
        press.pane.eye.pan(dx / press.pane.height, -dy / press.pane.height);
        break;
      case "box":
        this.#drawBox(press, x, y);
        break;
      case "move":
        this.#drag(press, x + press.offsetX, y + press.offsetY);
        countDrag(performance.now() - began);
        break;
    }

    this.#view.plate.draw();
  }

  // Everything that takes long is done here, so that moving afterwards doesn't stutter.
  #hold(press: Press, picked: Picked): void {
    if (picked.kind === "joint") {
      if (!press.wasChosen) {
        choose([picked.name], press.more);
      }

      press.drag = new JointDrag(this.#view, picked.name, state.value.chosen);
    } else {
      state.set({ landmark: picked.name, chosen: [] });
      const place = this.#markPlace(picked);
      const onSkin = state.value.travel === "skin" && !picked.name.startsWith("eye_centre");
      press.landmark = place === undefined ? null : { name: picked.name, place: place.clone(), part: onSkin ? partUnder(this.#view, place) : null };
    }
  }

  #drag(press: Press, x: number, y: number): void {
    press.drag?.moveTo(press.pane, x, y);
    if (press.landmark !== null) {
      const { name, place, part } = press.landmark;
      const { plate, head, lattice } = this.#view;
      const inPlane = plate.inPlane(place, press.pane, x, y);
      const ray = plate.ray(press.pane, x, y);
      lattice.previewLandmark(name, (part === null ? null : head?.hit(ray.origin, ray.direction, part))?.position ?? inPlane);
    }
  }

  #up(event: PointerEvent): void {
    const press = this.#press;
    this.#press = null;
    this.#box.hidden = true;
    if (press === null) {
      return;
    }

    const { x, y } = this.#place(event);
    if (!press.moved) {
      this.#click(press, x, y);
    } else if (press.does === "box") {
      choose(within(this.#view, press.pane, press, { x, y }), press.more);
    } else if (press.drag !== null) {
      this.#view.lattice.setInfluence(null);
      void moveJoints(press.drag.result, state.value.travel === "skin").catch(complain);
    } else if (press.landmark !== null && this.#view.frame !== null) {
      const place = this.#view.lattice.landmarkPlaces.get(press.landmark.name);
      if (place !== undefined) {
        void moveLandmark(press.landmark.name, this.#view.frame.toFile(place)).catch(complain);
      }
    }
  }

  #click(press: Press, x: number, y: number): void {
    const { clickFor } = state.value;
    if (clickFor.kind !== "choose") {
      this.#clickSkin(press.pane, x, y);
    } else if (press.wasChosen) {
      // Of joints that coincide, clicking again goes on to the next.
      const other = press.more ? press.picked : pick(this.#view, press.pane, x, y, false);
      if (other?.kind === "joint") {
        choose([other.name], press.more);
      }
    } else if (press.picked === null && press.does === "turn" && !press.more) {
      choose([]);
    }
  }

  #clickSkin(pane: Pane, x: number, y: number): void {
    const { clickFor } = state.value;
    const ray = this.#view.plate.ray(pane, x, y);
    const hit = this.#view.head?.hit(ray.origin, ray.direction);
    if (hit == null || this.#view.frame === null) {
      say("Nothing of the head is there.");
      return;
    }

    state.set({ clickFor: { kind: "choose" } });
    if (clickFor.kind === "rowToLoop") {
      void rowToLoop(clickFor.row, this.#view.frame.toFile(hit.position)).catch(complain);
    } else if (clickFor.kind === "pivotToPart") {
      void pivotToPart(clickFor.joint, hit.part.name, this.#view.frame.toFile(hit.position)).catch(complain);
    }
  }

  /** Lets go without doing anything; true when something was held. */
  cancel(): boolean {
    const press = this.#press;
    this.#press = null;
    this.#box.hidden = true;
    press?.drag?.cancel();
    if (press?.landmark != null) {
      this.#view.lattice.previewLandmark(press.landmark.name, press.landmark.place);
    }

    return press !== null;
  }

  #drawBox(press: Press, x: number, y: number): void {
    const { style } = this.#box;
    this.#box.hidden = false;
    style.left = `${Math.min(press.x, x)}px`;
    style.top = `${Math.min(press.y, y)}px`;
    style.width = `${Math.abs(x - press.x)}px`;
    style.height = `${Math.abs(y - press.y)}px`;
  }

  #wheel(event: WheelEvent): void {
    event.preventDefault();
    const { x, y } = this.#place(event);
    const pane = this.#view.plate.paneAt(x, y);
    if (pane !== undefined) {
      const lines = event.deltaMode === WheelEvent.DOM_DELTA_LINE ? 16 : 1;
      const [right, up] = [(x - pane.x - pane.width / 2) / pane.height, (pane.y + pane.height / 2 - y) / pane.height];
      pane.eye.zoom(Math.exp(Math.max(-120, Math.min(120, event.deltaY * lines)) * 0.0016), right, up);
      this.#view.plate.draw();
    }
  }
}
