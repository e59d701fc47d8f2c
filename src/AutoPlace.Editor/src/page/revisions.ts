import { summaryOf } from "../model/history.ts";
import { compareWith, complain, look, rename, restore } from "../model/session.ts";
import { state, type Shown } from "../model/state.ts";
import type { Revision } from "../service/contract.ts";
import { button, fill, h } from "./dom.ts";

/** Every revision, the newest first: look at it, go back to it, name it, compare with it. */
export function revisionsSection(): HTMLElement {
  const list = h("ol", { class: "plain revisions" });
  let naming: number | null = null;
  const draw = (value: Readonly<Shown>): void => fill(list, [...value.revisions].sort((a, b) => b.number - a.number).map((revision) => line(value, revision)));

  const line = (value: Readonly<Shown>, revision: Revision): HTMLElement => {
    const n = revision.number;
    const [shown, newest, compared] = [value.revision?.number === n, value.current === n, value.compared?.revision === n];
    const time = new Date(revision.createdAt).toLocaleTimeString(undefined, { timeStyle: "short" });
    return h("li", { class: shown ? "shown" : "", "aria-current": shown ? "true" : null, "data-revision": n },
      h("div", {}, h("span", { class: "number" }, String(n)), h("span", {}, revision.name === null ? summaryOf(revision) : `${revision.name} (${summaryOf(revision)})`)),
      h("div", { class: "quiet small" }, `${time}${revision.base === null ? "" : `, on ${revision.base}, solved in ${revision.solveMs.toFixed(1)} ms`}`),
      naming === n ? nameField(revision) : h("div", { class: "line tight" },
        shown ? null : button("look", () => void look(n).catch(complain), { "data-key": `look-${n}` }),
        newest ? null : button("go back", () => void restore(n).catch(complain), { "data-key": `restore-${n}`, disabled: value.sending }),
        shown && !compared ? null : button(compared ? "end" : "compare", () => void compareWith(compared ? null : n).catch(complain), { "data-key": `compare-${n}` }),
        button("name", () => {
          naming = n;
          draw(state.value);
          list.querySelector<HTMLInputElement>("input")?.focus();
        }, { "data-key": `name-${n}` })));
  };

  const nameField = (revision: Revision): HTMLElement => {
    const input = h("input", { value: revision.name ?? "", maxlength: 80, "aria-label": `Name of revision ${revision.number}`, onkeydown: (event) => event.key === "Escape" && end() });
    const end = (): void => {
      naming = null;
      draw(state.value);
      list.querySelector<HTMLElement>(`[data-key="name-${revision.number}"]`)?.focus();
    };
    return h("form", {
      class: "line tight", onsubmit: (event) => {
        event.preventDefault();
        void rename(revision.number, input.value.trim()).catch(complain).finally(end);
      },
    }, input, h("button", { type: "submit" }, "keep"));
  };

  state.watchLater(["revisions", "revision", "current", "compared", "sending"], draw);
  return h("div", {}, h("p", { class: "quiet small" }, "Every correction makes a revision, and none is ever overwritten. Revision 1 is the automatic placement."), list);
}
