import assert from "node:assert/strict";
import { deflateSync } from "node:zlib";
import { test } from "node:test";

import { begun, clock, shownShare, unpacked } from "../../../src/riffract/publish/page/moments.js";

test("the last entry that has begun is found, as by looking at each", () => {
  /** @type {[number, string][]} */
  const entries = [[0, "a"], [1, "b"], [1, "c"], [2.5, "d"], [7, "e"]];
  for (let seconds = -1; seconds < 9; seconds += 0.25) {
    const looked = entries.filter(([at]) => at <= seconds).at(-1);
    assert.equal(begun(entries, seconds), looked, String(seconds));
  }
  assert.equal(begun([], 3), undefined);
});

test("what comes up comes up as in the film", () => {
  // The worked example of riffract.picture.scene.shown_share.
  assert.equal(shownShare(0.04, 0.08), 0.875);
  assert.equal(shownShare(1, 0.08), 1);
  assert.equal(shownShare(-0.01, 0.08), 0);
  assert.equal(shownShare(0, 0), 1);
  assert.equal(shownShare(-1, 0), 0);
});

test("a clock shows minutes, seconds and tenths, and carries", () => {
  assert.equal(clock(0), "0:00.0");
  assert.equal(clock(9.96), "0:10.0");
  assert.equal(clock(59.96), "1:00.0");
  assert.equal(clock(83.4), "1:23.4");
});

test("what another program deflated is read, signs beyond ASCII too", async () => {
  const value = { words: ["♭ – “ebb”"], frames: [[0, [1, 2]]] };
  const text = deflateSync(Buffer.from(JSON.stringify(value))).toString("base64");
  assert.deepEqual(await unpacked(text), value);
});

test("what is damaged is refused", async () => {
  await assert.rejects(unpacked("AAAA"));
});
