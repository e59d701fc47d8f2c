import { nextToLookAt, subjects, worstFirst } from "../model/attention.ts";
import { choose } from "../model/editing.ts";
import { plain } from "../model/history.ts";
import { markOf } from "../model/regions.ts";
import { state } from "../model/state.ts";
import { figure, formatLength, lengthUnit } from "../model/units.ts";
import type { Finding } from "../service/contract.ts";
import type { SceneView } from "../scene/sceneView.ts";
import { fill, h } from "./dom.ts";
import { symbol } from "./symbols.ts";

const severityWords: Record<Finding["severity"], string> = { error: "error", warning: "warning", info: "note" };

/** Findings, the worst first, and the joints from which a look gains most. */
export function worthALook(view: SceneView): HTMLElement {
  const verdict = h("p", { class: "verdict" });
  const findings = h("ul", { class: "plain findings" });
  const next = h("ul", { class: "plain next" });
  state.watchLater(["document", "chosen", "looks"], ({ document: placement, chosen, looks }) => {
    if (placement === null) {
      return;
    }

    const { probability, reasons } = placement.head.needsPerson;
    verdict.textContent = `Needs correcting with a probability of ${Math.round(probability * 100)}\u00a0%${reasons.length > 0 ? `: ${reasons.map(plain).join("; ")}` : ""}.`;
    const sorted = worstFirst(placement.findings);
    fill(findings, sorted.length === 0 ? [h("li", { class: "quiet" }, "The checks found nothing.")] : sorted.map((finding, i) => h("li", {},
      h("button", { type: "button", class: `finding ${finding.severity}`, "data-key": `finding-${i}`, onclick: () => visit(view, subjects(placement, finding.subject)) },
        h("span", { class: "severity" }, severityWords[finding.severity]),
        h("span", {}, `${plain(finding.message)} `),
        h("span", { class: "quiet" }, `${figure(finding.value)}, limit ${figure(finding.limit)} `, finding.unit === "IOD" ? h("abbr", { title: "distance between the eye centres" }, "IOD") : finding.unit)))));
    const unit = lengthUnit(placement.head.metresPerUnit);
    fill(next, nextToLookAt(placement.joints, looks, 12).map((joint) => h("li", {},
      h("button", { type: "button", "aria-pressed": chosen.includes(joint.name), "data-key": `next-${joint.name}`, onclick: () => visit(view, [joint.name]) },
        symbol(markOf(joint.region), joint.state !== "modelled"), h("span", {}, plain(joint.name)), h("span", { class: "count" }, `± ${formatLength(joint.radius90, unit)}`)))));
  });
  return h("div", {}, verdict, h("h2", {}, "Findings, worst first"), findings,
    h("h2", {}, "Next to look at"), h("p", { class: "quiet small" }, "Not locked, by how much a look is expected to set right, with what errs alike; their 90 % radii. V goes on."), next);
}

function visit(view: SceneView, joints: readonly string[]): void {
  const { region, document: placement } = state.value;
  if (region !== null && !joints.some((name) => placement?.joints.find((joint) => joint.name === name)?.region === region)) {
    state.set({ region: null });
  }

  choose(joints);
  view.flyTo(joints);
}
