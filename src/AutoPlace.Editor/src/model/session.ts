import { service, ServiceAway, ServiceError } from "../service/client.ts";
import type { Edit, Placement, RevisionAnswer, RevisionList } from "../service/contract.ts";
import { listen } from "../service/events.ts";
import { readAddress, type Address } from "./address.ts";
import { away, untilAnswered } from "./away.ts";
import { sameEdits } from "./edits.ts";
import { waysFrom } from "./history.ts";
import { Latest } from "./latest.ts";
import { makePending } from "./pending.ts";
import { editable, isShown, nothingOpen, state } from "./state.ts";
import { say, warn } from "./words.ts";

/** Milliseconds between questions whether a placement is done. */
const askAgain = 5000;

/** Revisions of each placement that was shown: what its edits are made on, also those that are still to be sent when another one is shown. */
const known = new Map<string, RevisionList>();
const opening = new Latest();
const looking = new Latest();
const comparing = new Latest();
let stopListening: (() => void) | null = null;
let sending: Promise<void> = Promise.resolve();
let waiting = 0;

/** Says what went wrong; an absent service is the banner's business. */
export function complain(error: unknown): void {
  if (error instanceof ServiceAway) {
    away();
  } else {
    warn(error instanceof Error ? error.message : String(error));
  }
}

/** Asks, whenever another revision is shown, in which order its joints are best looked at. */
export function followLooks(): void {
  state.watchLater(["revision"], ({ placement, revision }) => {
    if (placement !== null && revision !== null) {
      const mine = (): boolean => isShown(placement.id) && state.value.revision?.number === revision.number;
      void service.looks(placement.id, revision.number).then((looks) => mine() && state.set({ looks })).catch(complain);
    }
  });
}

export function close(): void {
  leave();
  state.set({ ...nothingOpen, screen: "opening" });
}

/** Ends work on what is shown; returns what says whether nothing else was opened or closed since. */
function leave(): () => boolean {
  makePending();
  stopListening?.();
  stopListening = null;
  return opening.begin();
}

/** Opens a placement, at its newest revision or the one that the address names; one that can't be opened leads back to the start. */
export async function open(id: string): Promise<void> {
  // Before the address follows what is shown.
  const address = readAddress(location.hash);
  const wanted = leave();
  state.set({ ...nothingOpen, screen: "placing" });
  try {
    await untilAnswered(() => show(id, address, wanted));
  } catch (error) {
    if (wanted()) {
      close();
      throw error;
    }
  }
}

async function show(id: string, address: Address, wanted: () => boolean): Promise<void> {
  if (known.has(id)) {
    // Edits from when it was shown before may still be on their way.
    await sending;
  }

  if (!wanted()) {
    return;
  }

  const placement = await service.placement(id);
  const head = await service.head(placement.headId);
  if (!wanted()) {
    return;
  }

  state.set({ head, placement, stage: placement.stage, fraction: placement.fraction });
  if (placement.state === "placed") {
    await loadCurrent(id);
    await showWhatTheAddressSays(id, address);
  }

  if (wanted()) {
    follow(id);
  }
}

function follow(id: string): void {
  const mine = (): boolean => isShown(id);
  // Also asks now and then, for where something between page and service holds events back.
  const asking = setInterval(() => {
    if (mine() && state.value.screen === "placing" && state.value.placement?.state !== "failed" && !state.value.away) {
      void service.placement(id).then(settle).catch(complain);
    }
  }, askAgain);
  const stop = listen(id, {
    state: (placement) => void settle(placement).catch(complain),
    stage: (stage, fraction) => mine() && state.set({ stage, fraction }),
    finding: (finding) => mine() && state.value.screen === "placing" && state.set({ early: [...state.value.early, finding] }),
    revision: (number) => void noticeRevision(id, number),
    broken: () => mine() && void service.alive().catch(complain),
  });
  stopListening = () => {
    clearInterval(asking);
    stop();
  };
}

