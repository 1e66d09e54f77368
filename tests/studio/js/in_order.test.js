import assert from "node:assert/strict";
import { test } from "node:test";

import { createOrder } from "../../../src/riffract/studio/pages/in_order.js";

/** Something that ends when it is told to. */
const slow = () => {
  let end = () => {};
  const done = new Promise((/** @type {(value?: unknown) => void} */ resolve) => (end = resolve));
  return { done, end: () => end() };
};

test("what is quick is done at once while nothing is going on", () => {
  const inOrder = createOrder();
  assert.equal(inOrder(() => 7), 7);
});

test("a step waits for the answer to what was typed before it", async () => {
  const inOrder = createOrder();
  const { done, end } = slow();
  /** @type {string[]} */
  const seen = [];
  inOrder(() => done.then(() => seen.push("written")));
  const stepped = inOrder(() => seen.push("stepped"));
  const third = inOrder(() => seen.push("written again"));
  assert.deepEqual(seen, []);
  end();
  await Promise.all([stepped, third]);
  assert.deepEqual(seen, ["written", "stepped", "written again"]);
  assert.equal(inOrder(() => "at once"), "at once");
});

test("what fails does not hold up what comes after it, and its failure is told", async () => {
  const inOrder = createOrder();
  const failed = inOrder(() => Promise.reject(new Error("no such string")));
  const next = inOrder(() => "done");
  await assert.rejects(/** @type {Promise<unknown>} */ (failed), /no such string/);
  assert.equal(await next, "done");
});

test("each is told when it was asked for, however late it begins", async () => {
  let clock = 100;
  const inOrder = createOrder(() => clock);
  const { done, end } = slow();
  inOrder(() => done);
  clock = 250;
  const asked = inOrder((askedMs) => askedMs);
  clock = 2000;
  end();
  assert.equal(await asked, 250);
});
