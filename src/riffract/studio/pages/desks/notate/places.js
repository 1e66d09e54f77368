import { compare, fraction, minus, numberOf, plus, textOf } from "../../fraction.js";

/**
 * @typedef {{offset: string, x: number}} Place
 * @typedef {{index: number, offset: string, string: number, fret: string, value: string, techniques: string[]}} Note
 * @typedef {{number: number, written: number, start: string, length: string, key: string, width: number,
 *   px_per_quarter: number, left: number, places: Place[], notes: Note[], metre: string, unit: string,
 *   marks: string[], fault: string, mends: {words: string}[]}} Bar
 * @typedef {{gap: number, top: number, height: number, strings: string[]}} Frame what all bars share
 * @typedef {{title: string, frame: Frame, strings: string[], open_pitches: number[], gap: number, top: number,
 *   height: number, bars: Bar[], tempo: number, capo: number, frets: number, scale_mm: number}} Sheet
 * @typedef {{what: string, mend: string, place: string, line: number, column: number, severity: string}} Fault
 * @typedef {{bar: number, offset: string, string: number}} Cursor
 * @typedef {{start: string, end: string, strings: number[]}} Selection
 * @typedef {{by: string, strings: number}} Carried quarters later, or strings further down; never both
 */

/** @type {Record<string, string>} */
const LENGTHS = { w: "4", h: "2", q: "1", e: "1/2", s: "1/4", t: "1/8" };

/** How long the value is that is entered, for stepping; tuplets step by their letter's length.
 * @param {string} value */
export function lengthOf(value) {
  const [, letter, dots] = /^([whqest])(\.*)/.exec(value) ?? ["", "e", ""];
  let length = fraction(LENGTHS[letter]);
  let added = length;
  for (let i = 0; i < dots.length; i += 1) {
    added = { top: added.top, bottom: added.bottom * 2 };
    length = plus(length, added);
  }
  return length;
}

/**
 * Keeps a cursor on the passage.
 * @param {Sheet} sheet
 * @param {Cursor} cursor
 * @returns {Cursor}
 */
export function inside(sheet, cursor) {
  const bar = sheet.bars[Math.max(0, Math.min(cursor.bar, sheet.bars.length) - 1)];
  const string = Math.max(1, Math.min(cursor.string, sheet.strings.length));
  const isBeyond = compare(fraction(cursor.offset), fraction(bar.length)) > 0;
  return { bar: bar.number, offset: isBeyond ? bar.length : cursor.offset, string };
}

/**
 * Finds the next place to step to, in one direction.
 * @param {Sheet} sheet
 * @param {Cursor} cursor
 * @param {string} value that is entered
 * @param {1 | -1} direction
 * @returns {Cursor}
 */
export function stepped(sheet, cursor, value, direction) {
  const bar = sheet.bars[cursor.bar - 1];
  const now = fraction(cursor.offset);
  const places = bar.places.map((place) => fraction(place.offset));
  const end = fraction(bar.length);
  if (direction > 0) {
    const byValue = plus(now, lengthOf(value));
    const next = places.find((place) => compare(place, now) > 0);
    const goal = next && compare(next, byValue) < 0 ? next : byValue;
    if (compare(goal, end) < 0) return { ...cursor, offset: textOf(goal) };
    const isLast = bar.number === sheet.bars.length;
    if (isLast) return { ...cursor, offset: textOf(end) };
    return { ...cursor, bar: bar.number + 1, offset: "0" };
  }
  if (compare(now, fraction("0")) <= 0) {
    if (bar.number === 1) return cursor;
    const before = sheet.bars[bar.number - 2];
    const atEnd = { ...cursor, bar: before.number, offset: before.length };
    return stepped(sheet, atEnd, value, -1);
  }
  const byValue = minus(now, lengthOf(value));
  const earlier = [...places].reverse().find((place) => compare(place, now) < 0);
  const goal = earlier && compare(earlier, byValue) > 0 ? earlier : byValue;
  return { ...cursor, offset: textOf(compare(goal, fraction("0")) < 0 ? fraction("0") : goal) };
}

