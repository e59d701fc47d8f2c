import type { Quat, Vec3 } from "../service/contract.ts";

/** A rotation, then turned about its own axes: first x, then y, then z, degrees. */
export function turned(rotation: Quat, degrees: Vec3): Quat {
  const result = degrees.reduce<Quat>((before, angle, axis) => {
    const half = (angle * Math.PI) / 360;
    const turn: [number, number, number, number] = [0, 0, 0, Math.cos(half)];
    turn[axis] = Math.sin(half);
    return product(before, turn);
  }, rotation);
  const length = Math.hypot(...result);
  return [result[0] / length, result[1] / length, result[2] / length, result[3] / length];
}

function product([ax, ay, az, aw]: Quat, [bx, by, bz, bw]: Quat): Quat {
  return [
    aw * bx + ax * bw + ay * bz - az * by,
    aw * by - ax * bz + ay * bw + az * bx,
    aw * bz + ax * by - ay * bx + az * bw,
    aw * bw - ax * bx - ay * by - az * bz,
  ];
}
