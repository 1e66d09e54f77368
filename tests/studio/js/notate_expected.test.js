import assert from "node:assert/strict";
import { test } from "node:test";
import { expectedOf } from "../../../src/riffract/studio/pages/desks/notate/expected.js";

/** @param {string} offset @param {number} string @param {string} fret */
const note = (offset, string, fret) => ({ offset, string, fret, value: "e", techniques: [] });
const bar = /** @type {any} */ ({ number: 1, length: "4", notes: [note("0", 6, "1"), note("0", 5, "2"), note("0", 4, "×")] });
const sheet = /** @type {any} */ ({ bars: [bar], frets: 24, capo: 2 });
/** @param {number} string @param {string} [offset] */
const at = (string, offset = "0") => ({ bar: 1, offset, string });

test("a digit is expected where it is written", () => {
  assert.deepEqual(expectedOf("fret", { number: 7 }, sheet, at(3, "1/2")), { cursor: at(3, "1/2"), text: "7" });
});

test("two quick digits are one fret, as the app takes them, if the neck has it", () => {
  assert.equal(expectedOf("fret", { number: 2, is_quick: true }, sheet, at(6))?.text, "12");
  assert.equal(expectedOf("fret", { number: 2 }, sheet, at(6))?.text, "2");
  assert.equal(expectedOf("fret", { number: 2, is_quick: true }, sheet, at(5))?.text, "22");
  assert.equal(expectedOf("fret", { number: 3, is_quick: true }, sheet, at(5))?.text, "3");
  assert.equal(expectedOf("fret", { number: 3, is_quick: true }, sheet, at(4))?.text, "3");
});

test("what is taken away is seen to go, if it is there", () => {
  assert.equal(expectedOf("erase", { chosen: null }, sheet, at(6))?.text, "");
  assert.equal(expectedOf("erase", { chosen: null }, sheet, at(2)), null);
  assert.equal(expectedOf("erase", { chosen: { start: "0" } }, sheet, at(6)), null);
});

test("nothing is expected where the app has to say where it goes", () => {
  assert.equal(expectedOf("fret", { number: 7 }, sheet, at(3, "4")), null);
  assert.equal(expectedOf("transpose", { number: 1 }, sheet, at(6)), null);
  assert.equal(expectedOf("fret", { number: 7 }, { ...sheet, frets: 5, capo: 0 }, at(6)), null);
});
