import { state } from "../model/state.ts";
import { rest, type Pose } from "../scene/motionRig.ts";
import type { SceneView } from "../scene/sceneView.ts";
import { button, fill, h } from "./dom.ts";

interface Motion {
  readonly key: keyof Pose;
  readonly needs: "jaw" | "eyes" | "lids";
  readonly words: string;
  readonly least: number;
  readonly most: number;
  readonly step: number;
  readonly shown: (value: number) => string;
}

const degrees = (value: number): string => `${value}°`;
const motions: readonly Motion[] = [
  { key: "jaw", needs: "jaw", words: "Swing the jaw", least: 0, most: 30, step: 0.5, shown: degrees },
  { key: "eyesLeft", needs: "eyes", words: "Turn the eyes to the subject’s left", least: -35, most: 35, step: 1, shown: degrees },
  { key: "eyesUp", needs: "eyes", words: "Turn the eyes up", least: -25, most: 25, step: 1, shown: degrees },
  { key: "lids", needs: "lids", words: "Close the lids", least: 0, most: 1, step: 0.01, shown: (value) => `${Math.round(value * 100)} %` },
];

/** Moves the head by its initial weights, to see whether joints sit well; nothing of it is kept. */
export function motionSection(view: SceneView): HTMLElement {
  const begin = button("", () => state.set({ motion: !state.value.motion }), { "data-key": "motion" });
  const sliders = h("div", { class: "sliders" });
  view.onRig = (rig) => {
    const inputs: HTMLInputElement[] = [];
    fill(sliders, rig === null ? [] : [...motions.map((motion) => {
      const output = h("output", {}, motion.shown(0));
      const input = h("input", {
        type: "range", min: motion.least, max: motion.most, step: motion.step, value: 0, disabled: !rig.can[motion.needs], "data-motion": motion.key,
        oninput: () => {
          view.pose({ [motion.key]: Number(input.value) });
          output.textContent = motion.shown(Number(input.value));
        },
      });
      inputs.push(input);
      return h("label", {}, h("span", { class: "line" }, motion.words, h("span", { class: "space" }), output), input,
        rig.can[motion.needs] ? null : h("span", { class: "quiet small" }, "This lattice has no joints by which to do that."));
    }), button("At rest", () => {
      inputs.forEach((input) => (input.value = "0"));
      sliders.querySelectorAll("output").forEach((output, i) => (output.textContent = motions[i]?.shown(0) ?? ""));
      view.pose(rest);
    }, { "data-key": "rest" })]);
  };
  state.watchLater(["motion"], ({ motion }) => {
    begin.textContent = motion ? "End motion" : "Move the head";
    begin.setAttribute("aria-pressed", String(motion));
  });
  return h("div", {}, h("p", { class: "quiet small" }, "The skin follows by the initial weights of placement.glb: for a first look at pivots, not for final deformation. Ending it puts the head back exactly."), begin, sliders);
}
