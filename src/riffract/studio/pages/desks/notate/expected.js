import { html } from "../../html.js";
import { compare, fraction, numberOf } from "../../fraction.js";

/**
 * @typedef {import("./places.js").Cursor} Cursor
 * @typedef {{cursor: Cursor, text: string}} Expected what will stand on a string; nothing if `text` is empty
 */

/** As the app writes numbers: from the onset to the number, and from the string's middle to its foot. */
const NUMBER_PX = 5;
const FOOT_PX = 6.7;

/**
 * Tells what a key will write, so that it is seen while the app still works on its answer.
 * @param {string} verb
 * @param {{number?: number, is_quick?: boolean, chosen?: object | null}} wanted
 * @param {import("./places.js").Sheet | null} sheet
 * @param {Cursor} cursor
 * @returns {Expected | null} `null` if that cannot be told here
 */
export function expectedOf(verb, { number = 0, is_quick = false, chosen = null }, sheet, cursor) {
  const bar = sheet?.bars[cursor.bar - 1];
  // Behind the end of a full bar it goes to the next one, which may not be there yet.
  if (!sheet || !bar || chosen || compare(fraction(cursor.offset), fraction(bar.length)) >= 0) return null;
  const note = bar.notes.find((one) => one.offset === cursor.offset && one.string === cursor.string);
  if (verb === "dead") return { cursor, text: "×" };
  if (verb === "erase") return note ? { cursor, text: "" } : null;
  if (verb !== "fret") return null;
  const both = is_quick && note && /^[1-9]$/.test(note.fret) ? 10 * Number(note.fret) + number : number;
  const last = sheet.frets - sheet.capo;
  const fret = both <= last ? both : number;
  return fret <= last ? { cursor, text: String(fret) } : null;
}

/** @param {{expected: Expected, bar: import("./places.js").Bar, frame: import("./places.js").Frame}} props */
export function ExpectedNumber({ expected, bar, frame }) {
  const x = bar.left + numberOf(fraction(expected.cursor.offset)) * bar.px_per_quarter;
  const y = frame.top + (expected.cursor.string - 1) * frame.gap;
  return html`<g class="expected">
    <rect x=${x + 1} y=${y - 11} width="23" height="22" />
    <text x=${x + NUMBER_PX} y=${y + FOOT_PX}>${expected.text}</text>
  </g>`;
}
