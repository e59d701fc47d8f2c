import { service } from "../service/client.ts";
import type { NetworkView } from "../service/contract.ts";
import { plain } from "../model/history.ts";
import { complain } from "../model/session.ts";
import { state } from "../model/state.ts";
import { button, fill, h, svg } from "./dom.ts";

/** The rendered views that the network looked at, with the landmarks drawn in. */
export function networkViews(): HTMLElement {
  const figures = h("div", { class: "network-figures" });
  const box = h("div", { class: "network", role: "region", "aria-label": "What the network saw", tabindex: 0 },
    h("div", { class: "line" }, h("h2", {}, "What the network saw"), h("span", { class: "quiet" }, "Normals, with this revision’s landmarks; circles: 90 % radius."),
      h("span", { class: "space" }), button("back to the head", () => state.set({ network: false }), { "data-key": "network-back" })), figures);
  let shown: string | null = null;
  state.watchLater(["network", "revision", "placement"], ({ network, placement, revision, head }) => {
    box.hidden = !network;
    const key = `${placement?.id ?? ""} ${revision?.number ?? ""}`;
    if (network && placement !== null && head !== null && key !== shown) {
      shown = key;
      void service.views(placement.id).then((views) => shown === key && fill(figures, views.map((view) => figureOf(head.id, placement.id, view)))).catch((error: unknown) => {
        shown = shown === key ? null : shown;
        complain(error);
      });
    }
  });
  return box;
}

function figureOf(headId: string, placementId: string, view: NetworkView): HTMLElement {
  const drawing = svg("svg", { viewBox: `0 0 ${view.width} ${view.height}`, role: "img", "aria-label": `${plain(view.name)}, ${view.landmarks.length} landmarks` },
    ...view.landmarks.map((landmark) => svg("g", {},
      svg("circle", { cx: landmark.x, cy: landmark.y, r: Math.max(1, landmark.radius90), class: "landmark-radius" }),
      svg("path", { d: `M${landmark.x - 2.2} ${landmark.y}h4.4M${landmark.x} ${landmark.y - 2.2}v4.4`, class: "landmark-cross" }),
      svg("title", {}, plain(landmark.name)))));
  const image = h("img", { src: service.viewAddress(headId, placementId, view.n), width: view.width, height: view.height, alt: "" });
  return h("figure", {}, h("div", { class: "view" }, image, drawing), h("figcaption", { class: "italic" }, plain(view.name)));
}
