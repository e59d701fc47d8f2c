import assert from "node:assert/strict";
import { test } from "node:test";
import { readAddress, writeAddress } from "../src/model/address.ts";
import { nextToLookAt, subjects, worstFirst } from "../src/model/attention.ts";
import { differences, distanceColour } from "../src/model/comparison.ts";
import { curveThrough } from "../src/model/curve.ts";
import { summaryOf, waysFrom } from "../src/model/history.ts";
import { markOf, regionNames, regionsOf } from "../src/model/regions.ts";
import { followers, wendland } from "../src/model/spread.ts";
import { Store } from "../src/model/store.ts";
import { turned } from "../src/model/turning.ts";
import { formatLength, lengthUnit, roundLength } from "../src/model/units.ts";
import { distance } from "../src/model/vector.ts";
import type { Finding, Vec3 } from "../src/service/contract.ts";
import { joint, move, placement, revision } from "./support.ts";

test("undo and redo of a fresh placement lead nowhere", () => {
  assert.deepEqual(waysFrom([revision(1, null)], 1), { undo: null, redo: null });
});

test("undo goes back edit by edit, redo forth again, read from the revisions alone", () => {
  const list = [revision(1, null), revision(2, 1), revision(3, 2)];
  assert.deepEqual(waysFrom(list, 3), { undo: 2, redo: null });
  list.push(revision(4, 3, 2));
  assert.deepEqual(waysFrom(list, 4), { undo: 1, redo: 3 });
  list.push(revision(5, 4, 1));
  assert.deepEqual(waysFrom(list, 5), { undo: null, redo: 2 });
  list.push(revision(6, 5, 2));
  assert.deepEqual(waysFrom(list, 6), { undo: 1, redo: 3 });
  list.push(revision(7, 6, 3));
  assert.deepEqual(waysFrom(list, 7), { undo: 2, redo: null });
});

test("an edit after an undo ends what could be redone, and undoing it leads to what was shown before it", () => {
  const list = [revision(1, null), revision(2, 1), revision(3, 2, 1), revision(4, 3)];
  assert.deepEqual(waysFrom(list, 4), { undo: 1, redo: null });
});

test("going back to an old revision can itself be undone", () => {
  const list = [revision(1, null), revision(2, 1), revision(3, 2), revision(4, 3, 1)];
  assert.deepEqual(waysFrom(list, 4), { undo: 3, redo: null });
});

test("a revision's summary says what was done to what", () => {
  assert.equal(summaryOf(revision(1, null)), "as placed");
  assert.equal(summaryOf(revision(4, 3, 2)), "back to revision 2");
  assert.equal(summaryOf(revision(2, 1, null, [move("lip_corner_left", [0, 0, 0]), { kind: "unlockLandmark", landmark: "menton" }])), "lip corner left and 1 more moved");
});

test("a turn is about the joint’s own axes, x before y before z", () => {
  const half = Math.SQRT1_2;
  const close = (a: readonly number[], b: readonly number[]): void => a.forEach((value, i) => assert.ok(Math.abs(value - (b[i] ?? NaN)) < 1e-12, `${a.join(" ")}`));
  close(turned([0, 0, 0, 1], [90, 0, 0]), [half, 0, 0, half]);
  // Turned by 90 degrees about z, the joint's own x is the world's y.
  close(turned([0, 0, half, half], [90, 0, 0]), [0.5, 0.5, 0.5, 0.5]);
  close(turned([0, 0, 0, 1], [90, 90, 0]), [0.5, 0.5, 0.5, 0.5]);
  close(turned(turned([0.1, -0.7, 0.1, 0.7], [0, 0, 35]), [0, 0, -35]), turned([0.1, -0.7, 0.1, 0.7], [0, 0, 0]));
});

test("regions take colours and shapes in their order, and no two look alike", () => {
  assert.deepEqual(markOf("skull"), { colour: 0x000000, shape: "disc" });
  assert.deepEqual(markOf("cheek"), { colour: 0x000000, shape: "square" });
  assert.deepEqual(markOf(null), { colour: 0x666666, shape: "disc" });
  assert.equal(new Set(regionNames.map((name) => JSON.stringify(markOf(name)))).size, regionNames.length);
});

test("regions of another template follow after the known ones", () => {
  assert.deepEqual(regionsOf([{ region: "whiskers" }, { region: "jaw" }, { region: null }, { region: "skull" }]), ["skull", "jaw", "whiskers"]);
});

test("the curve goes through its points and keeps a straight line straight", () => {
  const points: Vec3[] = [[0, 0, 0], [1, 0, 0], [4, 0, 0], [5, 0, 0]];
  const curve = curveThrough(points, false, 8);
  assert.equal(curve.length, 25);
  for (const point of points) {
    assert.ok(curve.some((at) => distance(at, point) < 1e-12));
  }

  assert.ok(curve.every((at) => Math.abs(at[1]) < 1e-12 && Math.abs(at[2]) < 1e-12));
});

