import type { Edit, Finding, Head, Placement, PlacementDocument, Revision } from "../service/contract.ts";
import { readAddress } from "./address.ts";
import { Store } from "./store.ts";
import type { ViewName } from "./views.ts";

/** Another placement that the shown one is compared with. */
export interface Compared {
  readonly label: string;
  /** Its number, when it's a revision. */
  readonly revision: number | null;
  readonly document: PlacementDocument;
}

/** Edits that the service didn't take because somebody else had been quicker. */
export interface Conflict {
  readonly edits: readonly Edit[];
  readonly base: number;
  readonly theirs: number;
}

/** What of a joint a lock fixes; one of the body rig's keeps its place in the file whatever the head does. */
export type LockWhat = "position" | "rotation" | "both" | "bodyRig";

/** What a click on the plate is for. */
export type ClickFor = { readonly kind: "choose" } | { readonly kind: "rowToLoop"; readonly row: string } | { readonly kind: "pivotToPart"; readonly joint: string };

export interface Shown {
  readonly screen: "opening" | "placing" | "plate";
  readonly head: Head | null;
  readonly placement: Placement | null;
  /** The shown revision's placement. */
  readonly document: PlacementDocument | null;
  readonly revision: Revision | null;
  /** Joints in the order in which looking at them gains most; of the revision before, while those of the shown one are on their way. */
  readonly looks: readonly string[];
  /** Number of the newest revision. */
  readonly current: number | null;
  readonly revisions: readonly Revision[];
  readonly stage: string | null;
  readonly fraction: number;
  readonly early: readonly Finding[];

  readonly view: ViewName;
  readonly four: boolean;
  readonly region: string | null;
  readonly chosen: readonly string[];
  readonly landmark: string | null;
  readonly layers: { readonly rows: boolean; readonly columns: boolean; readonly joints: boolean; readonly landmarks: boolean; readonly loops: boolean };
  readonly seeThrough: boolean;
  readonly hiddenParts: ReadonlySet<string>;

  /** How joints travel when they are dragged. */
  readonly travel: "skin" | "plane";
  /** Interocular distances; null lets the service decide what follows. */
  readonly influence: number | null;
  readonly carriesChildren: boolean;
  /** What locking fixes. */
  readonly lockWhat: LockWhat;
  readonly clickFor: ClickFor;
  /** What the numbers under the plate are: a joint's position, or angles to turn it by. */
  readonly numbers: "position" | "turn";

  readonly compared: Compared | null;
  readonly motion: boolean;
  readonly network: boolean;
  readonly sending: boolean;
  readonly away: boolean;
  readonly conflict: Conflict | null;
  /** A newer revision that another window made. */
  readonly newer: number | null;
  /** After "look at both": edits that can be made again on theirs. */
  readonly mine: readonly Edit[] | null;
}

const address = readAddress(location.hash);

export const nothingOpen = {
  head: null, placement: null, document: null, revision: null, looks: [], current: null, revisions: [], stage: null, fraction: 0, early: [],
  region: null, chosen: [], landmark: null, hiddenParts: new Set<string>(), clickFor: { kind: "choose" }, compared: null, motion: false, network: false,
  sending: false, conflict: null, newer: null, mine: null,
} as const satisfies Partial<Shown>;

/** Everything that the page shows. */
export const state = new Store<Shown>({
  ...nothingOpen,
  screen: "opening",
  view: address.view,
  four: address.four,
  layers: { rows: true, columns: true, joints: true, landmarks: false, loops: false },
  seeThrough: false,
  travel: "skin",
  influence: null,
  carriesChildren: false,
  lockWhat: "position",
  numbers: "position",
  away: false,
});

/** True while this placement is the shown one; what comes about another comes too late. */
export function isShown(id: string): boolean {
  return state.value.placement?.id === id;
}

/** True while the shown revision is the newest, so that it can be edited. */
export function editable(value: Readonly<Shown>): boolean {
  return value.document !== null && value.revision !== null && value.revision.number === value.current && value.conflict === null && !value.motion;
}
