import { MathUtils, OrthographicCamera, Vector3 } from "three";
import type { Direction } from "../model/views.ts";

export interface Gaze extends Direction {
  readonly target: Vector3;
  /** Height that is seen, interocular distances. */
  readonly span: number;
}

/** What is seen of a head at first: from the vertex to the neck. */
export const wholeHead = { target: new Vector3(0, -0.35, -0.9), span: 5.4 } as const;

const flightMs = 320;

/** One parallel projection: turns about the head's up axis and tips, pans, zooms, and flies to where it is sent. */
export class Eye {
  readonly camera = new OrthographicCamera();
  gaze: Gaze;
  #flight: { from: Gaze; to: Gaze; start: number } | null = null;

  constructor(direction: Direction) {
    this.gaze = { ...direction, ...wholeHead, target: wholeHead.target.clone() };
  }

  /** @param wait Milliseconds the flight takes; 0 to be there at once. */
  flyTo(to: Partial<Gaze>, wait = matchMedia("(prefers-reduced-motion: reduce)").matches ? 0 : flightMs): void {
    const goal = { ...(this.#flight?.to ?? this.gaze), ...to };
    this.#flight = wait > 0 ? { from: this.gaze, to: goal, start: performance.now() } : null;
    this.gaze = wait > 0 ? this.gaze : goal;
  }

  /** Goes on with a flight; true while there is one. */
  advance(now: number): boolean {
    if (this.#flight === null) {
      return false;
    }

    const { from, to, start } = this.#flight;
    const t = Math.min(1, Math.max(0, (now - start) / flightMs));
    const s = MathUtils.smoothstep(t, 0, 1);
    const turn = MathUtils.euclideanModulo(to.azimuth - from.azimuth + 180, 360) - 180;
    this.gaze = {
      azimuth: from.azimuth + turn * s,
      elevation: MathUtils.lerp(from.elevation, to.elevation, s),
      target: from.target.clone().lerp(to.target, s),
      span: from.span * (to.span / from.span) ** s,
    };
    if (t === 1) {
      this.gaze = to;
      this.#flight = null;
    }

    return true;
  }

  turn(azimuth: number, elevation: number): void {
    this.#flight = null;
    this.gaze = {
      ...this.gaze,
      azimuth: MathUtils.euclideanModulo(this.gaze.azimuth + azimuth + 180, 360) - 180,
      elevation: MathUtils.clamp(this.gaze.elevation + elevation, -89, 89),
    };
  }

  /** Shifts what is seen by a part of the seen height, to the right and up. */
  pan(right: number, up: number): void {
    this.#flight = null;
    const target = this.gaze.target.clone().addScaledVector(this.right, -right * this.gaze.span).addScaledVector(this.up, -up * this.gaze.span);
    this.gaze = { ...this.gaze, target };
  }

  /** Zooms by a factor about a point of the pane: right and up of its middle, in parts of the height. */
  zoom(factor: number, right = 0, up = 0): void {
    const span = MathUtils.clamp(this.gaze.span * factor, 0.05, 60);
    const change = this.gaze.span - span;
    const target = this.gaze.target.clone().addScaledVector(this.right, right * change).addScaledVector(this.up, up * change);
    this.#flight = null;
    this.gaze = { ...this.gaze, target, span };
  }

  /** From the eye into the head. */
  get direction(): Vector3 {
    const [a, e] = [MathUtils.degToRad(this.gaze.azimuth), MathUtils.degToRad(this.gaze.elevation)];
    return new Vector3(-Math.sin(a) * Math.cos(e), -Math.sin(e), -Math.cos(a) * Math.cos(e));
  }

  get right(): Vector3 {
    const a = MathUtils.degToRad(this.gaze.azimuth);
    return new Vector3(Math.cos(a), 0, -Math.sin(a));
  }

  get up(): Vector3 {
    return this.right.cross(this.direction);
  }

  /** Sets the camera for a pane of some proportions. */
  apply(aspect: number): OrthographicCamera {
    const { target, span } = this.gaze;
    const camera = this.camera;
    [camera.left, camera.right, camera.top, camera.bottom] = [(-span * aspect) / 2, (span * aspect) / 2, span / 2, -span / 2];
    [camera.near, camera.far] = [0, 80];
    camera.up.copy(this.up);
    camera.position.copy(target).addScaledVector(this.direction, -40);
    camera.lookAt(target);
    camera.updateMatrixWorld(true);
    camera.updateProjectionMatrix();
    return camera;
  }
}
