import { service, ServiceAway, ServiceError } from "../service/client.ts";
import type { Edit, Placement, RevisionAnswer } from "../service/contract.ts";
import { listen } from "../service/events.ts";
import { readAddress, type Address } from "./address.ts";
import { away, whenBack } from "./away.ts";
import { sameEdits } from "./edits.ts";
import { waysFrom } from "./history.ts";
import { makePending } from "./pending.ts";
import { editable, nothingOpen, state } from "./state.ts";
import { say, warn } from "./words.ts";

/** Milliseconds between questions whether a placement is done. */
const askAgain = 5000;

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
      const mine = (): boolean => state.value.placement?.id === placement.id && state.value.revision?.number === revision.number;
      void service.looks(placement.id, revision.number).then((looks) => mine() && state.set({ looks })).catch(complain);
    }
  });
}

export function close(): void {
  stopListening?.();
  stopListening = null;
  state.set({ ...nothingOpen, screen: "opening" });
}

/** Opens a placement, at its newest revision or the one that the address names. */
export async function open(id: string): Promise<void> {
  // Before the address follows what is shown.
  const address = readAddress(location.hash);
  stopListening?.();
  state.set({ ...nothingOpen, screen: "placing" });
  const placement = await service.placement(id);
  const head = await service.head(placement.headId);
  state.set({ head, placement, stage: placement.stage, fraction: placement.fraction });
  if (placement.state === "placed") {
    await loadCurrent(id);
    await showWhatTheAddressSays(id, address);
  }

  follow(id);
}

function follow(id: string): void {
  const mine = (): boolean => state.value.placement?.id === id;
  // Also asks now and then, for where something between page and service holds events back.
  const asking = setInterval(() => {
    if (mine() && state.value.screen === "placing" && state.value.placement?.state !== "failed" && !state.value.away) {
      void service.placement(id).then(settle).catch(complain);
    }
  }, askAgain);
  const stop = listen(id, {
    state: (placement) => mine() && void settle(placement).catch(complain),
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
  if (state.value.placement?.id === id && number > (state.value.current ?? number)) {
    state.set({ newer: number });
    say(`Another window made revision ${number}.`);
  }
}

async function settle(placement: Placement): Promise<void> {
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
    say(`Placed. ${state.value.document?.joints.length ?? 0} joints, ${state.value.document?.findings.length ?? 0} findings.`);
  } else if (placement.state === "failed") {
    warn(placement.error?.detail ?? placement.error?.title ?? "The lattice couldn't be placed.");
  }
}

/** Shows the newest revision. */
export async function loadCurrent(id: string): Promise<void> {
  const list = await service.revisions(id);
  const answer = await service.revision(id, list.current);
  if (state.value.placement?.id === id) {
    state.set({ revisions: list.revisions, current: list.current, revision: answer.revision, document: answer.placement, screen: "plate", newer: null });
  }
}

async function showWhatTheAddressSays(id: string, address: Address): Promise<void> {
  if (address.placement !== id) {
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
  const id = state.value.placement?.id;
  if (id !== undefined) {
    const answer = await service.revision(id, number);
    state.set({ revision: answer.revision, document: answer.placement });
    say(number === state.value.current ? `Revision ${number}, the newest.` : `Looking at revision ${number}. Nothing is changed.`);
  }
}

export async function compareWith(number: number | null): Promise<void> {
  const id = state.value.placement?.id;
  if (number === null || id === undefined) {
    state.set({ compared: null, mine: null });
    return;
  }

  const { revision, placement } = await service.revision(id, number);
  state.set({ compared: { label: revision.name ?? `revision ${number}`, revision: number, document: placement } });
  say(`Compared with revision ${number}.`);
}

/** Makes a revision of some edits; those that come while one is on its way wait for it. */
export function revise(edits: readonly Edit[], done: string): Promise<void> {
  return inTurn(async () => {
    const { placement, current, conflict } = state.value;
    if (conflict !== null) {
      // Made before the person could know: decided about together.
      state.set({ conflict: { ...conflict, edits: [...conflict.edits, ...edits] } });
    } else if (placement !== null && current !== null) {
      await deliver(placement.id, current, edits, done);
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

async function deliver(id: string, base: number, edits: readonly Edit[], done: string): Promise<void> {
  try {
    take(await service.revise(id, base, edits), done);
  } catch (error) {
    if (error instanceof ServiceAway) {
      away();
      await whenBack();
      await deliverAfterSilence(id, base, edits, done);
    } else if (error instanceof ServiceError && error.status === 409) {
      state.set({ conflict: { edits, base, theirs: error.problem.current ?? base + 1 } });
    } else {
      throw error;
    }
  }
}

// The service may have taken the edit and gone away before it could say so.
async function deliverAfterSilence(id: string, base: number, edits: readonly Edit[], done: string): Promise<void> {
  const list = await service.revisions(id);
  const next = list.revisions.find((revision) => revision.base === base);
  if (list.current === base) {
    await deliver(id, base, edits, done);
  } else if (next !== undefined && next.number === list.current && sameEdits(next.edits, edits)) {
    take(await service.revision(id, next.number), done);
  } else {
    state.set({ conflict: { edits, base, theirs: list.current } });
  }
}

function take(answer: RevisionAnswer, done: string): void {
  const { revision, placement } = answer;
  const revisions = [...state.value.revisions.filter((known) => known.number !== revision.number), revision];
  state.set({ revisions, revision, current: revision.number, document: placement, newer: null });
  say(`${done} Revision ${revision.number}, solved in ${revision.solveMs.toFixed(1)} ms.`);
}

/** Undo or redo, as far as there is anything. */
export function step(way: "undo" | "redo"): Promise<void> {
  makePending();
  return inTurn(async () => {
    const { placement, current, revisions } = state.value;
    if (placement === null || current === null || !editable(state.value)) {
      return;
    }

    const to = waysFrom(revisions, current)[way];
    if (to === null) {
      say(way === "undo" ? "Nothing to undo." : "Nothing to redo.");
    } else {
      await deliver(placement.id, current, [{ kind: "restore", revision: to }], way === "undo" ? "Undone." : "Redone.");
    }
  });
}

/** Goes back to an earlier revision by a new one. */
export function restore(number: number): Promise<void> {
  return revise([{ kind: "restore", revision: number }], `Back to revision ${number}.`);
}

export async function rename(number: number, name: string): Promise<void> {
  const id = state.value.placement?.id;
  if (id !== undefined) {
    const named = await service.nameRevision(id, number, name);
    const revisions = state.value.revisions.map((revision) => (revision.number === number ? { ...revision, name: named.name } : revision));
    state.set({ revisions });
  }
}

export function importFile(file: File): Promise<void> {
  return inTurn(async () => {
    const { placement, current } = state.value;
    if (placement !== null && current !== null) {
      try {
        take(await service.importFile(placement.id, current, await file.text()), `${file.name} taken in.`);
      } catch (error) {
        if (error instanceof ServiceError && error.status === 409) {
          state.set({ newer: error.problem.current ?? current + 1 });
        }

        throw error instanceof ServiceError && error.status === 422 ? new Error(`${file.name}: ${error.problem.reason ?? error.message}`) : error;
      }
    }
  });
}

/** True when nothing is on its way to the service. */
export function idle(): boolean {
  return waiting === 0;
}