// The event may come before the answer to the request of this very window that made the revision.
async function noticeRevision(id: string, number: number): Promise<void> {
  await sending;
  if (isShown(id) && number > (state.value.current ?? number)) {
    state.set({ newer: number });
    say(`Another window made revision ${number}.`);
  }
}

async function settle(placement: Placement): Promise<void> {
  if (!isShown(placement.id)) {
    return;
  }

  const before = state.value.screen;
  if (placement.state === "cancelled") {
    close();
    say("This placement was removed.");
    return;
  }

  // After the service was away, another window may have been quicker.
  if (before === "plate" && placement.revision !== null) {
    void noticeRevision(placement.id, placement.revision);
  }

  state.set({ placement: { ...state.value.placement, ...placement }, fraction: placement.fraction, stage: placement.stage ?? state.value.stage });
  if (before === "placing" && placement.state === "placed") {
    await loadCurrent(placement.id);
    if (isShown(placement.id)) {
      say(`Placed. ${state.value.document?.joints.length ?? 0} joints, ${state.value.document?.findings.length ?? 0} findings.`);
    }
  } else if (placement.state === "failed") {
    warn(placement.error?.detail ?? placement.error?.title ?? "The lattice couldn't be placed.");
  }
}

/** Shows the newest revision. */
export async function loadCurrent(id: string): Promise<void> {
  const list = await service.revisions(id);
  const answer = await service.revision(id, list.current);
  if (isShown(id)) {
    know(id, list);
    state.set({ revision: answer.revision, document: answer.placement, screen: "plate", newer: null });
  }
}

function know(id: string, list: RevisionList): void {
  known.set(id, list);
  if (isShown(id)) {
    state.set({ revisions: list.revisions, current: list.current });
  }
}

async function showWhatTheAddressSays(id: string, address: Address): Promise<void> {
  if (address.placement !== id || !isShown(id)) {
    return;
  }

  const known = new Set(state.value.document?.joints.map((joint) => joint.name));
  const chosen = address.chosen.filter((name) => known.has(name));
  const region = state.value.document?.joints.some((joint) => joint.region === address.region) === true ? address.region : null;
  state.set({ region, chosen });
  if (address.revision !== null && address.revision !== state.value.current) {
    await look(address.revision);
  }

  if (address.compare !== null) {
    await compareWith(address.compare);
  }
}

/** Looks at a revision without changing anything. */
export async function look(number: number): Promise<void> {
  const wanted = looking.begin();
  const id = state.value.placement?.id;
  if (id === undefined) {
    return;
  }

  const answer = await service.revision(id, number);
  if (isShown(id) && wanted()) {
    state.set({ revision: answer.revision, document: answer.placement });
    say(number === state.value.current ? `Revision ${number}, the newest.` : `Looking at revision ${number}. Nothing is changed.`);
  }
}

export async function compareWith(number: number | null): Promise<void> {
  const wanted = comparing.begin();
  const id = state.value.placement?.id;
  if (number === null || id === undefined) {
    state.set({ compared: null, mine: null });
    return;
  }

  const { revision, placement } = await service.revision(id, number);
  if (isShown(id) && wanted()) {
    state.set({ compared: { label: revision.name ?? `revision ${number}`, revision: number, document: placement } });
    say(`Compared with revision ${number}.`);
  }
}

/** Makes a revision of some edits of the shown placement; those that come while one is on its way wait for it. */
export function revise(edits: readonly Edit[], done: string): Promise<void> {
  const id = state.value.placement?.id;
  return id === undefined ? Promise.resolve() : inTurn(async () => {
    const { conflict } = state.value;
    if (isShown(id) && conflict !== null) {
      // Made before the person could know: decided about together.
      state.set({ conflict: { ...conflict, edits: [...conflict.edits, ...edits] } });
    } else {
      await deliver(id, edits, done);
    }
  });
}

