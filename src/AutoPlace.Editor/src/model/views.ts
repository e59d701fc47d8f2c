/** Directions from which the head is looked at. */
export const viewNames = ["front", "left", "right", "three-quarter", "below"] as const;
export type ViewName = (typeof viewNames)[number];

export interface Direction {
  /** Where the eye is, in the head's frame: degrees about its up axis, from the front towards the subject's left. */
  readonly azimuth: number;
  /** Degrees above the horizontal. */
  readonly elevation: number;
}

export const directions: Record<ViewName, Direction> = {
  "front": { azimuth: 0, elevation: 0 },
  "left": { azimuth: 90, elevation: 0 },
  "right": { azimuth: -90, elevation: 0 },
  "three-quarter": { azimuth: 40, elevation: 8 },
  "below": { azimuth: 0, elevation: -65 },
};
