import { html } from "../../html.js";
import { compare, fraction, minus, numberOf, plus } from "../../fraction.js";
import { later, notesIn, overlap } from "./places.js";
import { notation } from "./sheet.js";

/**
 * What is being carried, as it would stand in a bar: a frame, and the numbers of its notes.
 * @param {{bar: import("./sheet.js").Bar, frame: import("./sheet.js").Frame, selection: import("./sheet.js").Selection,
 *   carry: import("./places.js").Carried}} props
 */
export function Ghost({ bar, frame, selection, carry }) {
  const { sheet } = notation.get();
  const there = overlap(bar, later(selection, carry.by));
  if (!sheet || !there) return null;
  const x = (/** @type {number} */ offset) => bar.left + offset * bar.px_per_quarter;
  const y = (/** @type {number} */ string) => frame.top + (string + carry.strings - 1) * frame.gap;
  const strings = selection.strings.length ? selection.strings : frame.strings.map((_, i) => i + 1 - carry.strings);
  const [top, bottom] = [y(Math.min(...strings)), y(Math.max(...strings))];
  return html`<g class="ghost">
    <rect class="carried" x=${x(there[0]) - 2} y=${top - 11} width=${Math.max(6, (there[1] - there[0]) * bar.px_per_quarter)} height=${bottom - top + 22} />
    ${landing(sheet, selection, carry.by, bar).map(
      ({ note, offset }) => html`<g key=${`${note.string} ${offset}`}>
        <rect x=${x(offset) - 1} y=${y(note.string) - 10} width="22" height="20" rx="3" />
        <text x=${x(offset) + 10} y=${y(note.string) + 5}>${note.fret}</text>
      </g>`,
    )}
  </g>`;
}

/**
 * The notes that would land in a bar, with their offsets there.
 * @param {import("./places.js").Sheet} sheet
 * @param {import("./sheet.js").Selection} selection
 * @param {string} by quarters
 * @param {import("./sheet.js").Bar} bar
 */
function landing(sheet, selection, by, bar) {
  const [start, length] = [fraction(bar.start), fraction(bar.length)];
  return notesIn(sheet, selection)
    .map(({ bar: home, note }) => ({ note, at: minus(plus(plus(fraction(home.start), fraction(note.offset)), fraction(by)), start) }))
    .filter(({ at }) => compare(at, fraction("0")) >= 0 && compare(at, length) < 0)
    .map(({ note, at }) => ({ note, offset: numberOf(at) }));
}
