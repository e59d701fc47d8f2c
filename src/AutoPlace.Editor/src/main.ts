import { readAddress, writeAddress } from "./model/address.ts";
import { chosenJoints } from "./model/editing.ts";
import { complain, followLooks, idle, open } from "./model/session.ts";
import { state } from "./model/state.ts";
import { clearStats, stats, type Stats } from "./model/stats.ts";
import { conflictDialog, keysDialog } from "./page/dialogs.ts";
import { h } from "./page/dom.ts";
import { catchDroppedFiles } from "./page/files.ts";
import { label } from "./page/label.ts";
import { legend } from "./page/legend.ts";
import { margin } from "./page/margin.ts";
import { masthead } from "./page/masthead.ts";
import { networkViews } from "./page/networkViews.ts";
import { openingPage } from "./page/opening.ts";
import { placingPage } from "./page/placing.ts";
import { plateFrame } from "./page/plateFrame.ts";
import { awayBanner, statusLine } from "./page/statusLine.ts";
import { singleKeys } from "./page/singleKeys.ts";
import { startTheme, switchTheme } from "./page/theme.ts";
import { Nudge } from "./scene/nudge.ts";
import { obeyKeys } from "./scene/plateKeys.ts";
import { PlatePointer } from "./scene/pointer.ts";
import { SceneView } from "./scene/sceneView.ts";

/** What tests and scripts may ask of the page. */
interface Hooks {
  readonly stats: Stats;
  clearStats(): void;
  /** Resolves when nothing is on its way to the service, rays can be shot, and everything is drawn. */
  settled(): Promise<void>;
  /** Where a joint is in the window, CSS pixels, in the large view. */
  whereIs(joint: string): { x: number; y: number } | null;
  shown(): { screen: string; revision: number | null; current: number | null; region: string | null; chosen: readonly string[]; away: boolean; triangles: number };
  position(joint: string): readonly number[] | null;
  posedPlaces(): string;
}

declare global {
  interface Window {
    autoplace: Hooks;
  }
}

startTheme(() => view.readInks());
const canvas = h("canvas", { tabindex: 0, role: "application", "aria-label": "The head with its lattice. Arrows nudge what is chosen or turn the head; N and B go through the joints; Escape lets go; ? lists all keys." });
const box = h("div", { class: "box", hidden: true });
const canvasBox = h("div", { class: "canvas-box" }, canvas, box);
const keys = keysDialog();
const view = new SceneView(canvas);
const pointer = new PlatePointer(view, box);
const nudge = new Nudge(view);
catchDroppedFiles();
followLooks();
obeyKeys(view, pointer, nudge, singleKeys, () => keys.showModal());

const opening = openingPage();
const placing = placingPage();
const desk = h("main", { class: "desk" }, legend(), h("div", { class: "middle" }, plateFrame(view, canvasBox), networkViews(), label()), margin(view));
document.querySelector("#page")?.replaceChildren(
  masthead(() => keys.showModal(), () => switchTheme(() => view.readInks())), awayBanner(), opening, placing, desk, statusLine(), keys, conflictDialog());

state.watch(["screen"], ({ screen }) => {
  opening.hidden = screen !== "opening";
  placing.hidden = screen !== "placing";
  desk.hidden = screen !== "plate";
});

// The address keeps what is shown; another address, typed or by the browser's own history, is obeyed.
let started = false;
state.watch(["placement", "view", "four", "region", "chosen", "revision", "current", "compared", "screen"], (value) => {
  if (value.screen === "opening" ? location.hash !== "" && started : value.screen === "plate") {
    const { placement, view: direction, four, region, chosen, revision, current, compared } = value;
    const hash = writeAddress({
      placement: placement?.id ?? null, view: direction, four, region, chosen, revision: revision !== null && revision.number !== current ? revision.number : null, compare: compared?.revision ?? null,
    });
    history.replaceState(null, "", hash === "" ? location.pathname : hash);
  }
});
addEventListener("hashchange", () => {
  const { placement } = readAddress(location.hash);
  if (placement !== null && placement !== state.value.placement?.id) {
    void open(placement).catch(complain);
  }
});

const wanted = readAddress(location.hash).placement;
void (wanted === null ? Promise.resolve() : open(wanted).catch(complain)).finally(() => (started = true));

window.autoplace = {
  get stats() {
    return stats();
  },
  clearStats,
  settled: async () => {
    while (!idle() || (state.value.screen === "plate" && !view.ready)) {
      await new Promise((resolve) => setTimeout(resolve, 30));
    }

    await view.plate.whenDrawn();
  },
  whereIs: (joint) => {
    const place = view.lattice.places.get(joint);
    const pane = view.plate.panes[0];
    if (place === undefined || pane === undefined) {
      return null;
    }

    const at = view.plate.project(place, pane);
    const rectangle = canvas.getBoundingClientRect();
    return { x: rectangle.left + at.x, y: rectangle.top + at.y };
  },
  shown: () => {
    const { screen, revision, current, region, chosen, away } = state.value;
    return { screen, revision: revision?.number ?? null, current, region, chosen: chosenJoints().length > 0 ? chosen : [], away, triangles: view.head?.trianglesTotal ?? 0 };
  },
  position: (joint) => state.value.document?.joints.find((candidate) => candidate.name === joint)?.position ?? null,
  posedPlaces: () => view.posedPlaces(),
};