/**
 * Selects what lies between two places, both with their values.
 * @param {Sheet} sheet
 * @param {Cursor} a
 * @param {Cursor} b
 * @param {string} value
 * @returns {Selection}
 */
export function between(sheet, a, b, value) {
  const [first, last] = [moment(sheet, a), moment(sheet, b)].sort(compare);
  const later = compare(moment(sheet, a), moment(sheet, b)) > 0 ? a : b;
  const bar = sheet.bars[later.bar - 1];
  const start = fraction(bar.start);
  const next = bar.places.map((place) => plus(start, fraction(place.offset))).find((place) => compare(place, last) > 0);
  const end = next ?? plus(last, lengthOf(value));
  const [low, high] = [Math.min(a.string, b.string), Math.max(a.string, b.string)];
  const strings = low === high && a.string === b.string ? [] : Array.from({ length: high - low + 1 }, (_, i) => low + i);
  return { start: textOf(first), end: textOf(end), strings };
}

/**
 * Tells when a place comes, in quarters of the passage.
 * @param {Sheet} sheet
 * @param {Cursor} cursor
 */
export function moment(sheet, cursor) {
  return plus(fraction(sheet.bars[cursor.bar - 1].start), fraction(cursor.offset));
}

/**
 * Says where the cursor is and what is there.
 * @param {Sheet} sheet
 * @param {Cursor} cursor
 */
export function told(sheet, cursor) {
  const bar = sheet.bars[cursor.bar - 1];
  const beat = numberOf(fraction(cursor.offset)) / numberOf(fraction(bar.unit)) + 1;
  const note = bar.notes.find((one) => one.offset === cursor.offset && one.string === cursor.string);
  const what = note ? `fret ${note.fret}, ${[note.value, ...note.techniques.map((t) => t.replaceAll("_", " "))].join(", ")}` : "nothing";
  const place = `bar ${bar.number}, beat ${Math.round(beat * 1000) / 1000}, string ${cursor.string}`;
  return bar.fault ? `${place}: ${what}; the bar ${bar.fault}` : `${place}: ${what}`;
}

/**
 * Shares bars out among rows.
 * @param {readonly Bar[]} bars
 * @param {number} width
 * @returns {Bar[][]}
 */
export function rowsOf(bars, width) {
  /** @type {Bar[][]} */
  const rows = [];
  let used = Infinity;
  for (const bar of bars) {
    if (used + bar.width > width) {
      rows.push([]);
      used = 0;
    }
    rows[rows.length - 1].push(bar);
    used += bar.width;
  }
  return rows;
}

/**
 * Says whether a place is selected.
 * @param {Sheet} sheet
 * @param {Selection} selection
 * @param {Cursor} cursor
 */
export function holds(sheet, selection, cursor) {
  const at = moment(sheet, cursor);
  const isInTime = compare(at, fraction(selection.start)) >= 0 && compare(at, fraction(selection.end)) < 0;
  return isInTime && (selection.strings.length === 0 || selection.strings.includes(cursor.string));
}

/**
 * Tells how far something is carried from one place to another: in time if at all, else over strings,
 * so that one drag is one edit.
 * @param {Sheet} sheet
 * @param {Cursor} from
 * @param {Cursor} to
 * @returns {Carried}
 */
export function carriedBy(sheet, from, to) {
  const by = textOf(minus(moment(sheet, to), moment(sheet, from)));
  return { by, strings: by === "0" ? to.string - from.string : 0 };
}

/**
 * Gives a selection as it lies some quarters later.
 * @param {Selection} selection
 * @param {string} by quarters
 * @returns {Selection}
 */
export function later(selection, by) {
  const moved = (/** @type {string} */ at) => textOf(plus(fraction(at), fraction(by)));
  return { ...selection, start: moved(selection.start), end: moved(selection.end) };
}
