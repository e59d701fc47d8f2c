import { service } from "../service/client.ts";
import { fileNames, type FileName } from "../service/contract.ts";
import { complain, importFile } from "../model/session.ts";
import { state } from "../model/state.ts";
import { say } from "../model/words.ts";
import { fill, h } from "./dom.ts";

const contents: Record<FileName, string> = {
  "placement.json": "everything about the placement",
  "corrections.json": "what a person fixed; keeps on the next version of the head",
  "joints.csv": "the joints as a plain table",
  "placement.glb": "the head with the lattice as its skin",
  "lattice.png": "the lattice from several sides",
};

/** Takes in a file that is dropped beside the first page's place for heads; without this the browser would leave the page for it. */
export function catchDroppedFiles(): void {
  addEventListener("dragover", (event) => event.preventDefault());
  addEventListener("drop", (event) => {
    event.preventDefault();
    const file = event.dataTransfer?.files[0];
    if (file !== undefined && state.value.screen === "plate") {
      if (file.name.endsWith(".json")) {
        void importFile(file).catch(complain);
      } else {
        say("To place another head, go to the start first: AutoPlace, upper left.");
      }
    }
  });
}

/** Files of the shown revision, and a way back in for files that were corrected elsewhere. */
export function filesSection(): HTMLElement {
  const links = h("ul", { class: "plain files" });
  state.watchLater(["placement", "revision"], ({ placement, revision }) => fill(links, placement === null || revision === null ? [] : fileNames.map((file) =>
    h("li", {}, h("a", { href: service.fileAddress(placement.id, file, revision.number), download: file, "data-file": file, "data-key": file }, file), h("span", { class: "quiet small" }, contents[file])))));
  const input = h("input", {
    type: "file", accept: ".json,application/json", id: "import-file", onchange: () => {
      const file = input.files?.[0];
      if (file !== undefined) {
        void importFile(file).catch(complain);
      }

      input.value = "";
    },
  });
  return h("div", {}, h("h2", {}, "Take away"), links, h("h2", {}, "Bring back"),
    h("label", { for: "import-file", class: "quiet small" }, "A placement.json that was corrected elsewhere, or a corrections.json. What differs becomes corrections, in a new revision."), input);
}
