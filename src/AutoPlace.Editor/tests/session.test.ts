import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";
import { FakeEvents, brokenOff, later, quiet, refusal, startService, type FakeService } from "./fakePage.ts";
import { joint, move, placement, revision } from "./support.ts";
import { placeFile, removePlacement } from "../src/model/heads.ts";
import { beforeOthers } from "../src/model/pending.ts";
import { close, compareWith, idle, look, open, rename, revise } from "../src/model/session.ts";
import { state } from "../src/model/state.ts";
import type { Edit, Placement, Revision } from "../src/service/contract.ts";

let fake: FakeService;
beforeEach(() => {
  close();
  fake = startService();
});
// A placement that stays open would keep the process asking for it.
test.after(close);

const placed = (id: string): Placement => ({ id, headId: `head-${id}`, state: "placed", stage: null, fraction: 1, createdAt: "", finishedAt: "", error: null, revision: 1 });
const answer = (id: string, made: Revision): object => ({ revision: made, placement: placement([joint(`of_${id}`, [made.number, 0, 0])]) });

/** A placement with its first revision, to which each edit adds one. */
function offer(id: string, revisions: Revision[] = [revision(1, null)]): Revision[] {
  const newest = (): number => revisions.at(-1)?.number ?? 1;
  fake.on(`GET /v1/placements/${id}`, () => placed(id));
  fake.on(`GET /v1/heads/head-${id}`, () => ({ id: `head-${id}`, name: id, parts: [] }));
  fake.on(`GET /v1/placements/${id}/revisions`, () => ({ current: newest(), revisions }));
  for (let n = 1; n <= 4; n++) {
    fake.on(`GET /v1/placements/${id}/revisions/${n}`, () => answer(id, revisions[n - 1] ?? revision(n, n - 1)));
  }

  fake.on(posts(id), (body) => {
    const { base, edits } = body as { base: number; edits: readonly Edit[] };
    if (base !== newest()) {
      return refusal(409, { current: newest() });
    }

    revisions.push(revision(base + 1, base, null, edits));
    return answer(id, revisions.at(-1) ?? revision(base + 1, base));
  });
  return revisions;
}

const posts = (id: string): string => `POST /v1/placements/${id}/revisions`;
const shownJoint = (): string | undefined => state.value.document?.joints[0]?.name;

test("edits of a placement that was left are made on it, and change nothing of the one that is shown", async () => {
  const [ofA, ofB] = [offer("a"), offer("b")];
  const slow = later<object>();
  fake.on(posts("a"), () => slow.promise);
  await open("a");
  const first = revise([move("of_a", [1, 0, 0])], "Moved.");
  const second = revise([move("of_a", [2, 0, 0])], "Moved.");
  await quiet();
  close();
  await open("b");
  offer("a", ofA);
  slow.give(answer("a", revision(2, 1)));
  ofA.push(revision(2, 1));
  await Promise.all([first, second]);
  assert.deepEqual(fake.bodies(posts("a")).map((body) => (body as { base: number }).base), [1, 2]);
  assert.equal(ofA.length, 3);
  assert.equal(ofB.length, 1);
  assert.equal(fake.bodies(posts("b")).length, 0);
  assert.deepEqual([shownJoint(), state.value.current, state.value.revisions.length], ["of_b", 1, 1]);
  assert.ok(idle());
});

test("a placement that is opened again waits for its edits", async () => {
  const revisions = offer("a");
  const slow = later<object>();
  fake.on(posts("a"), () => slow.promise);
  await open("a");
  const edit = revise([move("of_a", [1, 0, 0])], "Moved.");
  close();
  const again = open("a");
  await quiet();
  revisions.push(revision(2, 1));
  slow.give(answer("a", revision(2, 1)));
  await Promise.all([edit, again]);
  assert.equal(state.value.current, 2);
});

test("of two placements opened one after the other only the last is shown and listened to", async () => {
  offer("a");
  offer("b");
  const slow = later<Placement>();
  fake.on("GET /v1/placements/a", () => slow.promise);
  const first = open("a");
  await open("b");
  slow.give(placed("a"));
  await first;
  assert.equal(shownJoint(), "of_b");
  assert.deepEqual([...FakeEvents.open].map((events) => events.address), ["/v1/placements/b/events"]);
});

test("one placement opened twice is listened to once", async () => {
  offer("a");
  await Promise.all([open("a"), open("a")]);
  assert.equal(FakeEvents.open.size, 1);
});

