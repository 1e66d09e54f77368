import assert from "node:assert/strict";
import { test } from "node:test";

import { keysOf, keysText } from "../../../src/riffract/studio/pages/commands.js";

/** @param {object} press */
const keys = (press) =>
  keysOf({ key: "", ctrlKey: false, metaKey: false, altKey: false, shiftKey: false, ...press });

test("a letter alone is itself, and shift with it is the capital", () => {
  assert.equal(keys({ key: "q" }), "q");
  assert.equal(keys({ key: "Q", shiftKey: true }), "Q");
});

test("a letter held with another key is a capital, with shift told apart", () => {
  assert.equal(keys({ key: "z", ctrlKey: true }), "Mod+Z");
  assert.equal(keys({ key: "Z", ctrlKey: true, shiftKey: true }), "Mod+Shift+Z");
});

test("keys without a sign keep their shift, and space has a name", () => {
  assert.equal(keys({ key: "ArrowUp", shiftKey: true }), "Shift+ArrowUp");
  assert.equal(keys({ key: " " }), "Space");
  assert.equal(keys({ key: "?", shiftKey: true }), "?");
});

test("keys are written as they stand on keyboards, a plus too", () => {
  assert.equal(keysText("Mod+Shift+Z"), "Ctrl + Shift + Z");
  assert.equal(keysText("Shift+ArrowUp"), "Shift + ↑");
});
