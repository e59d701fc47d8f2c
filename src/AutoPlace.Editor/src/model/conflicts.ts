import type { Edit, PlacementDocument } from "../service/contract.ts";
import { loadCurrent, revise } from "./session.ts";
import { isShown, state } from "./state.ts";

/** Forgets the own edits and shows what the other window made. */
export async function takeTheirs(): Promise<void> {
  const id = state.value.placement?.id;
  if (id !== undefined) {
    await loadCurrent(id);
    if (isShown(id)) {
      state.set({ conflict: null, mine: null, compared: null });
    }
  }
}

/** Shows what the other window made, compared with the own edits, which can then be made again. */
export async function lookAtBoth(): Promise<void> {
  const { conflict, document, placement } = state.value;
  if (conflict !== null && document !== null && placement !== null) {
    const own = withMoves(document, conflict.edits);
    await loadCurrent(placement.id);
    if (isShown(placement.id)) {
      state.set({ conflict: null, mine: conflict.edits, compared: { label: "your own move", revision: null, document: own } });
    }
  }
}

export async function makeMineAgain(): Promise<void> {
  const { mine } = state.value;
  if (mine !== null) {
    state.set({ mine: null, compared: null });
    await revise(mine, "Made again on theirs.");
  }
}

/** A placement with joints where edits put them; what would have followed isn't known here. */
function withMoves(document: PlacementDocument, edits: readonly Edit[]): PlacementDocument {
  const to = new Map(edits.flatMap((edit) => (edit.kind === "moveJoint" ? [[edit.joint, edit.position] as const] : [])));
  return { ...document, joints: document.joints.map((joint) => ({ ...joint, position: to.get(joint.name) ?? joint.position })) };
}
