import type { Edit, Joint, Vec3 } from "../service/contract.ts";
import { plain } from "./history.ts";
import { revise } from "./session.ts";
import { editable, state } from "./state.ts";
import { turned } from "./turning.ts";
import { say } from "./words.ts";

/** The chosen joints, in the lattice's order. */
export function chosenJoints(): Joint[] {
  const { document, chosen } = state.value;
  return document?.joints.filter((joint) => chosen.includes(joint.name)) ?? [];
}

function named(joints: readonly { readonly name: string }[]): string {
  const first = joints[0];
  return joints.length === 1 && first !== undefined ? plain(first.name) : `${joints.length} joints`;
}

/** False, with a word why, where nothing can be edited now. */
export function mayEdit(): boolean {
  const may = editable(state.value);
  if (!may) {
    say(state.value.motion ? "Put the head back to rest to edit." : "An earlier revision is shown; go back to it or to the newest to edit.");
  }

  return may;
}

/** Moves joints to places in the file's coordinates. */
export function moveJoints(to: ReadonlyMap<string, Vec3>, alongSkin: boolean): Promise<void> {
  const { document, influence, carriesChildren } = state.value;
  const joints = document?.joints.filter((joint) => to.has(joint.name)) ?? [];
  const unit = document?.head.interocularDistance ?? 1;
  const edits = joints.map((joint): Edit => ({
    kind: "moveJoint",
    joint: joint.name,
    position: to.get(joint.name) ?? joint.position,
    alongSkin: alongSkin && joint.kind === "surface",
    influence: influence === null ? null : influence * unit,
    carriesChildren,
  }));
  return edits.length > 0 ? revise(edits, `Moved ${named(joints)}.`) : Promise.resolve();
}

/** Turns a joint about its own axes: first x, then y, then z, degrees. */
export function turnJoint(joint: Joint, degrees: Vec3): Promise<void> {
  return revise([{ kind: "turnJoint", joint: joint.name, rotation: turned(joint.rotation, degrees) }], `Turned ${plain(joint.name)}.`);
}

/** True when what is to be locked of a joint is locked. */
export function isLocked(joint: Joint): boolean {
  const { lockWhat } = state.value;
  return (lockWhat === "rotation" || joint.lock.position) && (lockWhat === "position" || joint.lock.rotation);
}

/** Locks what is to be locked of the chosen joints, or unlocks them when it is locked of all. */
export function toggleLock(): Promise<void> {
  const joints = chosenJoints();
  if (joints.length === 0 || !mayEdit()) {
    return Promise.resolve();
  }

  const { lockWhat } = state.value;
  const unlock = joints.every(isLocked);
  const lock = { position: lockWhat !== "rotation", rotation: lockWhat === "rotation" || lockWhat === "both", bodyRig: lockWhat === "bodyRig" };
  return revise(
    joints.map((joint): Edit => (unlock ? { kind: "unlockJoint", joint: joint.name, position: true, rotation: true } : { kind: "lockJoint", joint: joint.name, ...lock })),
    unlock ? `Unlocked ${named(joints)}: back to where the program has it.` : `Locked ${named(joints)}.`,
  );
}

/** Gives the chosen joints' twins their mirror image. */
export function mirror(by: "plane" | "topology"): Promise<void> {
  const joints = chosenJoints().filter((joint) => joint.side !== "middle");
  if (!mayEdit()) {
    return Promise.resolve();
  }

  if (joints.length === 0) {
    say("Choose joints of one side to mirror.");
    return Promise.resolve();
  }

  return revise([{ kind: "mirrorJoints", joints: joints.map((joint) => joint.name), by }], `Mirrored ${named(joints)} onto the other side by ${by}.`);
}

export function moveLandmark(landmark: string, position: Vec3): Promise<void> {
  return revise([{ kind: "moveLandmark", landmark, position }], `Moved landmark ${plain(landmark)}.`);
}

export function releaseLandmark(landmark: string): Promise<void> {
  return revise([{ kind: "unlockLandmark", landmark }], `Unlocked landmark ${plain(landmark)}.`);
}

export function rowToLoop(row: string, point: Vec3): Promise<void> {
  return revise([{ kind: "rowToLoop", row, point }], `Laid ${plain(row)} on the loop.`);
}

export function pivotToPart(joint: string, part: string, point: Vec3): Promise<void> {
  return revise([{ kind: "pivotToPart", joint, part, point }], `Put ${plain(joint)} into the middle of ${plain(part)}.`);
}

/** Chooses joints; with `more`, besides those chosen already. */
export function choose(names: readonly string[], more = false): void {
  const before = more ? state.value.chosen.filter((name) => !names.includes(name)) : [];
  const again = more && names.length === 1 && state.value.chosen.includes(names[0] ?? "");
  const chosen = again ? before : [...before, ...names];
  state.set({ chosen, landmark: null });
  const only = chosen.length === 1 ? state.value.document?.joints.find((joint) => joint.name === chosen[0]) : undefined;
  say(only !== undefined ? `${plain(only.name)}${only.lock.position ? ", locked" : ""}` : chosen.length === 0 ? "Nothing chosen." : `${chosen.length} joints chosen.`);
}

/** Goes on to the next or previous joint of the picked region, or of all. */
export function chooseNext(step: 1 | -1): void {
  const { document, region, chosen } = state.value;
  const joints = document?.joints.filter((joint) => region === null || joint.region === region) ?? [];
  if (joints.length > 0) {
    const at = joints.findIndex((joint) => joint.name === chosen.at(-1));
    const next = joints[at < 0 ? (step > 0 ? 0 : joints.length - 1) : (at + step + joints.length) % joints.length];
    choose(next === undefined ? [] : [next.name]);
  }
}
