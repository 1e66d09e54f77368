import { compare, fraction, numberOf, plus, textOf } from "../../fraction.js";
import { between, carriedBy, holds, lengthOf } from "./places.js";
import { edit, moveTo, notation } from "./sheet.js";

/** @typedef {import("./sheet.js").Cursor} Cursor */
/** @typedef {import("./sheet.js").Selection} Selection */

/** A hand that clicks moves a little; what moves further is a drag. */
const STILL_PX = 6;
/** How far beside a note's number the pointer still takes hold of it. */
const REACH_PX = 14;

/** @type {{cursor: Cursor, x: number, y: number, carries: Selection | null} | null} */
let held = null;

/**
 * A click places the cursor; with Shift the selection reaches to it. A note, or what is selected, is taken hold of.
 * @param {PointerEvent} event
 */
export function pick(event) {
  const { sheet, selection } = notation.get();
  const cursor = cursorUnder(event);
  if (event.button !== 0 || !sheet || !cursor) return;
  const isHeld = selection !== null && holds(sheet, selection, cursor);
  const carries = event.shiftKey ? null : isHeld ? selection : noteUnder(event, cursor);
  held = { cursor, x: event.clientX, y: event.clientY, carries };
  if (!carries || !isHeld) moveTo(cursor, event.shiftKey);
}

/** A drag selects from where it began to where it is, or carries what is held. @param {PointerEvent} event */
export function drag(event) {
  const { sheet, selection } = notation.get();
  if (!held || !sheet || Math.hypot(event.clientX - held.x, event.clientY - held.y) < STILL_PX) return;
  const cursor = cursorUnder(event);
  if (!cursor) return;
  if (held.carries) {
    if (selection !== held.carries) notation.set({ selection: held.carries });
    notation.set({ carried: carriedBy(sheet, held.carries, held.cursor, cursor) });
    return;
  }
  notation.set({ anchor: held.cursor });
  moveTo(cursor, true);
}

/** What was carried stays where it is let go, as one step; a click that carried nothing places the cursor. */
export function drop() {
  const { carried } = notation.get();
  if (held?.carries && !carried) moveTo(held.cursor);
  letGo();
  if (carried && (carried.by !== "0" || carried.strings)) edit("carry", { text: carried.by, number: carried.strings });
}

/** Whether something is being carried now. */
export const isCarrying = () => notation.get().carried !== null;

/** Ends a drag; what was carried stays where it was. */
export function letGo() {
  held = null;
  if (notation.get().carried) notation.set({ carried: null });
}

/**
 * Finds the place that the pointer means: the nearest place or step of the grid, and the nearest string.
 * @param {MouseEvent} event
 * @returns {Cursor | null} `null` beside the bars
 */
export function cursorUnder(event) {
  const { sheet } = notation.get();
  const place = barUnder(event);
  const bar = sheet?.bars[Number(place?.getAttribute("data-bar")) - 1];
  if (!sheet || !bar || !place) return null;
  const box = place.getBoundingClientRect();
  const x = event.clientX - box.left - 8;
  const nearest = grid(bar, notation.get().value).reduce((best, one) => (Math.abs(one.x - x) < Math.abs(best.x - x) ? one : best));
  const string = Math.round((event.clientY - box.top - sheet.top) / sheet.gap) + 1;
  return { bar: bar.number, offset: nearest.offset, string: Math.max(1, Math.min(string, sheet.strings.length)) };
}

/** @param {MouseEvent} event */
function barUnder(event) {
  return document.elementFromPoint(event.clientX, event.clientY)?.closest("[data-bar]") ?? null;
}

/**
 * Selects the note whose number the pointer is on, if it is on one.
 * @param {MouseEvent} event
 * @param {Cursor} cursor the place that it means
 * @returns {Selection | null}
 */
function noteUnder(event, cursor) {
  const { sheet, value } = notation.get();
  const bar = sheet?.bars[cursor.bar - 1];
  const note = bar?.notes.find((one) => one.offset === cursor.offset && one.string === cursor.string);
  const left = barUnder(event)?.getBoundingClientRect().left ?? 0;
  if (!sheet || !bar || !note) return null;
  const middle = left + bar.left + numberOf(fraction(note.offset)) * bar.px_per_quarter + 10;
  if (Math.abs(event.clientX - middle) > REACH_PX) return null;
  return { ...between(sheet, cursor, cursor, value), strings: [note.string] };
}

/**
 * Places of a bar that can be clicked: where something starts or stops, and every unit of its metre, or every value
 * of those that are entered if that is shorter.
 * @param {import("./sheet.js").Bar} bar
 * @param {string} value
 */
function grid(bar, value) {
  const unit = [fraction(bar.unit), lengthOf(value)].sort(compare)[0];
  const end = fraction(bar.length);
  const steps = [...bar.places];
  for (let at = fraction("0"); compare(at, end) < 0; at = plus(at, unit)) {
    steps.push({ offset: textOf(at), x: bar.left + numberOf(at) * bar.px_per_quarter });
  }
  const inner = steps.filter((step) => compare(fraction(step.offset), end) < 0);
  return inner.length ? inner : steps;
}
