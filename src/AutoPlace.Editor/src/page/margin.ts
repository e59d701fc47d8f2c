import { button, h } from "./dom.ts";
import { filesSection } from "./files.ts";
import { motionSection } from "./motion.ts";
import { revisionsSection } from "./revisions.ts";
import { worthALook } from "./worthALook.ts";
import type { SceneView } from "../scene/sceneView.ts";

/** The margin on the right, one leaf at a time. */
export function margin(view: SceneView): HTMLElement {
  const leaves = [
    { id: "look", words: "To look at", content: worthALook(view) },
    { id: "revisions", words: "Revisions", content: revisionsSection() },
    { id: "motion", words: "Motion", content: motionSection(view) },
    { id: "files", words: "Files", content: filesSection() },
  ];
  const tabs = leaves.map((leaf) => button(leaf.words, () => show(leaf.id), { role: "tab", id: `tab-${leaf.id}`, "aria-controls": `leaf-${leaf.id}` }));
  const panels = leaves.map((leaf) => h("div", { role: "tabpanel", id: `leaf-${leaf.id}`, "aria-labelledby": `tab-${leaf.id}`, tabindex: 0, class: "leaf" }, leaf.content));
  const show = (id: string, focus = false): void => leaves.forEach((leaf, i) => {
    const [tab, panel] = [tabs[i], panels[i]];
    if (tab !== undefined && panel !== undefined) {
      const on = leaf.id === id;
      tab.setAttribute("aria-selected", String(on));
      tab.tabIndex = on ? 0 : -1;
      panel.hidden = !on;
      if (on && focus) {
        tab.focus();
      }
    }
  });
  const list = h("div", {
    role: "tablist", "aria-label": "Margin", class: "tabs",
    onkeydown: (event) => {
      const at = tabs.findIndex((tab) => tab === document.activeElement);
      const to = event.key === "ArrowRight" ? at + 1 : event.key === "ArrowLeft" ? at - 1 : event.key === "Home" ? 0 : event.key === "End" ? -1 : null;
      if (to !== null && at >= 0) {
        event.preventDefault();
        show(leaves.at(to % leaves.length)?.id ?? "look", true);
      }
    },
  }, ...tabs);
  show("look");
  return h("aside", { class: "margin", "aria-label": "Notes" }, list, ...panels);
}