test("a placement that fails to open after another was opened closes nothing", async () => {
  offer("b");
  const slow = later<Response>();
  fake.on("GET /v1/placements/a", () => slow.promise);
  const first = open("a");
  await open("b");
  slow.give(refusal(404));
  await first;
  assert.equal(shownJoint(), "of_b");
  await assert.rejects(open("nowhere"));
  assert.equal(state.value.screen, "opening");
});

test("an earlier revision and a comparison that come after another placement was opened aren't shown", async () => {
  offer("a", [revision(1, null), revision(2, 1)]);
  offer("b");
  await open("a");
  const slow = later<object>();
  fake.on("GET /v1/placements/a/revisions/1", () => slow.promise);
  const answers = [look(1), compareWith(1)];
  await open("b");
  slow.give(answer("a", revision(1, null)));
  await Promise.all(answers);
  assert.deepEqual([shownJoint(), state.value.compared], ["of_b", null]);
});

test("what was begun is made before the placement is left", async () => {
  const revisions = offer("a");
  let begun = true;
  beforeOthers(() => {
    if (begun) {
      begun = false;
      void revise([move(shownJoint() ?? "", [1, 0, 0])], "Moved.");
    }
  });
  begun = false;
  await open("a");
  begun = true;
  close();
  await quiet();
  assert.deepEqual(revisions[1]?.edits, [move("of_a", [1, 0, 0])]);
});

test("after silence an own edit that was taken isn't made again", async () => {
  const revisions = offer("a");
  fake.on("GET /health/live", () => null);
  await open("a");
  fake.on(posts("a"), (body) => {
    // As the service keeps it, which has an order of keys of its own.
    const [edit] = (body as { edits: readonly object[] }).edits;
    revisions.push(revision(2, 1, null, [Object.fromEntries(Object.entries(edit ?? {}).reverse()) as unknown as Edit]));
    return brokenOff();
  });
  await revise([move("of_a", [1, 0, 0])], "Moved.");
  assert.deepEqual([fake.bodies(posts("a")).length, state.value.current, state.value.conflict], [1, 2, null]);
});

test("after silence another window's edit of the same kind isn't taken for the own one", async () => {
  const revisions = offer("a");
  fake.on("GET /health/live", () => null);
  await open("a");
  const own = [move("of_a", [1, 0, 0])];
  fake.on(posts("a"), () => {
    offer("a", revisions);
    revisions.push(revision(2, 1, null, [move("of_a", [5, 0, 0])]));
    return new TypeError("fetch failed");
  });
  await revise(own, "Moved.");
  assert.deepEqual(state.value.conflict, { edits: own, base: 1, theirs: 2 });
});

test("an empty name takes a revision's name away", async () => {
  offer("a");
  fake.on("PATCH /v1/placements/a/revisions/1", (body) => ({ ...revision(1, null), ...(body as object) }));
  await open("a");
  await rename(1, "");
  assert.deepEqual(fake.bodies("PATCH /v1/placements/a/revisions/1"), [{ name: null }]);
  assert.equal(state.value.revisions[0]?.name, null);
});

test("a head on which nothing may be placed isn't kept", async () => {
  fake.on("POST /v1/heads", () => ({ id: "h", name: "a.glb" }));
  fake.on("POST /v1/heads/h/placements", () => refusal(429, { detail: "As many wait as may." }));
  fake.on("GET /v1/placements", () => ({ placements: [] }));
  await assert.rejects(placeFile(new File(["x"], "a.glb"), {}), /As many wait/);
  assert.equal(fake.bodies("DELETE /v1/heads/h").length, 1);
});

test("a head goes with its last placement, whichever window removed the others", async () => {
  const left = new Set(["a", "b", "c"]);
  fake.on("GET /v1/placements", () => ({ placements: [...left].map((id) => ({ ...placed(id), headId: "h" })) }));
  for (const id of left) {
    fake.on(`DELETE /v1/placements/${id}`, () => (left.delete(id) ? null : refusal(404)));
  }

  fake.on("DELETE /v1/heads/h", () => null);
  assert.equal(await removePlacement({ ...placed("a"), headId: "h" }), false);
  left.delete("c");
  assert.equal(fake.bodies("DELETE /v1/heads/h").length, 0);
  assert.equal(await removePlacement({ ...placed("b"), headId: "h" }), true);
  assert.equal(fake.bodies("DELETE /v1/heads/h").length, 1);
});
