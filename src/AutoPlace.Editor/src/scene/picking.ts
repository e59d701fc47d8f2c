import type { Vector3 } from "three";
import { state } from "../model/state.ts";
import type { Pane } from "./plate.ts";
import type { SceneView } from "./sceneView.ts";

/** Pixels about a mark within which it is taken to be meant. */
const reach = 13;
/** How much farther a mark that lies behind the skin counts, pixels. */
const behind = 8;

export type Picked = { readonly kind: "joint"; readonly name: string } | { readonly kind: "landmark"; readonly name: string };

/** The mark that a place on the canvas means, or null; of joints that coincide one that is chosen, or one that isn't. */
export function pick(view: SceneView, pane: Pane, x: number, y: number, preferChosen: boolean): Picked | null {
  const { layers, chosen } = state.value;
  const candidates: { picked: Picked; distance: number; place: Vector3 }[] = [];
  const consider = (picked: Picked, place: Vector3, handicap: number): void => {
    const at = view.plate.project(place, pane);
    const distance = Math.hypot(at.x - x, at.y - y);
    if (distance < reach) {
      candidates.push({ picked, distance: distance + handicap, place });
    }
  };
  if (layers.landmarks) {
    view.lattice.landmarkPlaces.forEach((place, name) => consider({ kind: "landmark", name }, place, 0));
  }

  for (const name of pickable(view)) {
    const place = view.lattice.places.get(name);
    if (place !== undefined) {
      consider({ kind: "joint", name }, place, chosen.includes(name) === preferChosen ? 0 : 0.01);
    }
  }

  candidates.sort((a, b) => a.distance - b.distance);
  return candidates.slice(0, 6)
    .map((candidate) => ({ ...candidate, distance: candidate.distance + (hidden(view, pane, candidate.place) ? behind : 0) }))
    .sort((a, b) => a.distance - b.distance)[0]?.picked ?? null;
}

/** Joints inside a rectangle of the canvas. */
export function within(view: SceneView, pane: Pane, a: { x: number; y: number }, b: { x: number; y: number }): string[] {
  const [left, right, top, bottom] = [Math.min(a.x, b.x), Math.max(a.x, b.x), Math.min(a.y, b.y), Math.max(a.y, b.y)];
  return pickable(view).filter((name) => {
    const place = view.lattice.places.get(name);
    if (place === undefined) {
      return false;
    }

    const at = view.plate.project(place, pane);
    return at.x >= left && at.x <= right && at.y >= top && at.y <= bottom;
  });
}

function pickable(view: SceneView): string[] {
  const { region, layers, chosen } = state.value;
  return view.lattice.joints
    .filter((joint) => (region === null || joint.region === region) && (layers.joints || chosen.includes(joint.name)))
    .map((joint) => joint.name);
}

function hidden(view: SceneView, pane: Pane, place: Vector3): boolean {
  if (state.value.seeThrough) {
    return false;
  }

  const direction = pane.eye.direction;
  const hit = view.head?.hit(place.clone().addScaledVector(direction, -40), direction);
  return hit != null && hit.distance < 40 - 0.03;
}
