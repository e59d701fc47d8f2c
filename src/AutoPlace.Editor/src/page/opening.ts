import { service } from "../service/client.ts";
import type { DemoHead, Head, Placement, PlacementOptions } from "../service/contract.ts";
import { placeDemo, placeFile, removePlacement } from "../model/heads.ts";
import { complain, open } from "../model/session.ts";
import { state } from "../model/state.ts";
import { formatBytes } from "../model/units.ts";
import { say } from "../model/words.ts";
import { button, check, fill, h } from "./dom.ts";
import { drawing } from "./drawing.ts";

/** Files that the service reads. */
const accepted = ".glb,.gltf,.obj,.ply,.stl,.off";

/** The first page: drop a head, take a demonstration head, or go on with an earlier placement. */
export function openingPage(): HTMLElement {
  let symmetric = false;
  const options = (): PlacementOptions => ({
    ...(latticeChoice.value === "full" || latticeChoice.value === "reduced" ? { lattice: latticeChoice.value } : { template: latticeChoice.value }),
    ...(symmetric ? { symmetric } : {}),
  });

  const input = h("input", { type: "file", accept: accepted, class: "unseen", id: "head-file", onchange: () => take(input.files) });
  const take = (files: FileList | null | undefined): void => {
    const file = files?.[0];
    if (file !== undefined) {
      void placeFile(file, options()).catch(complain);
    }

    input.value = "";
  };

  const drop = h("label", { class: "drop", for: "head-file" },
    drawing(), h("span", { class: "drop-title" }, "Put a head here"),
    h("span", { class: "drop-text" }, "Drop a file, or choose one. glTF, OBJ, PLY, STL or OFF; any unit, any axis up, alone or part of a whole character."));
  const over = (on: boolean) => (event: DragEvent): void => {
    event.preventDefault();
    drop.classList.toggle("over", on);
  };
  const dropArea = h("div", {
    ondragenter: over(true), ondragover: over(true), ondragleave: over(false),
    ondrop: (event) => {
      over(false)(event);
      take(event.dataTransfer?.files);
    },
  }, input, drop);

  const latticeChoice = h("select", { id: "lattice-choice" }, ...builtIn());
  const template = h("input", {
    type: "file", accept: ".json,application/json", class: "unseen", id: "template-file", onchange: () => {
      const file = template.files?.[0];
      if (file !== undefined) {
        void addTemplate(file, latticeChoice).catch(complain);
      }

      template.value = "";
    },
  });
  const demo = h("ul", { class: "plain chips" });
  const earlier = h("ul", { class: "plain earlier" });
  const refresh = (): void => void Promise.all([list(demo, earlier, options), listTemplates(latticeChoice)]).catch(complain);

  const page = h("main", { class: "opening" },
    h("section", { class: "opening-new", "aria-labelledby": "new-title" },
      h("h1", { id: "new-title" }, "A new head"),
      dropArea,
      h("div", { class: "line" }, h("label", { for: "lattice-choice" }, "Lattice"), latticeChoice, template, h("label", { for: "template-file", class: "like-button" }, "Own template…"),
        check("the head is symmetric", false, (on) => (symmetric = on))),
      h("h2", {}, "Heads that come with the program"), demo),
    h("section", { class: "opening-old", "aria-labelledby": "old-title" }, h("h1", { id: "old-title" }, "Go on with"), earlier));
  state.watchLater(["screen", "away"], (value) => value.screen === "opening" && !value.away && refresh());
  return page;
}

function builtIn(): HTMLOptionElement[] {
  return [h("option", { value: "full" }, "full, about 200 joints"), h("option", { value: "reduced" }, "reduced, for crowds")];
}

/** Offers the built-in lattice and the templates made from own rigs. */
async function listTemplates(choice: HTMLSelectElement, chosen = choice.value): Promise<void> {
  const own = (await service.templates()).filter((template) => !template.builtIn);
  fill(choice, [...builtIn(),
    ...own.map((template) => h("option", { value: template.id }, `${template.name} ${template.version}, ${template.joints} joints`))]);
  choice.value = own.some((template) => template.id === chosen) || chosen === "reduced" ? chosen : "full";
}

async function addTemplate(file: File, choice: HTMLSelectElement): Promise<void> {
  const template = await service.addTemplate(await file.text());
  await listTemplates(choice, template.id);
  say(`${template.name} can be placed now.`);
}

async function list(demo: HTMLElement, earlier: HTMLElement, options: () => PlacementOptions): Promise<void> {
  const [demoHeads, heads, placements] = await Promise.all([service.demoHeads(), service.heads(), service.placements()]);
  fill(demo, demoHeads.map((head: DemoHead) => h("li", {},
    button(head.name.replace(/\.[a-z]+$/, ""), () => void placeDemo(head.name, options()).catch(complain), { title: `${head.name}, ${formatBytes(head.bytes)}`, "data-demo": head.name }))));
  const byId = new Map(heads.map((head) => [head.id, head]));
  const sorted = [...placements].sort((a, b) => b.createdAt.localeCompare(a.createdAt));
  fill(earlier, sorted.length === 0 ? [h("li", { class: "quiet" }, "Nothing yet. What you place is kept by the service until you remove it.")]
    : sorted.map((placement) => earlierLine(placement, byId.get(placement.headId))));
}

function earlierLine(placement: Placement, head: Head | undefined): HTMLElement {
  const name = head?.name ?? "a head that was removed";
  const when = new Date(placement.createdAt).toLocaleString(undefined, { dateStyle: "medium", timeStyle: "short" });
  const what = placement.state === "placed" ? `revision ${placement.revision ?? 1}` : placement.state;
  const line = h("li", {},
    button(name, () => void open(placement.id).catch(complain), { class: "link", "data-placement": placement.id }),
    h("span", { class: "quiet" }, `${when}, ${what}`),
    removeButton(`the placement on ${name} of ${when}`, async () => {
      const withHead = await removePlacement(placement);
      line.remove();
      say(withHead ? `Removed ${name} and everything made of it.` : `Removed the placement on ${name}.`);
    }));
  return line;
}

/** Asks once more before it removes. */
function removeButton(what: string, remove: () => Promise<void>): HTMLButtonElement {
  let sure = false;
  const one = button("remove", () => {
    if (sure) {
      void remove().catch(complain);
    } else {
      sure = true;
      one.textContent = "remove for good?";
      one.setAttribute("aria-label", `Remove ${what} for good?`);
    }
  }, {
    class: "quiet-button", "aria-label": `Remove ${what}`, onblur: () => {
      sure = false;
      one.textContent = "remove";
      one.setAttribute("aria-label", `Remove ${what}`);
    },
  });
  return one;
}
