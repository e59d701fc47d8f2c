import { chosenJoints, isLocked, mayEdit, mirror, moveJoints, releaseLandmark, toggleLock, turnJoint } from "../model/editing.ts";
import { plain } from "../model/history.ts";
import { markOf } from "../model/regions.ts";
import { complain } from "../model/session.ts";
import { editable, state, type LockWhat, type Shown } from "../model/state.ts";
import { formatLength, lengthUnit } from "../model/units.ts";
import { say } from "../model/words.ts";
import type { Joint } from "../service/contract.ts";
import { button, fill, h } from "./dom.ts";
import { symbol } from "./symbols.ts";

const locks: readonly (readonly [LockWhat, string])[] = [["position", "position"], ["rotation", "rotation"], ["both", "both"], ["bodyRig", "body rig"]];

const kinds: Record<Joint["kind"], string> = { "surface": "on the skin", "pivot": "pivot", "row-parent": "row parent", "attachment": "attachment", "other": "inside" };

/** The label under the plate: what is chosen, in words and numbers, and what can be done with it. */
export function label(): HTMLElement {
  const content = h("div", { class: "label-content" });
  state.watchLater(["document", "chosen", "landmark", "clickFor", "sending", "revision", "current", "motion", "lockWhat", "numbers"], (value) => draw(content, value));
  return h("section", { class: "label", "aria-label": "What is chosen" }, content, ways());
}

function draw(content: HTMLElement, value: Readonly<Shown>): void {
  const joints = chosenJoints();
  const [only] = joints;
  if (value.clickFor.kind !== "choose") {
    fill(content, [h("p", { class: "hint" }, value.clickFor.kind === "rowToLoop"
      ? `Click the modelled loop on which ${plain(value.clickFor.row)} belongs. Escape leaves it.`
      : `Click the part in whose middle ${plain(value.clickFor.joint)} belongs. Escape leaves it.`)]);
  } else if (value.landmark !== null) {
    drawLandmark(content, value, value.landmark);
  } else if (only === undefined) {
    fill(content, [h("p", { class: "hint" }, "Nothing is chosen. Click a joint, draw a box with Shift, or press N.")]);
  } else if (joints.length === 1) {
    drawJoint(content, value, only);
  } else {
    fill(content, [h("div", { class: "line" }, h("span", { class: "name" }, `${joints.length} joints`),
      h("span", { class: "quiet" }, `${joints.filter((joint) => joint.lock.position).length} locked`)), h("div", { class: "line" }, ...common(value, joints))]);
  }
}

function drawJoint(content: HTMLElement, value: Readonly<Shown>, joint: Joint): void {
  const unit = lengthUnit(value.document?.head.metresPerUnit ?? null);
  const facts = [joint.lock.position || joint.lock.rotation ? "locked" : null, joint.region === null ? null : plain(joint.region), joint.side, kinds[joint.kind], joint.state === "modelled" ? null : joint.state, `± ${formatLength(joint.radius90, unit)}`,
    joint.kind === "surface" ? `lift ${formatLength(joint.lift, unit)}` : null].filter((fact) => fact !== null);
  fill(content, [
    h("div", { class: "line" }, symbol(markOf(joint.region), joint.state !== "modelled"), h("span", { class: "name" }, plain(joint.name)),
      h("span", { class: "quiet facts", title: facts.join(" · ") }, facts.join(" · ")), ...rowChoice(value, joint),
      joint.kind === "surface" ? null : button("Pivot into a part…", () => mayEdit() && state.set({ clickFor: { kind: "pivotToPart", joint: joint.name } }), { "data-key": "pivot", disabled: !editable(value) })),
    h("div", { class: "line" }, ...common(value, [joint]), h("span", { class: "space" }), numbers(value, joint)),
  ]);
}

function common(value: Readonly<Shown>, joints: readonly Joint[]): HTMLElement[] {
  const disabled = !editable(value);
  const sided = joints.some((joint) => joint.side !== "middle");
  const locked = joints.every(isLocked);
  const what = h("select", { "aria-label": "What to lock", class: "narrow", "data-key": "lock-what", onchange: () => state.set({ lockWhat: what.value as LockWhat }) },
    ...locks.map(([kind, words]) => h("option", { value: kind }, words)));
  what.value = value.lockWhat;
  return [
    button(locked ? "Unlock" : "Lock", () => void toggleLock().catch(complain), { "data-key": "lock", "aria-pressed": locked, disabled, title: "K" }),
    what,
    button("Mirror by plane", () => void mirror("plane").catch(complain), { "data-key": "mirror-plane", disabled: disabled || !sided, title: "M" }),
    button("by topology", () => void mirror("topology").catch(complain), { "data-key": "mirror-topology", disabled: disabled || !sided, title: "Shift + M", "aria-label": "Mirror by topology" }),
  ];
}

function rowChoice(value: Readonly<Shown>, joint: Joint): HTMLElement[] {
  const rows = value.document?.rows.filter((row) => row.joints.includes(joint.name)) ?? [];
  if (rows.length === 0) {
    return [];
  }

  const disabled = !editable(value);
  const choice = h("select", { "aria-label": "Row", "data-key": "row", disabled }, ...rows.map((row) => h("option", { value: row.name }, plain(row.name))));
  const lay = (): void => {
    if (mayEdit()) {
      state.set({ clickFor: { kind: "rowToLoop", row: choice.value } });
    }
  };
  return [h("span", { class: "quiet" }, "Row"), choice, button("on a loop…", lay, { "data-key": "row-to-loop", disabled })];
}

