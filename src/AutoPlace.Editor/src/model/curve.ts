import type { Vec3 } from "../service/contract.ts";
import { add, distance, scale, subtract } from "./vector.ts";

/**
 * Points on the centripetal Catmull-Rom curve through some points (Catmull and Rom 1974; Barry and Goldman's pyramid 1988;
 * centripetal knots, exponent one half: Lee 1989; from memory), `steps` for each span and the last point; beyond the ends
 * the first and last span are mirrored.
 */
export function curveThrough(points: readonly Vec3[], closed: boolean, steps: number): Vec3[] {
  const distinct = points.filter((point, i) => i === 0 || distance(point, points[i - 1] ?? point) > 0);
  const first = distinct[0];
  const last = distinct.at(-1);
  if (first === undefined || last === undefined || distinct.length < 2) {
    return [...distinct];
  }

  const ring = closed && distinct.length > 2 && distance(first, last) > 0;
  const at = (i: number): Vec3 => {
    const n = distinct.length;
    if (ring) {
      return distinct[(i + n) % n] ?? first;
    }

    return i < 0 ? subtract(scale(first, 2), distinct[1] ?? first) : i >= n ? subtract(scale(last, 2), distinct[n - 2] ?? last) : (distinct[i] ?? first);
  };

  const spans = ring ? distinct.length : distinct.length - 1;
  const result: Vec3[] = [];
  for (let span = 0; span < spans; span++) {
    const p = [at(span - 1), at(span), at(span + 1), at(span + 2)] as const;
    for (let step = 0; step < steps; step++) {
      result.push(onSpan(p, step / steps));
    }
  }

  result.push(at(spans));
  return result;
}

function onSpan(p: readonly [Vec3, Vec3, Vec3, Vec3], u: number): Vec3 {
  const t0 = 0;
  const t1 = t0 + Math.sqrt(distance(p[0], p[1]));
  const t2 = t1 + Math.sqrt(distance(p[1], p[2]));
  const t3 = t2 + Math.sqrt(distance(p[2], p[3]));
  const t = t1 + (t2 - t1) * u;
  const a1 = between(p[0], p[1], t0, t1, t);
  const a2 = between(p[1], p[2], t1, t2, t);
  const a3 = between(p[2], p[3], t2, t3, t);
  return between(between(a1, a2, t0, t2, t), between(a2, a3, t1, t3, t), t1, t2, t);
}

function between(a: Vec3, b: Vec3, ta: number, tb: number, t: number): Vec3 {
  return tb > ta ? add(scale(a, (tb - t) / (tb - ta)), scale(b, (t - ta) / (tb - ta))) : a;
}
