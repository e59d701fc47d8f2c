import type { Joint, Vec3 } from "../service/contract.ts";
import { add, distance, scale, subtract } from "./vector.ts";

/** Wendland's function of degree 4 (Wendland 1995; from memory): 1 at 0, 0 from 1 on. */
export function wendland(r: number): number {
  const near = Math.max(0, 1 - r);
  return near ** 4 * (4 * r + 1);
}

/**
 * Where joints are shown while some are being moved, before the service has solved: unlocked joints of the same region
 * within the influence distance follow by the same function of distance; where several pull, in proportion to their
 * nearness. Without a distance only what is moved moves.
 * @returns New positions by name, only of joints that move.
 */
export function followers(joints: readonly Joint[], moved: ReadonlyMap<string, Vec3>, influence: number | null): Map<string, Vec3> {
  const result = new Map(moved);
  if (influence === null || !(influence > 0)) {
    return result;
  }

  const pulls = joints.filter((joint) => moved.has(joint.name))
    .map((joint) => ({ joint, by: subtract(moved.get(joint.name) ?? joint.position, joint.position) }));
  for (const joint of joints) {
    if (moved.has(joint.name) || joint.lock.position) {
      continue;
    }

    let total = 0;
    let strongest = 0;
    let sum: Vec3 = [0, 0, 0];
    for (const pull of pulls) {
      const weight = pull.joint.region === joint.region ? wendland(distance(pull.joint.position, joint.position) / influence) : 0;
      total += weight;
      strongest = Math.max(strongest, weight);
      sum = add(sum, scale(pull.by, weight));
    }

    if (total > 0) {
      result.set(joint.name, add(joint.position, scale(sum, strongest / total)));
    }
  }

  return result;
}
