import { markOf } from "../model/regions.ts";
import { svg } from "./dom.ts";
import { symbol } from "./symbols.ts";

/** A head in outline with some rows of the lattice and their marks: left half only, mirrored. */
const rows: readonly { readonly region: string; readonly path: string; readonly marks: readonly (readonly [number, number])[] }[] = [
  { region: "brow", path: "M100 84C88 76 68 74 55 86", marks: [[100, 84], [79, 77], [55, 86]] },
  { region: "eyelid", path: "M88 103C82 94 68 93 60 102M88 103C80 110 69 109 60 102", marks: [[88, 103], [74, 95.5], [74, 108.5], [60, 102]] },
  { region: "nose", path: "M100 98V136C95 142 89 141 86 136", marks: [[100, 118], [86, 136]] },
  { region: "lip", path: "M100 160C92 156 84 160 77 166C86 175 92 176 100 176", marks: [[100, 160], [77, 166], [100, 176]] },
  { region: "outline", path: "M42 150C50 184 74 214 100 216", marks: [[42, 150], [62, 191], [100, 216]] },
];

export function drawing(): SVGElement {
  const half = (mirrored: boolean): SVGElement => svg("g", { transform: mirrored ? "matrix(-1 0 0 1 200 0)" : null },
    svg("path", { d: "M100 14C56 14 38 46 38 88C38 100 40 128 42 150C50 184 74 214 100 216M38 98C28 92 26 108 31 122C34 132 38 134 40 130M58 204L58 236", fill: "none", "stroke-width": 1.4 }),
    ...rows.flatMap((row) => [
      svg("path", { d: row.path, fill: "none", "stroke-width": 1.2, stroke: `#${markOf(row.region).colour.toString(16).padStart(6, "0")}` }),
      ...row.marks.map(([x, y]) => svg("g", { transform: `translate(${x - 4} ${y - 4}) scale(.5)` }, symbol(markOf(row.region)))),
    ]));
  return svg("svg", { viewBox: "20 8 160 230", "aria-hidden": "true" }, half(true), half(false));
}
