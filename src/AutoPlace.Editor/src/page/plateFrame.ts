import { differences, distanceColour } from "../model/comparison.ts";
import { makeMineAgain, takeTheirs } from "../model/conflicts.ts";
import { compareWith, complain, loadCurrent, look, restore } from "../model/session.ts";
import { isShown, state } from "../model/state.ts";
import { formatLength, lengthUnit, roundLength } from "../model/units.ts";
import { directions, viewNames } from "../model/views.ts";
import type { SceneView } from "../scene/sceneView.ts";
import { button, fill, h } from "./dom.ts";

/** What surrounds the canvas: directions above, captions and scale bars in the panes, notices, and the legend of a comparison. */
export function plateFrame(view: SceneView, canvasBox: HTMLElement): HTMLElement {
  const [line, press] = directionsLine(view);
  canvasBox.append(captions(view, press), comparisonLegend(), notices());
  return h("section", { class: "plate", "aria-label": "Plate" }, line, canvasBox);
}

/** The line, and what has to be called when the large view has turned. */
function directionsLine(view: SceneView): [HTMLElement, () => void] {
  const fixed = viewNames.map((name, i) => button(name, () => view.showView(name), { "data-key": `view-${name}`, title: `${name === "left" || name === "right" ? `the subject’s ${name}, ` : ""}key ${i + 1}` }));
  const four = button("four", () => state.set({ four: !state.value.four }), { "data-key": "four", title: "6" });
  const whole = button("whole", () => view.fit(), { "data-key": "whole", title: "0" });
  const network = button("network’s views", () => state.set({ network: !state.value.network }), { "data-key": "network" });
  const press = (): void => {
    const { view: shown } = state.value;
    const gaze = view.plate.eye(shown).gaze;
    const straight = gaze.azimuth === directions[shown].azimuth && gaze.elevation === directions[shown].elevation;
    fixed.forEach((one, i) => one.setAttribute("aria-pressed", String(straight && shown === viewNames[i])));
  };
  state.watchLater(["view", "four", "network"], (value) => {
    press();
    four.setAttribute("aria-pressed", String(value.four));
    network.setAttribute("aria-pressed", String(value.network));
  });
  const line = h("div", { class: "directions line", role: "group", "aria-label": "Views" }, h("span", { class: "quiet" }, "Seen from"), ...fixed, h("span", { class: "space" }), four, whole, network);
  return [line, press];
}

function notices(): HTMLElement {
  const box = h("div", { class: "notices" });
  state.watchLater(["revision", "current", "newer", "mine", "compared", "motion"], ({ revision, current, newer, mine, compared, placement }) => {
    const id = placement?.id;
    const list: HTMLElement[] = [];
    const notice = (words: string, ...actions: readonly HTMLElement[]): void => {
      list.push(h("div", { class: "notice line" }, h("span", {}, words), ...actions));
    };
    if (revision !== null && current !== null && revision.number !== current) {
      notice(`This is revision ${revision.number} of ${current}. Nothing can be changed in it.`,
        button("go back to it", () => void restore(revision.number).catch(complain)), button("show the newest", () => void look(current).catch(complain)));
    }

    if (newer !== null && id !== undefined) {
      notice(`Another window made revision ${newer}.`,
        button("take it", () => void loadCurrent(id).catch(complain), { "data-key": "take-newer" }),
        button("look at both", () => void lookAtNewer(id).catch(complain), { "data-key": "both-newer" }));
    }

    if (mine !== null) {
      notice("Theirs is shown; discs are where your move put the joints.",
        button("keep theirs", () => void takeTheirs().catch(complain), { "data-key": "keep-theirs" }), button("make mine again", () => void makeMineAgain().catch(complain), { "data-key": "mine-again" }));
    } else if (compared !== null) {
      notice(`Compared with ${compared.label}.`, button("end comparison", () => void compareWith(null), { "data-key": "end-compare" }));
    }

    fill(box, list);
  });
  return box;
}