/** A joint's position in the file's own numbers, or degrees about its own axes; setting them makes a revision. */
function numbers(value: Readonly<Shown>, joint: Joint): HTMLElement {
  const turns = value.numbers === "turn";
  const shown = turns ? ["0", "0", "0"] : joint.position.map(String);
  const disabled = !editable(value);
  const what = h("select", { "aria-label": "What the numbers are", "data-key": "numbers", onchange: () => state.set({ numbers: what.value as Shown["numbers"] }) },
    h("option", { value: "position" }, "at"), h("option", { value: "turn" }, "turn °"));
  what.value = value.numbers;
  const inputs = shown.map((text, i) => h("input", {
    value: text, inputmode: "decimal", "data-key": `coordinate-${i}`, disabled,
    "aria-label": turns ? `Degrees about ${plain(joint.name)}’s own ${"xyz"[i] ?? ""}` : `${"xyz"[i] ?? ""} of ${plain(joint.name)}, in the file’s unit`,
    onkeydown: (event) => {
      if (event.key === "Escape") {
        inputs.forEach((input, k) => (input.value = shown[k] ?? ""));
      }
    },
  }));
  return h("form", {
    class: "place line tight", "aria-label": turns ? "Turn" : "Position", onsubmit: (event) => {
      event.preventDefault();
      const [x, y, z] = inputs.map((input) => (input.value.trim() === "" ? NaN : Number(input.value.replace(",", "."))));
      if (x === undefined || y === undefined || z === undefined || ![x, y, z].every(Number.isFinite)) {
        say(turns ? "A turn is three angles." : "A position is three numbers.");
      } else if (mayEdit()) {
        void (turns ? turnJoint(joint, [x, y, z]) : moveJoints(new Map([[joint.name, [x, y, z]]]), false)).catch(complain);
      }
    },
  }, what, ...inputs, h("button", { type: "submit", "data-key": "set-position", disabled }, turns ? "Turn" : "Set"));
}

function drawLandmark(content: HTMLElement, value: Readonly<Shown>, name: string): void {
  const landmark = value.document?.landmarks.find((candidate) => candidate.name === name);
  if (landmark === undefined) {
    return;
  }

  const unit = lengthUnit(value.document?.head.metresPerUnit ?? null);
  const sources = { "network": "found by the network", "sphere-fit": "from the ball’s fit", "lock": "set by a person", "inferred": "inferred" } as const;
  fill(content, [
    h("div", { class: "line" }, h("span", { class: "name" }, `${plain(name)}`), h("span", { class: "quiet" }, `landmark · ${sources[landmark.source]} · ± ${formatLength(landmark.radius90, unit)}`)),
    h("div", { class: "line" }, h("span", { class: "quiet" }, "Drag it to where it belongs; the lattice is laid anew."),
      landmark.source === "lock" ? button("Unlock", () => void releaseLandmark(name).catch(complain), { "data-key": "release-landmark", disabled: !editable(value) }) : null),
  ]);
}

/** How joints travel and what follows them. */
function ways(): HTMLElement {
  const travel = (["skin", "plane"] as const).map((way) => button(way === "skin" ? "along the skin" : "in the view’s plane", () => state.set({ travel: way }), { "data-key": `travel-${way}` }));
  const slider = h("input", { type: "range", min: 0, max: 1.5, step: 0.05, "aria-label": "Distance within which joints follow, in distances between the eyes", "data-key": "influence", oninput: () => state.set({ influence: Number(slider.value) }) });
  const follow = h("select", {
    "aria-label": "What follows", "data-key": "follow", onchange: () => state.set({ influence: follow.value === "auto" ? null : Number(slider.value) }),
  }, h("option", { value: "auto" }, "what errs alike"), h("option", { value: "distance" }, "a distance of"));
  const shown = h("output", {});
  const children = h("input", { type: "checkbox", "data-key": "children", onchange: () => state.set({ carriesChildren: children.checked }) });
  slider.value = "0.4";
  state.watchLater(["travel", "influence", "document"], ({ travel: way, influence, document: placement }) => {
    travel[0]?.setAttribute("aria-pressed", String(way === "skin"));
    travel[1]?.setAttribute("aria-pressed", String(way === "plane"));
    slider.hidden = shown.hidden = influence === null;
    follow.value = influence === null ? "auto" : "distance";
    const unit = lengthUnit(placement?.head.metresPerUnit ?? null);
    shown.textContent = influence === null || placement === null ? "" : influence === 0 ? "nothing follows" : formatLength(influence * placement.head.interocularDistance, unit);
  });
  return h("div", { class: "line ways" }, h("span", { class: "quiet" }, "Travel"), h("span", { class: "pair", role: "group", "aria-label": "How joints travel" }, ...travel),
    h("span", { class: "quiet" }, "taking along"), follow, slider, shown, h("label", { class: "check" }, children, h("span", {}, "joints below")));
}