test("a closed curve ends where it begins", () => {
  const curve = curveThrough([[0, 0, 0], [1, 0, 0], [1, 1, 0]], true, 4);
  assert.equal(curve.length, 13);
  assert.deepEqual(curve.at(-1), curve[0]);
});

test("Wendland's function is 1 at 0, 0 from 1 on, and 3/16 half way", () => {
  // (1 - 1/2)^4 (4/2 + 1) = 3/16.
  assert.deepEqual([wendland(0), wendland(0.5), wendland(1), wendland(2)], [1, 3 / 16, 0, 0]);
});

test("joints of the region follow within the distance; locked ones and others don't", () => {
  const joints = [joint("a", [0, 0, 0]), joint("near", [0.5, 0, 0]), joint("far", [2, 0, 0]), joint("locked", [0.4, 0, 0], { lock: { position: true, rotation: false } }), joint("nose", [0.1, 0, 0], { region: "nose" })];
  const after = followers(joints, new Map([["a", [0, 1, 0] as const]]), 1);
  assert.deepEqual([...after.keys()], ["a", "near"]);
  assert.deepEqual(after.get("near"), [0.5, 3 / 16, 0]);
});

test("without a distance only what is moved moves", () => {
  assert.equal(followers([joint("a", [0, 0, 0]), joint("b", [0.1, 0, 0])], new Map([["a", [1, 0, 0] as const]]), null).size, 1);
});

test("errors come before warnings, and the farther past its limit the sooner", () => {
  const finding = (severity: Finding["severity"], value: number): Finding => ({ check: "c", severity, subject: "s", value, limit: 10, unit: "degrees", message: `${severity} ${value}` });
  assert.deepEqual(worstFirst([finding("info", 99), finding("warning", 12), finding("error", 11), finding("warning", 20)]).map((one) => one.message), ["error 11", "warning 20", "warning 12", "info 99"]);
});

test("next to look at are unlocked joints, in the order of the looks", () => {
  const joints = [joint("little", [0, 0, 0]), joint("most", [1, 0, 0]), joint("locked", [2, 0, 0], { lock: { position: true, rotation: false } }), joint("unlisted", [3, 0, 0])];
  const named = (count: number): string[] => nextToLookAt(joints, ["most", "locked", "gone", "little"], count).map((one) => one.name);
  assert.deepEqual([named(9), named(1)], [["most", "little"], ["most"]]);
});

test("a finding about a row means its joints", () => {
  const document = placement([joint("a", [0, 0, 0])], { rows: [{ name: "r", joints: ["a", "b"], closed: false }] });
  assert.deepEqual([subjects(document, "r"), subjects(document, "a"), subjects(document, "head")], [["a", "b"], ["a"], []]);
});

test("differences are distances between joints of one name, the largest first", () => {
  const found = differences(placement([joint("a", [0, 0, 0]), joint("b", [0, 0, 0]), joint("gone", [0, 0, 0])]), placement([joint("a", [0, 0, 1]), joint("b", [0, 3, 4])]));
  assert.deepEqual(found.map((one) => [one.joint, one.distance]), [["b", 5], ["a", 1]]);
});

test("the colours of distances run from sky blue to vermilion", () => {
  assert.deepEqual([distanceColour(0, 2), distanceColour(1, 2), distanceColour(9, 2), distanceColour(0, 0)], [[0x56, 0xb4, 0xe9], [0xf0, 0xe4, 0x42], [0xd5, 0x5e, 0], [0x56, 0xb4, 0xe9]]);
});

test("lengths are millimetres where the unit is known", () => {
  assert.equal(formatLength(0.12, lengthUnit(0.01)), "1.2 mm");
  assert.equal(formatLength(0.12, lengthUnit(null)), "0.120 units");
  assert.deepEqual([roundLength(0.07), roundLength(24), roundLength(99)], [0.05, 20, 50]);
});

test("the address gives back what was written", () => {
  const address = { placement: "p1", view: "below", four: true, region: "lip", chosen: ["a", "b"], revision: 3, compare: 1 } as const;
  assert.deepEqual(readAddress(writeAddress(address)), address);
});

test("an address that makes no sense shows the front of nothing", () => {
  assert.deepEqual(readAddress("#view=inside&revision=x"), { placement: null, view: "front", four: false, region: null, chosen: [], revision: null, compare: null });
  assert.equal(writeAddress(readAddress("")), "");
});

test("a store tells only those who look at what changed", () => {
  const store = new Store({ a: 1, b: 1 });
  const seen: number[] = [];
  const stop = store.watch(["a"], ({ a }) => seen.push(a));
  store.set({ b: 2 });
  store.set({ a: 2 });
  store.set({ a: 2 });
  stop();
  store.set({ a: 3 });
  assert.deepEqual(seen, [1, 2]);
});
