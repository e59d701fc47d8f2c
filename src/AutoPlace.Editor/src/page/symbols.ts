import type { Shape } from "../model/regions.ts";
import { svg } from "./dom.ts";

const paths: Record<Shape, string> = {
  disc: "M8 2.6a5.4 5.4 0 1 0 .001 0z",
  square: "M3.2 3.2h9.6v9.6H3.2z",
  diamond: "M8 1.4 14.6 8 8 14.6 1.4 8z",
  triangle: "M8 2 14.4 13H1.6z",
};

/** A region's mark, as on the plate. */
export function symbol(mark: { readonly shape: Shape; readonly colour: number }, hollow = false): SVGElement {
  const colour = `#${mark.colour.toString(16).padStart(6, "0")}`;
  return svg("svg", { viewBox: "0 0 16 16", width: 16, height: 16, class: "symbol", "aria-hidden": "true" },
    svg("path", { d: paths[mark.shape], fill: hollow ? "none" : colour, class: hollow ? "" : "rimmed", stroke: hollow ? colour : null, "stroke-width": hollow ? 2 : null }));
}
