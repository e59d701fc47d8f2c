import type { Edit } from "../service/contract.ts";

/** True when two lists hold the same edits, in whatever order the keys of each are. */
export function sameEdits(a: readonly Edit[], b: readonly Edit[]): boolean {
  const text = (edits: readonly Edit[]): string => JSON.stringify(edits.map((edit) => Object.entries(edit).sort(([k], [l]) => (k < l ? -1 : 1))));
  return text(a) === text(b);
}
