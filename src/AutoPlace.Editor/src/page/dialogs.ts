import { lookAtBoth, takeTheirs } from "../model/conflicts.ts";
import { summaryOf } from "../model/history.ts";
import { keyList } from "../model/keys.ts";
import { complain } from "../model/session.ts";
import { state } from "../model/state.ts";
import { button, check, fill, h } from "./dom.ts";
import { setSingleKeys, singleKeys } from "./singleKeys.ts";

/** The list of keys, also of what the mouse does. */
export function keysDialog(): HTMLDialogElement {
  const dialog = h("dialog", { "aria-labelledby": "keys-title", class: "keys" },
    h("div", { class: "line" }, h("h2", { id: "keys-title" }, "Keys"), h("span", { class: "space" }),
      check("letters, digits and signs work by themselves", singleKeys(), setSingleKeys, { "data-key": "single-keys" }), button("Close", () => dialog.close())),
    h("div", { class: "key-columns" },
      ...keyList.map((part) => h("section", {}, h("h3", {}, part.where), h("dl", {}, ...part.keys.flatMap(([key, does]) => [h("dt", {}, key), h("dd", {}, does)])))),
      h("section", {}, h("h3", {}, "Mouse on the plate"), h("dl", {},
        ...([["drag a joint", "move it, and all others chosen"], ["drag beside", "turn the head"], ["right drag, Ctrl + drag beside", "shift what is seen"], ["wheel", "closer, farther"],
          ["Shift + drag", "choose what is in the box"], ["click; Ctrl + click", "choose; one more or less"], ["click twice", "fly to what is chosen"]] as const)
          .flatMap(([does, what]) => [h("dt", {}, does), h("dd", {}, what)])))));
  return dialog;
}

/** Asks what to do when another window was quicker. */
export function conflictDialog(): HTMLDialogElement {
  const text = h("p", {});
  const dialog = h("dialog", { "aria-labelledby": "conflict-title", class: "conflict" },
    h("h2", { id: "conflict-title" }, "Another window was quicker"), text,
    h("div", { class: "line" },
      button("Take theirs", () => void takeTheirs().catch(complain), { "data-key": "take-theirs" }),
      button("Look at both", () => void lookAtBoth().catch(complain), { "data-key": "look-at-both" })));
  dialog.addEventListener("cancel", (event) => event.preventDefault());
  state.watchLater(["conflict"], ({ conflict }) => {
    if (conflict === null) {
      dialog.close();
      return;
    }

    const own = summaryOf({ number: 0, base: conflict.base, createdAt: "", name: null, note: null, restores: null, edits: conflict.edits, solveMs: 0 });
    fill(text, [`Your change (${own}) was made on revision ${conflict.base}, but revision ${conflict.theirs} is the newest now. Nothing of theirs was overwritten, and yours isn’t saved yet.`]);
    if (!dialog.open) {
      dialog.showModal();
    }
  });
  return dialog;
}
