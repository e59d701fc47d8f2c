import { removePlacement } from "../model/heads.ts";
import { close, complain } from "../model/session.ts";
import { isShown, state } from "../model/state.ts";
import { button, fill, h } from "./dom.ts";

/** The path that every head takes. */
const stages = ["Geometry", "Import", "Conditioning", "Rendering", "Landmarks", "Template", "Registration", "Verification", "Export"] as const;

/** Shown while the service places: the stages as they are reached. */
export function placingPage(): HTMLElement {
  const title = h("h1", {});
  const path = h("ol", { class: "plain path" });
  const bar = h("progress", { max: 1, "aria-label": "Share of the path" });
  const findings = h("ul", { class: "plain quiet" });
  const trouble = h("p", { class: "trouble" });
  const leave = button("Stop and remove", () => {
    const { placement } = state.value;
    if (placement !== null) {
      void removePlacement(placement).then(() => isShown(placement.id) && close()).catch(complain);
    }
  });
  const back = button("Back to the start", close);
  state.watchLater(["head", "placement", "stage", "fraction", "early"], ({ head, placement, stage, fraction, early }) => {
    const failed = placement?.state === "failed";
    title.textContent = placement?.state === "queued" ? `${head?.name ?? "The head"} waits for its turn` : failed ? `${head?.name ?? "The head"} couldn’t be placed` : `Placing the lattice on ${head?.name ?? "the head"}`;
    const at = stages.findIndex((name) => name === stage);
    fill(path, stages.map((name, i) => h("li", { class: i < at ? "done" : i === at ? "now" : "", "aria-current": i === at ? "step" : null }, name)));
    bar.value = fraction;
    bar.hidden = failed;
    const error = placement?.error;
    trouble.textContent = failed ? [error?.title, error?.detail].filter((text) => text !== undefined).join(" ") : "";
    leave.hidden = failed;
    back.hidden = !failed;
    fill(findings, early.map((finding) => h("li", {}, finding.message)));
  });
  return h("main", { class: "placing" }, title, path, bar, trouble, findings, h("div", { class: "line" }, leave, back));
}
