import assert from "node:assert/strict";
import { test } from "node:test";

import { compare, fraction, minus, plus, textOf } from "../../../src/riffract/studio/pages/fraction.js";
import {
  between,
  carriedBy,
  holds,
  inside,
  later,
  lengthOf,
  moment,
  notesIn,
  rowsOf,
  stepped,
  told,
} from "../../../src/riffract/studio/pages/desks/notate/places.js";

/** A bar of 7/8 = 3.5 quarters with something at each of some offsets. */
const bar = (/** @type {number} */ number, /** @type {string} */ start, /** @type {string[]} */ offsets, more = {}) => ({
  number, written: number, start, length: "7/2", key: "", width: 300, px_per_quarter: 60, left: 10,
  places: [...offsets, "7/2"].map((offset) => ({ offset, x: 0 })),
  notes: [], metre: "", unit: "1/2", marks: [], fault: "", mends: [], ...more,
});

const sheet = (/** @type {any[]} */ ...bars) => ({
  title: "", strings: ["E4", "B3", "G3", "D3", "A2", "E2"], open_pitches: [], gap: 25, top: 34, height: 200,
  bars, tempo: 120, capo: 0, frets: 24, scale_mm: 648,
});

const two = sheet(bar(1, "0", ["0", "1/3", "1"]), bar(2, "7/2", ["0"]));

test("fractions are exact: thirds and fifths come back to where they began", () => {
  let sum = fraction("0");
  for (let i = 0; i < 15; i += 1) sum = plus(sum, fraction("7/15"));
  assert.equal(textOf(sum), "7");
  assert.equal(textOf(minus(sum, fraction("20/3"))), "1/3");
  assert.ok(compare(fraction("1/3"), fraction("333/1000")) > 0);
});

// Common practice: a dot adds half of what stands before it.
test("dots add half, and half of that", () => {
  const lengths = ["w", "q.", "e..", "h."].map((value) => textOf(lengthOf(value)));
  assert.deepEqual(lengths, ["4", "3/2", "7/8", "3"]);
});

// Common practice: three in the time of two, five in the time of four.
test("a tuplet's value lasts its share", () => {
  assert.deepEqual(["e3:2", "s5:4", "q.3:2"].map((value) => textOf(lengthOf(value))), ["1/3", "1/5", "1"]);
});

test("a step goes by the value, or to what comes before that", () => {
  const from = { bar: 1, offset: "0", string: 3 };
  assert.equal(stepped(two, from, "e", 1).offset, "1/3");
  assert.equal(stepped(two, { ...from, offset: "1" }, "q", 1).offset, "2");
  assert.deepEqual(stepped(two, { ...from, offset: "3" }, "q", 1), { bar: 2, offset: "0", string: 3 });
});

test("steps back lead over the bar line, and stop at the start", () => {
  assert.deepEqual(stepped(two, { bar: 2, offset: "0", string: 1 }, "e", -1), { bar: 1, offset: "3", string: 1 });
  const first = { bar: 1, offset: "0", string: 1 };
  assert.deepEqual(stepped(two, first, "e", -1), first);
});

test("each way through the passage ends, and there is a last place behind all notes", () => {
  let cursor = { bar: 1, offset: "0", string: 1 };
  for (let i = 0; i < 40; i += 1) cursor = stepped(two, cursor, "e", 1);
  assert.deepEqual(cursor, { bar: 2, offset: "7/2", string: 1 });
  for (let i = 0; i < 40; i += 1) cursor = stepped(two, cursor, "e", -1);
  assert.deepEqual(cursor, { bar: 1, offset: "0", string: 1 });
});

test("a cursor that fell off the passage is put on it", () => {
  assert.deepEqual(inside(two, { bar: 9, offset: "9", string: 9 }), { bar: 2, offset: "7/2", string: 6 });
  assert.deepEqual(inside(two, { bar: 0, offset: "0", string: 0 }), { bar: 1, offset: "0", string: 1 });
});

