import { Color } from "three";

/** Colours of the plate that depend on light or dark; sRGB. */
export interface Inks {
  readonly paper: Color;
  readonly skin: Color;
  readonly loops: Color;
  /** Outline of marks: stands out from paper and skin. */
  readonly rim: Color;
  /** What is chosen. */
  readonly chosen: Color;
  readonly landmark: Color;
}

/** Reads the inks from the page's style sheet, so that they are written down once. */
export function readInks(element: Element): Inks {
  const style = getComputedStyle(element);
  const colour = (name: string): Color => new Color(style.getPropertyValue(name).trim());
  return {
    paper: colour("--plate"),
    skin: colour("--skin"),
    loops: colour("--loops"),
    rim: colour("--rim"),
    chosen: colour("--chosen"),
    landmark: colour("--landmark"),
  };
}

/** A colour's components as they are shown, for shaders that write what they are given. */
export function shown(colour: Color): [number, number, number] {
  const c = colour.clone().convertLinearToSRGB();
  return [c.r, c.g, c.b];
}

export function shownHex(colour: number): [number, number, number] {
  return [((colour >> 16) & 255) / 255, ((colour >> 8) & 255) / 255, (colour & 255) / 255];
}
