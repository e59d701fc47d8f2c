import { choose, chooseNext, mirror, toggleLock } from "../model/editing.ts";
import { nextToLookAt } from "../model/attention.ts";
import { complain, step } from "../model/session.ts";
import { state } from "../model/state.ts";
import { viewNames } from "../model/views.ts";
import { say } from "../model/words.ts";
import type { Nudge } from "./nudge.ts";
import type { PlatePointer } from "./pointer.ts";
import type { SceneView } from "./sceneView.ts";

const arrows: Record<string, readonly [number, number]> = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };

/** Obeys the keys of `keyList`: most while nothing is typed, arrows and Tab only on the plate, single ones while `mayPress`. */
export function obeyKeys(view: SceneView, pointer: PlatePointer, nudge: Nudge, mayPress: () => boolean, showKeys: () => void): void {
  addEventListener("keydown", (event) => {
    if (state.value.screen !== "plate" || document.querySelector("dialog[open]") !== null || isTyping(event.target)) {
      return;
    }

    const onPlate = event.target === view.plate.canvas;
    if ((onPlate && plateKey(event, view, pointer, nudge)) || pageKey(event, view, mayPress, showKeys)) {
      event.preventDefault();
    }
  });
}

function isTyping(target: EventTarget | null): boolean {
  return target instanceof HTMLInputElement ? !["checkbox", "radio", "button"].includes(target.type)
    : target instanceof HTMLTextAreaElement || target instanceof HTMLSelectElement;
}

function plateKey(event: KeyboardEvent, view: SceneView, pointer: PlatePointer, nudge: Nudge): boolean {
  const eye = view.plate.panes[0]?.eye;
  const arrow = arrows[event.key];
  const control = event.ctrlKey || event.metaKey;
  if (arrow !== undefined && eye !== undefined) {
    const [right, up] = arrow;
    if (control && event.shiftKey) {
      eye.pan(right * 0.05, up * 0.05);
    } else if (control || state.value.chosen.length === 0) {
      eye.turn(right * 5, -up * 5);
    } else {
      nudge.by(right, up, event.shiftKey ? 0.05 : 0.01);
    }

    view.plate.draw();
    return true;
  }

  if (event.key === "Tab" && state.value.chosen.length > 0) {
    chooseNext(event.shiftKey ? -1 : 1);
    return true;
  }

  if (event.key === "Enter") {
    if (state.value.chosen.length === 0) {
      chooseNext(1);
    } else {
      view.flyTo(state.value.chosen);
    }

    return true;
  }

  if (event.key === "Escape") {
    if (!pointer.cancel() && !nudge.cancel()) {
      if (state.value.clickFor.kind !== "choose") {
        state.set({ clickFor: { kind: "choose" } });
      } else {
        choose([]);
      }
    }

    return true;
  }

  return false;
}

function pageKey(event: KeyboardEvent, view: SceneView, mayPress: () => boolean, showKeys: () => void): boolean {
  const key = event.key.toLowerCase();
  if (event.ctrlKey || event.metaKey) {
    const way = key === "y" || (key === "z" && event.shiftKey) ? "redo" : key === "z" ? "undo" : null;
    if (way !== null) {
      void step(way).catch(complain);
    }

    return way !== null;
  }

  if (event.altKey || !mayPress()) {
    return false;
  }

  const fixed = viewNames[Number(key) - 1];
  if (fixed !== undefined) {
    view.showView(fixed);
    return true;
  }

  const act = pageKeys[key];
  act?.(view, event.shiftKey, showKeys);
  return act !== undefined;
}

const pageKeys: Record<string, (view: SceneView, shift: boolean, showKeys: () => void) => void> = {
  "6": () => state.set({ four: !state.value.four }),
  "0": (view) => view.fit(),
  "+": (view) => zoom(view, 1 / 1.15),
  "=": (view) => zoom(view, 1 / 1.15),
  "-": (view) => zoom(view, 1.15),
  "o": () => state.set({ seeThrough: !state.value.seeThrough }),
  "l": () => state.set({ layers: { ...state.value.layers, loops: !state.value.layers.loops } }),
  "n": () => chooseNext(1),
  "b": () => chooseNext(-1),
  "v": (view) => lookAtNext(view),
  "k": () => void toggleLock().catch(complain),
  "m": (_, shift) => void mirror(shift ? "topology" : "plane").catch(complain),
  "t": () => {
    const travel = state.value.travel === "skin" ? "plane" : "skin";
    state.set({ travel });
    say(travel === "skin" ? "Joints travel along the skin." : "Joints travel in the plane of the view.");
  },
  "?": (_view, _shift, showKeys) => showKeys(),
};

function zoom(view: SceneView, factor: number): void {
  view.plate.panes[0]?.eye.zoom(factor);
  view.plate.draw();
}

/** Chooses and flies to the joint after the chosen one in the list of those worth a look. */
export function lookAtNext(view: SceneView): void {
  const { document: placement, chosen, looks } = state.value;
  const list = nextToLookAt(placement?.joints ?? [], looks, 30);
  const next = list[(list.findIndex((joint) => joint.name === chosen[0]) + 1) % Math.max(1, list.length)];
  if (next !== undefined) {
    choose([next.name]);
    view.flyTo([next.name]);
  }
}
