import type { Vec3 } from "../service/contract.ts";
import { distance, scale, subtract } from "./vector.ts";

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
    addSpan(result, at(span - 1), at(span), at(span + 1), at(span + 2), steps);
  }

  result.push(at(spans));
  return result;
}

// Each point is a weighted mean of the four corners; the weights follow from multiplying the pyramid out.
function addSpan(result: Vec3[], p0: Vec3, p1: Vec3, p2: Vec3, p3: Vec3, steps: number): void {
  const t1 = Math.sqrt(distance(p0, p1));
  const t2 = t1 + Math.sqrt(distance(p1, p2));
  const t3 = t2 + Math.sqrt(distance(p2, p3));
  for (let step = 0; step < steps; step++) {
    const t = t1 + ((t2 - t1) * step) / steps;
    const [a, b, c] = [share(0, t1, t), share(t1, t2, t), share(t2, t3, t)];
    const [d, e] = [share(0, t2, t), share(t1, t3, t)];
    const w0 = b * d * a;
    const w1 = b * (d * (1 - a) + (1 - d) * b) + (1 - b) * e * b;
    const w2 = b * (1 - d) * (1 - b) + (1 - b) * (e * (1 - b) + (1 - e) * c);
    const w3 = (1 - b) * (1 - e) * (1 - c);
    result.push([
      w0 * p0[0] + w1 * p1[0] + w2 * p2[0] + w3 * p3[0],
      w0 * p0[1] + w1 * p1[1] + w2 * p2[1] + w3 * p3[1],
      w0 * p0[2] + w1 * p1[2] + w2 * p2[2] + w3 * p3[2],
    ]);
  }
}

/** Share of the first of two knots at a parameter. */
function share(ta: number, tb: number, t: number): number {
  return tb > ta ? (tb - t) / (tb - ta) : 1;
}
