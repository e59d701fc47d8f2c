/** Main-thread work of handlers and frames, as measured while the page runs. */
export interface Stats {
  /** Handled drag events. */
  readonly count: number;
  /** Milliseconds of a drag event. */
  readonly median: number;
  readonly max: number;
  /** Frames a second while the plate is being redrawn, over the last ones. */
  readonly fps: number;
}

const kept = 4000;
const frames: number[] = [];
let events: number[] = [];
let count = 0;
let max = 0;

export function countDrag(ms: number): void {
  count++;
  max = Math.max(max, ms);
  events.push(ms);
  if (events.length > kept) {
    events = events.slice(kept / 2);
  }
}

/** @param ms Time since the frame before, which was drawn too. */
export function countFrame(ms: number): void {
  frames.push(ms);
  if (frames.length > 60) {
    frames.shift();
  }
}

export function clearStats(): void {
  [events, count, max] = [[], 0, 0];
  frames.length = 0;
}

export function stats(): Stats {
  const sorted = [...events].sort((a, b) => a - b);
  const mean = frames.reduce((sum, ms) => sum + ms, 0) / Math.max(1, frames.length);
  return { count, median: sorted[Math.floor(sorted.length / 2)] ?? 0, max, fps: mean > 0 ? 1000 / mean : 0 };
}