test("a selection is the same from either end, and holds the last thing whole", () => {
  const [a, b] = [{ bar: 1, offset: "1/3", string: 2 }, { bar: 2, offset: "0", string: 4 }];
  const there = between(two, a, b, "e");
  assert.deepEqual(there, between(two, b, a, "e"));
  assert.deepEqual(there, { start: "1/3", end: "7", strings: [2, 3, 4] });
});

test("a selection along one string takes all strings", () => {
  const at = { bar: 1, offset: "0", string: 5 };
  assert.deepEqual(between(two, at, at, "e"), { start: "0", end: "1/3", strings: [] });
});

test("a selection up to the end of a bar ends there", () => {
  const [from, to] = [{ bar: 1, offset: "0", string: 5 }, { bar: 2, offset: "7/2", string: 5 }];
  assert.deepEqual(between(two, from, to, "e"), { start: "0", end: "7", strings: [] });
});

test("a pick-up counts its beats as the end of a full bar, as the app does everywhere", () => {
  const short = sheet(bar(1, "0", ["0"], { length: "1", metre: "7/8 = 2+2+3" }), bar(2, "1", ["0"]));
  assert.match(told(short, { bar: 1, offset: "1/2", string: 1 }), /^bar 1, beat 7, string 1/);
  assert.match(told(short, { bar: 2, offset: "1/2", string: 1 }), /^bar 2, beat 2, string 1/);
});

test("places are told in bars, beats and strings, with what is there", () => {
  const note = { offset: "1/2", string: 4, fret: "7", value: "e", techniques: ["palm_mute"] };
  const one = sheet(bar(1, "0", ["0", "1/2"], { notes: [note], fault: "holds 6/8, should hold 7/8" }));
  const words = told(one, { bar: 1, offset: "1/2", string: 4 });
  assert.equal(words, "bar 1, beat 2, string 4: fret 7, e, palm mute; the bar holds 6/8, should hold 7/8");
  assert.equal(textOf(moment(two, { bar: 2, offset: "1/2", string: 1 })), "4");
});

test("rows hold whole bars, all of them, and none is wider than the page if its bars are not", () => {
  const bars = [300, 300, 500, 100, 900].map((width, i) => bar(i + 1, "0", [], { width }));
  const rows = rowsOf(bars, 700);
  assert.deepEqual(rows.flat(), bars);
  assert.deepEqual(rows.map((row) => row.map((one) => one.number)), [[1, 2], [3, 4], [5]]);
});

test("what is carried goes in time and over strings at once, stays on the neck, and comes back", () => {
  const [a, b] = [{ bar: 1, offset: "1/3", string: 2 }, { bar: 2, offset: "0", string: 4 }];
  const selection = { start: "1/3", end: "1", strings: [2] };
  const note = { offset: "1/3", string: 2, fret: "5", value: "e", techniques: [] };
  const one = sheet(bar(1, "0", ["0", "1/3", "1"], { notes: [note] }), bar(2, "7/2", ["0"]));
  assert.deepEqual(carriedBy(one, selection, a, b), { by: "19/6", strings: 2 });
  assert.deepEqual(carriedBy(one, selection, { ...a, string: 1 }, { ...a, string: 6 }), { by: "0", strings: 4 });
  assert.deepEqual(carriedBy(one, selection, { ...a, offset: "1" }, { ...a, offset: "0" }).by, "-1/3");
  assert.deepEqual(notesIn(one, selection).map((found) => found.note), [note]);
  assert.deepEqual(later(later(selection, "19/6"), "-19/6"), selection);
});

test("a place is selected from the start on up to the end, on strings that are selected", () => {
  const selection = { start: "1/3", end: "1", strings: [2] };
  const at = (/** @type {string} */ offset, string = 2) => holds(two, selection, { bar: 1, offset, string });
  assert.deepEqual([at("0"), at("1/3"), at("1"), at("1/3", 3)], [false, true, false, false]);
});
