import { compare, fraction, minus, numberOf, plus, textOf } from "../../fraction.js";

/**
 * @typedef {{offset: string, x: number}} Place
 * @typedef {{offset: string, string: number, fret: string, value: string, techniques: string[]}} Note
 * @typedef {{number: number, written: number, start: string, length: string, key: string, width: number,
 *   px_per_quarter: number, left: number, places: Place[], notes: Note[], metre: string, unit: string,
 *   marks: string[], fault: string, mends: {words: string}[]}} Bar
 * @typedef {{gap: number, top: number, height: number, strings: string[]}} Frame what all bars share
 * @typedef {{title: string, strings: string[], open_pitches: number[], gap: number, top: number, height: number,
 *   tempo: number, capo: number, frets: number, scale_mm: number}} Facts of a passage as a whole
 * @typedef {Facts & {number: number, frame: Frame, bars: Bar[], firsts: number[]}} Sheet
 * @typedef {{number: number, since: number, frame: Facts, count: number, bars: Record<number, Bar>, firsts: number[],
 *   pictures: Record<string, string>}} SheetSent
 * @typedef {{what: string, mend: string, place: string, line: number, column: number, severity: string}} Fault
 * @typedef {{bar: number, offset: string, string: number}} Cursor
 * @typedef {{start: string, end: string, strings: number[]}} Selection
 * @typedef {{by: string, strings: number}} Carried quarters later, and strings further down
 */

/** @type {Record<string, string>} */
const LENGTHS = { w: "4", h: "2", q: "1", e: "1/2", s: "1/4", t: "1/8" };

/**
 * Takes the value that is entered apart: its letter, its dots, and how many in the time of how many.
 * @param {string} value as the time row writes it, such as `e.` or `e3:2`
 * @returns {{letter: string, dots: string, ratio: [number, number] | null}}
 */
export function valueParts(value) {
  const [, letter, dots, many, time] = /^([whqest])(\.*)(?:(\d+):(\d+))?/.exec(value) ?? ["", "e", ""];
  return { letter, dots, ratio: many ? [Number(many), Number(time)] : null };
}

/** How long the value is that is entered. @param {string} value */
export function lengthOf(value) {
  const { letter, dots, ratio } = valueParts(value);
  let length = fraction(LENGTHS[letter]);
  let added = length;
  for (let i = 0; i < dots.length; i += 1) {
    added = { top: added.top, bottom: added.bottom * 2 };
    length = plus(length, added);
  }
  const [many, time] = ratio ?? [1, 1];
  return fraction(textOf({ top: length.top * time, bottom: length.bottom * many }));
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
  // At the end of a bar nothing begins that would be selected too.
  const isUpToEnd = compare(fraction(later.offset), fraction(bar.length)) >= 0 && compare(last, first) > 0;
  const end = isUpToEnd ? last : (next ?? plus(last, lengthOf(value)));
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
  const unit = numberOf(fraction(bar.unit));
  // A pick-up counts its beats as the end of a full bar.
  const full = bar.number === 1 ? Number(/^\d+/.exec(bar.metre)?.[0] ?? 0) : 0;
  const missing = Math.max(0, full - numberOf(fraction(bar.length)) / unit);
  const beat = numberOf(fraction(cursor.offset)) / unit + missing + 1;
  const note = bar.notes.find((one) => one.offset === cursor.offset && one.string === cursor.string);
  const what = note ? `fret ${note.fret}, ${[note.value, ...note.techniques.map((t) => t.replaceAll("_", " "))].join(", ")}` : "nothing";
  const isAtEnd = cursor.offset === bar.length && numberOf(fraction(bar.length)) > 0;
  const when = isAtEnd ? `end of bar ${bar.number}` : `bar ${bar.number}, beat ${Math.round(beat * 1000) / 1000}`;
  const place = `${when}, string ${cursor.string}`;
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
 * Lists the notes of a selection, each with its bar.
 * @param {Sheet} sheet
 * @param {Selection} selection
 * @returns {{bar: Bar, note: Note}[]}
 */
export function notesIn(sheet, selection) {
  const touched = sheet.bars.filter((bar) => overlap(bar, selection));
  return touched.flatMap((bar) => bar.notes.filter((note) => holds(sheet, selection, { ...note, bar: bar.number })).map((note) => ({ bar, note })));
}

/**
 * Tells how far what is selected is carried from one place to another, in time and over strings at once; no note
 * leaves the neck or the passage.
 * @param {Sheet} sheet
 * @param {Selection} selection
 * @param {Cursor} from
 * @param {Cursor} to
 * @returns {Carried}
 */
export function carriedBy(sheet, selection, from, to) {
  const notes = notesIn(sheet, selection);
  const strings = notes.map(({ note }) => note.string);
  const [highest, lowest] = [Math.min(...strings, sheet.strings.length), Math.max(...strings, 1)];
  const down = Math.max(1 - highest, Math.min(to.string - from.string, sheet.strings.length - lowest));
  const by = minus(moment(sheet, to), moment(sheet, from));
  const first = notes.length ? plus(fraction(notes[0].bar.start), fraction(notes[0].note.offset)) : fraction(selection.start);
  const isBefore = compare(plus(first, by), fraction("0")) < 0;
  return { by: textOf(isBefore ? minus(fraction("0"), first) : by), strings: down };
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

/**
 * The part of a selection that lies in a bar, in quarters from its start.
 * @param {Bar} bar
 * @param {Selection | null} selection
 * @returns {[number, number] | null}
 */
export function overlap(bar, selection) {
  if (!selection) return null;
  const start = fraction(bar.start);
  const end = plus(start, fraction(bar.length));
  const [from, to] = [fraction(selection.start), fraction(selection.end)];
  if (compare(to, start) <= 0 || compare(from, end) >= 0) return null;
  const left = compare(from, start) > 0 ? minus(from, start) : fraction("0");
  const right = compare(to, end) < 0 ? minus(to, start) : fraction(bar.length);
  return [numberOf(left), numberOf(right)];
}