/** Shows the newest revision compared with the one that was shown. */
async function lookAtNewer(id: string): Promise<void> {
  const before = state.value.revision?.number ?? null;
  await loadCurrent(id);
  if (isShown(id)) {
    await compareWith(before);
  }
}

/** In each pane its direction, which side is which, and a scale bar. */
function captions(view: SceneView, turned: () => void): HTMLElement {
  const draw = (): void => {
    const { document: placement } = state.value;
    const unit = lengthUnit(placement?.head.metresPerUnit ?? null);
    const lines = placement === null ? [] : view.plate.panes.map((pane, i) => {
      const perUnit = view.plate.perUnit(pane) / placement.head.interocularDistance;
      const most = (i === 0 ? 150 : 70) / perUnit;
      const shownLength = roundLength(most * unit.perFileUnit);
      const bar = h("span", { class: "scale-bar", title: "Scale" });
      bar.style.width = `${(shownLength / unit.perFileUnit) * perUnit}px`;
      const caption = h("div", { class: i === 0 ? "caption" : "caption small-pane" },
        i === 0 ? h("span", { class: "italic" }, captionOf(pane.eye.gaze.azimuth, pane.eye.gaze.elevation))
          : button(pane.view, () => state.set({ view: pane.view }), { title: "Show it large", "data-key": `pane-${pane.view}` }),
        h("span", { class: "scale" }, bar, `${Number(shownLength.toPrecision(2))} ${unit.name}`));
      caption.style.left = `${pane.x}px`;
      caption.style.top = `${pane.y}px`;
      caption.style.height = `${pane.height}px`;
      caption.style.width = `${pane.width}px`;
      return caption;
    });
    fill(layer, lines);
  };
  const layer = h("div", { class: "captions" });
  view.plate.onLayout = () => {
    draw();
    turned();
  };
  state.watchLater(["document", "view", "four"], draw);
  return layer;
}

/** Where the eye is, in words, from the direction itself. */
function captionOf(azimuth: number, elevation: number): string {
  const across = Math.round(azimuth);
  const up = Math.round(elevation);
  const side = across > 0 ? "subject’s left" : "subject’s right";
  const horizontal = across === 0 ? "front" : across === 90 || across === -90 ? side : Math.abs(across) === 180 ? "back" : `${Math.abs(across)}° to the ${side}`;
  return up === 0 ? horizontal : `${horizontal}, ${Math.abs(up)}° ${up > 0 ? "above" : "below"}`;
}

function comparisonLegend(): HTMLElement {
  const box = h("div", { class: "comparison-legend" });
  state.watchLater(["compared", "document"], ({ compared, document: placement }) => {
    box.hidden = compared === null || placement === null;
    if (compared === null || placement === null) {
      return;
    }

    const unit = lengthUnit(placement.head.metresPerUnit);
    const found = differences(compared.document, placement);
    const most = found[0]?.distance ?? 0;
    const moved = found.filter((difference) => difference.distance > 1e-5 * placement.head.interocularDistance);
    const steps = Array.from({ length: 24 }, (_, i) => {
      const step = h("span", {});
      step.style.background = `rgb(${distanceColour(i, 23).join(" ")})`;
      return step;
    });
    fill(box, moved.length === 0 ? [h("span", {}, `No joint lies elsewhere than in ${compared.label}.`)] : [
      h("span", {}, `Distance from ${compared.label}`), h("span", { class: "ramp", "aria-hidden": "true" }, ...steps),
      h("span", { class: "ramp-ends" }, h("span", {}, `0 ${unit.name}`), h("span", {}, formatLength(most, unit))),
      h("span", { class: "quiet" }, `${moved.length} of ${found.length} joints moved, most: ${moved[0]?.joint.replaceAll("_", " ") ?? ""}`)]);
  });
  return box;
}
