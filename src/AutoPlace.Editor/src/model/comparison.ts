import type { PlacementDocument, Vec3 } from "../service/contract.ts";
import { distance } from "./vector.ts";

export interface Difference {
  readonly joint: string;
  readonly from: Vec3;
  readonly to: Vec3;
  readonly distance: number;
}

/** What differs between two placements of one lattice, the largest distance first; distances in the file's unit. */
export function differences(from: PlacementDocument, to: PlacementDocument): Difference[] {
  const before = new Map(from.joints.map((joint) => [joint.name, joint.position]));
  const result: Difference[] = [];
  for (const joint of to.joints) {
    const was = before.get(joint.name);
    if (was !== undefined) {
      result.push({ joint: joint.name, from: was, to: joint.position, distance: distance(was, joint.position) });
    }
  }

  return result.sort((a, b) => b.distance - a.distance);
}

// Sky blue, yellow and vermilion of the palette of Okabe and Ito: told apart without red and green.
const stops = [[0x56, 0xb4, 0xe9], [0xf0, 0xe4, 0x42], [0xd5, 0x5e, 0x00]] as const;

/** Colour of a distance on a scale from 0 to `most`: sRGB, 0 to 255. */
export function distanceColour(value: number, most: number): [number, number, number] {
  const t = most > 0 ? Math.min(1, Math.max(0, value / most)) * (stops.length - 1) : 0;
  const i = Math.min(stops.length - 2, Math.floor(t));
  const [a, b] = [stops[i] ?? stops[0], stops[i + 1] ?? stops[0]];
  const channel = (k: 0 | 1 | 2): number => Math.round(a[k] + (b[k] - a[k]) * (t - i));
  return [channel(0), channel(1), channel(2)];
}
