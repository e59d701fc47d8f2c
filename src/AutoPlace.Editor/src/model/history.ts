import type { Revision } from "../service/contract.ts";

/** Where undo and redo lead from the current revision; null where there is nothing. */
export interface Ways {
  readonly undo: number | null;
  readonly redo: number | null;
}

/**
 * Reads undo and redo out of the revisions themselves, so that they survive a reload: a restoring revision that goes back
 * to what was before the last edit is an undo, one that goes where the last undo came from is a redo, and any other starts anew.
 * Both ways name revisions that were made by edits, never restoring ones.
 */
export function waysFrom(revisions: readonly Revision[], current: number): Ways {
  const byNumber = new Map(revisions.map((revision) => [revision.number, revision]));
  const made = (number: number): number => {
    let at = number;
    for (let revision = byNumber.get(at); revision?.restores != null; revision = byNumber.get(at)) {
      at = revision.restores;
    }

    return at;
  };

  const undo: number[] = [];
  let redo: number[] = [];
  let at: number | null = null;
  for (const revision of [...revisions].sort((a, b) => a.number - b.number)) {
    if (revision.number > current) {
      break;
    }

    const to = made(revision.number);
    if (at !== null) {
      if (revision.restores !== null && undo.at(-1) === to) {
        undo.pop();
        redo.push(at);
      } else if (revision.restores !== null && redo.at(-1) === to) {
        redo.pop();
        undo.push(at);
      } else {
        undo.push(at);
        redo = [];
      }
    }

    at = to;
  }

  return { undo: undo.at(-1) ?? null, redo: redo.at(-1) ?? null };
}

const words: Record<string, string> = {
  moveJoint: "moved",
  turnJoint: "turned",
  lockJoint: "locked",
  unlockJoint: "unlocked",
  mirrorJoints: "mirrored",
  moveLandmark: "landmark moved",
  unlockLandmark: "landmark unlocked",
  rowToLoop: "row laid on a loop",
  import: "taken in from a file",
  pivotToPart: "pivot put into a part",
};

/** What a revision is, in a few words. */
export function summaryOf(revision: Revision): string {
  if (revision.restores !== null) {
    return `back to revision ${revision.restores}`;
  }

  const first = revision.edits[0];
  if (first === undefined) {
    return revision.base === null ? "as placed" : (revision.note ?? "imported");
  }

  const subject = "joint" in first ? first.joint : "landmark" in first ? first.landmark : "row" in first ? first.row
    : "joints" in first ? (first.joints.length === 1 ? (first.joints[0] ?? "") : `${first.joints.length} joints`) : "";
  const more = revision.edits.length > 1 ? ` and ${revision.edits.length - 1} more` : "";
  return `${plain(subject)}${more} ${words[first.kind] ?? first.kind}`.trim();
}

/** A name as people read it. */
export function plain(name: string): string {
  return name.replaceAll("_", " ");
}
