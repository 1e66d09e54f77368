import assert from "node:assert/strict";
import { test } from "node:test";

import { keysOf, keysText } from "../../../src/riffract/studio/pages/commands.js";

/** @param {object} press @param {boolean} [onMac] */
const names = (press, onMac = false) =>
  keysOf({ key: "", code: "", ctrlKey: false, metaKey: false, altKey: false, shiftKey: false, ...press }, onMac);

/** @param {object} press @param {boolean} [onMac] */
const keys = (press, onMac) => names(press, onMac)[0];

const ALT_GRAPH = { getModifierState: (/** @type {string} */ name) => name === "AltGraph" };

test("a letter alone is itself, and shift with it is the capital", () => {
  assert.equal(keys({ key: "q" }), "q");
  assert.equal(keys({ key: "Q", shiftKey: true }), "Q");
});

test("a letter held with another key is a capital, with shift told apart", () => {
  assert.equal(keys({ key: "z", ctrlKey: true }), "Mod+Z");
  assert.equal(keys({ key: "Z", ctrlKey: true, shiftKey: true }), "Mod+Shift+Z");
  assert.equal(keys({ key: "z", metaKey: true }, true), "Mod+Z");
});

test("keys without a sign keep their shift, and space has a name", () => {
  assert.equal(keys({ key: "ArrowUp", shiftKey: true }), "Shift+ArrowUp");
  assert.equal(keys({ key: " " }), "Space");
  assert.equal(keys({ key: "?", shiftKey: true }), "?");
});

test("the Caps Lock changes no letter", () => {
  assert.equal(keys({ key: "E", code: "KeyE" }), "e");
  assert.equal(keys({ key: "Z", code: "KeyZ", ctrlKey: true }), "Mod+Z");
});

test("with the Option key of a Mac, which makes other signs, the key itself counts", () => {
  assert.equal(keys({ key: "ß", code: "KeyS", altKey: true }, true), "Alt+S");
  assert.equal(keys({ key: "Dead", code: "KeyN", altKey: true }, true), "Alt+N");
  assert.equal(keys({ key: "¡", code: "Digit1", altKey: true }, true), "Alt+1");
  assert.equal(keys({ key: "\u00a0", code: "Space", altKey: true }, true), "Alt+Space");
  assert.equal(keys({ key: "a", code: "KeyQ", altKey: true }, true), "Alt+A");
  assert.equal(keys({ key: "ArrowUp", code: "ArrowUp", altKey: true }, true), "Alt+ArrowUp");
});

// Layouts as common practice has them: German and French keyboards of PCs and Macs, a Russian one.
test("a sign that needs AltGr or Option is the sign", () => {
  assert.deepEqual(names({ key: "[", code: "Digit8", ctrlKey: true, altKey: true, ...ALT_GRAPH }), ["["]);
  assert.deepEqual(names({ key: "|", code: "IntlBackslash", ...ALT_GRAPH }), ["|"]);
  assert.ok(names({ key: "[", code: "Digit5", altKey: true }, true).includes("["));
  assert.ok(names({ key: "|", code: "KeyL", altKey: true, shiftKey: true }, true).includes("|"));
});

test("a letter or number held with Alt is found by its place where the key has another sign", () => {
  assert.ok(names({ key: "&", code: "Digit1", altKey: true }).includes("Alt+1"));
  assert.ok(names({ key: "@", code: "KeyG", altKey: true }, true).includes("Alt+G"));
  assert.deepEqual(names({ key: "a", code: "KeyQ", altKey: true }), ["Alt+A"]);
});

test("a keyboard without Latin letters is read by their places", () => {
  assert.deepEqual(names({ key: "й", code: "KeyQ" }), ["q"]);
  assert.deepEqual(names({ key: "я", code: "KeyZ", ctrlKey: true }), ["Mod+Z"]);
  assert.deepEqual(names({ key: "é", code: "Digit2" }), ["é"]);
});

test("keys are written as they stand on keyboards, a plus too", () => {
  assert.equal(keysText("Mod+Shift+Z"), "Ctrl + Shift + Z");
  assert.equal(keysText("Shift+ArrowUp"), "Shift + ↑");
});
