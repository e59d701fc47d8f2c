import { close, complain, step } from "../model/session.ts";
import { waysFrom } from "../model/history.ts";
import { editable, state } from "../model/state.ts";
import { button, h } from "./dom.ts";
import { theme } from "./theme.ts";

/** The line at the top: where one is, back and forth, keys, light or dark. */
export function masthead(showKeys: () => void, flipTheme: () => void): HTMLElement {
  const home = button("AutoPlace", close, { class: "wordmark", title: "To the start" });
  const name = h("h1", { class: "head-name" });
  const undo = button("Undo", () => void step("undo").catch(complain), { "data-key": "undo", title: "Ctrl + Z" });
  const redo = button("Redo", () => void step("redo").catch(complain), { "data-key": "redo", title: "Ctrl + Shift + Z" });
  const light = button("", () => {
    flipTheme();
    light.textContent = theme() === "dark" ? "Light" : "Dark";
  }, { "data-key": "theme" });
  light.textContent = theme() === "dark" ? "Light" : "Dark";
  const keys = button("Keys", showKeys, { "data-key": "keys", title: "?" });
  state.watchLater(["head", "revision", "revisions", "current", "conflict", "motion", "document", "screen"], (value) => {
    const { head, revision, revisions, current, screen } = value;
    name.textContent = head === null ? "" : `${head.name}${revision === null ? "" : ` · revision ${revision.number}${revision.name === null ? "" : `, ${revision.name}`}`}`;
    document.title = head === null ? "AutoPlace" : `${head.name} – AutoPlace`;
    const ways = editable(value) && current !== null ? waysFrom(revisions, current) : { undo: null, redo: null };
    undo.disabled = ways.undo === null;
    redo.disabled = ways.redo === null;
    const atRest = value.motion ? "Put the head back to rest first" : null;
    undo.title = atRest ?? "Ctrl + Z";
    redo.title = atRest ?? "Ctrl + Shift + Z";
    name.hidden = screen !== "plate";
    undo.hidden = redo.hidden = screen !== "plate";
  });
  return h("header", { class: "masthead" }, home, name, h("span", { class: "space" }), undo, redo, keys, light);
}
