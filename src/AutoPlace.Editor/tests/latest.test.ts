import assert from "node:assert/strict";
import { test } from "node:test";
import { Latest } from "../src/model/latest.ts";

test("of several attempts only the latest is wanted, also when it is the same again", () => {
  const heads = new Latest();
  const first = heads.begin();
  assert.ok(first());
  const away = heads.begin();
  const again = heads.begin();
  assert.deepEqual([first(), away(), again()], [false, false, true]);
});
