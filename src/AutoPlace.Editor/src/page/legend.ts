import { plain } from "../model/history.ts";
import { markOf, regionNames, regionsOf } from "../model/regions.ts";
import { state, type Shown } from "../model/state.ts";
import { say } from "../model/words.ts";
import { check, fill, h } from "./dom.ts";
import { symbol } from "./symbols.ts";

type Layer = keyof Shown["layers"];

const layers: readonly (readonly [Layer, string])[] = [
  ["joints", "joints"], ["rows", "rows"], ["columns", "columns"], ["landmarks", "landmarks"], ["loops", "modelled loops"],
];

/** The legend beside the plate: regions with their marks, what is drawn, and the pieces of the head. */
export function legend(): HTMLElement {
  const regions = h("ul", { class: "plain regions" });
  state.watchLater(["document", "region"], ({ document: placement, region }) => {
    const joints = placement?.joints ?? [];
    const present = regionsOf(joints);
    const further = present.filter((name) => !(regionNames as readonly string[]).includes(name));
    const locked = (of: string | null): number => joints.filter((joint) => (of === null || joint.region === of) && joint.lock.position).length;
    const line = (of: string | null, words: string): HTMLElement => h("li", {},
      h("button", {
        type: "button", "aria-pressed": region === of, "data-key": `region-${of ?? "all"}`, "data-region": of ?? "",
        onclick: () => pickRegion(region === of ? null : of),
      },
      of === null ? h("span", { class: "symbol" }) : symbol(markOf(of, further)),
      h("span", {}, words),
      h("span", { class: "count" }, `${locked(of) > 0 ? `${locked(of)} of ` : ""}${joints.filter((joint) => of === null || joint.region === of).length}`)));
    fill(regions, [line(null, "all regions"), ...present.map((name) => line(name, plain(name)))]);
  });

  const drawn = h("div", { class: "checks" });
  state.watchLater(["layers", "seeThrough"], ({ layers: on, seeThrough }) => fill(drawn, [
    ...layers.map(([layer, words]) => check(words, on[layer], (value) => state.set({ layers: { ...state.value.layers, [layer]: value } }), { "data-key": `layer-${layer}` })),
    check("see through the skin", seeThrough, (value) => state.set({ seeThrough: value }), { "data-key": "see-through" }),
  ]));

  const pieces = h("div", { class: "checks" });
  state.watchLater(["head", "hiddenParts"], ({ head, hiddenParts }) => fill(pieces, (head?.parts ?? []).map((part) =>
    check(plain(part.name), !hiddenParts.has(part.name), (on) => {
      const hidden = new Set(state.value.hiddenParts);
      if (on) {
        hidden.delete(part.name);
      } else {
        hidden.add(part.name);
      }

      state.set({ hiddenParts: hidden });
    }, { "data-key": `part-${part.name}` }))));

  return h("aside", { class: "legend", "aria-label": "Legend" },
    h("h2", {}, "Regions"), regions,
    h("p", { class: "quiet small" }, "The larger a mark, the less certain its place (90 % radius). Hollow: inferred. Dotted: locked, counted as “1 of 36”."),
    h("h2", {}, "Drawn"), drawn,
    h("h2", {}, "Pieces of the head"), pieces);
}

function pickRegion(region: string | null): void {
  state.set({ region });
  say(region === null ? "All regions." : `Only ${plain(region)}.`);
}