function inTurn(act: () => Promise<void>): Promise<void> {
  waiting++;
  state.set({ sending: true });
  sending = sending.then(act).catch(complain).finally(() => {
    waiting--;
    if (waiting === 0) {
      // A new object makes the plate draw what the service has, also when the edit came to nothing.
      const { document } = state.value;
      state.set({ sending: false, document: document === null ? null : { ...document } });
    }
  });
  return sending;
}

async function deliver(id: string, edits: readonly Edit[], done: string): Promise<void> {
  const base = known.get(id)?.current;
  if (base === undefined) {
    return;
  }

  let sent = false;
  try {
    take(id, await untilAnswered(async () => {
      const made = sent ? await madeInSilence(id, base, edits) : null;
      sent = true;
      return made ?? service.revise(id, base, edits);
    }), done);
  } catch (error) {
    if (!(error instanceof ServiceError && error.status === 409)) {
      throw error;
    }

    if (isShown(id)) {
      state.set({ conflict: { edits, base, theirs: error.problem.current ?? base + 1 } });
    } else {
      warn("Another window was quicker: the last change of the placement that was left isn’t kept.");
    }
  }
}

// The service may have taken the edits and gone away before it could say so.
async function madeInSilence(id: string, base: number, edits: readonly Edit[]): Promise<RevisionAnswer | null> {
  const { revisions } = await service.revisions(id);
  const next = revisions.find((revision) => revision.base === base);
  return next !== undefined && sameEdits(next.edits, edits) ? service.revision(id, next.number) : null;
}

function take(id: string, answer: RevisionAnswer, done: string): void {
  const { revision, placement } = answer;
  const others = known.get(id)?.revisions.filter((other) => other.number !== revision.number) ?? [];
  know(id, { current: revision.number, revisions: [...others, revision] });
  if (isShown(id)) {
    state.set({ revision, document: placement, newer: null });
    say(`${done} Revision ${revision.number}, solved in ${revision.solveMs.toFixed(1)} ms.`);
  }
}

/** Undo or redo, as far as there is anything. */
export function step(way: "undo" | "redo"): Promise<void> {
  makePending();
  const id = state.value.placement?.id;
  return id === undefined ? Promise.resolve() : inTurn(async () => {
    const list = known.get(id);
    if (list === undefined || (isShown(id) && !editable(state.value))) {
      return;
    }

    const to = waysFrom(list.revisions, list.current)[way];
    if (to === null) {
      say(way === "undo" ? "Nothing to undo." : "Nothing to redo.");
    } else {
      await deliver(id, [{ kind: "restore", revision: to }], way === "undo" ? "Undone." : "Redone.");
    }
  });
}

/** Goes back to an earlier revision by a new one. */
export function restore(number: number): Promise<void> {
  return revise([{ kind: "restore", revision: number }], `Back to revision ${number}.`);
}

/** Names a revision; an empty name takes its name away. */
export async function rename(number: number, name: string): Promise<void> {
  const id = state.value.placement?.id;
  if (id !== undefined) {
    const named = await service.nameRevision(id, number, name === "" ? null : name);
    const list = known.get(id);
    if (list !== undefined) {
      know(id, { ...list, revisions: list.revisions.map((revision) => (revision.number === number ? { ...revision, name: named.name } : revision)) });
    }
  }
}

export function importFile(file: File): Promise<void> {
  const id = state.value.placement?.id;
  return id === undefined ? Promise.resolve() : inTurn(async () => {
    const current = known.get(id)?.current;
    if (current === undefined) {
      return;
    }

    try {
      take(id, await service.importFile(id, current, await file.text()), `${file.name} taken in.`);
    } catch (error) {
      if (isShown(id) && error instanceof ServiceError && error.status === 409) {
        state.set({ newer: error.problem.current ?? current + 1 });
      }

      throw error instanceof ServiceError && error.status === 422 ? new Error(`${file.name}: ${error.problem.reason ?? error.message}`) : error;
    }
  });
}

/** True when nothing is on its way to the service. */
export function idle(): boolean {
  return waiting === 0;
}
