import { ask, say } from "../../app.js";
import { keysText } from "../../commands.js";
import { html } from "../../html.js";
import { fraction, numberOf } from "../../fraction.js";
import { useStore } from "../../store.js";
import { recording } from "./recording/recording.js";
import { notation } from "./sheet.js";

/** @typedef {import("./recording/recording.js").Doubt} Doubt */

/**
 * Marks the notes of a bar that the recording does not bear out, each with what fits better.
 * @param {{bar: import("./sheet.js").Bar, frame: import("./sheet.js").Frame}} props
 */
export function DoubtMarks({ bar, frame }) {
  const doubts = useStore(recording, (state) => state.heard?.doubts);
  const open = (doubts ?? []).filter((doubt) => !doubt.is_settled);
  return bar.notes.map((note, i) => {
    const doubt = open.find((one) => one.note === rowOf(bar, i));
    if (!doubt) return null;
    const x = bar.left + numberOf(fraction(note.offset)) * bar.px_per_quarter;
    const y = frame.top + (note.string - 1) * frame.gap;
    return html`<g key=${i} class=${`doubt ${doubt.support}`}>
      <rect x=${x + 1} y=${y - 12} width="24" height="24" rx="4" />
      <text x=${x + 24} y=${y - 9}>${rivalText(doubt)}</text>
    </g>`;
  });
}

/**
 * Tells which row of the passage's notes a bar's note is.
 * @param {import("./sheet.js").Bar} bar
 * @param {number} i its place among the bar's notes, from 0
 */
function rowOf(bar, i) {
  return (notation.get().sheet?.firsts[bar.number - 1] ?? 0) + i;
}

/**
 * Says in a sign what fits better: the fret, with its string if that is another one.
 * @param {Doubt} doubt
 */
export function rivalText(doubt) {
  if (doubt.rival_fret === null || doubt.rival_string === null) return doubt.support === "contradicted" ? "✗" : "?";
  const place = doubt.rival_string === doubt.string ? "" : ` on ${doubt.rival_string}`;
  return `${doubt.rival_fret}${place}?`;
}

/** The doubt about the note at the cursor, if there is one. */
export function doubtHere() {
  const { sheet, cursor } = notation.get();
  const bar = sheet?.bars[cursor.bar - 1];
  const place = bar?.notes.findIndex((one) => one.offset === cursor.offset && one.string === cursor.string) ?? -1;
  if (!bar || place < 0) return undefined;
  return recording.get().heard?.doubts.find((doubt) => doubt.note === rowOf(bar, place) && !doubt.is_settled);
}

/** Says what follows from there being no doubt about the note here. @param {string} text */
function sayNoDoubt(text) {
  const { heard } = recording.get();
  say(heard && !heard.stale ? text : "The passage is not looked for in a recording yet.");
}

/** Writes what the recording plays instead of the note at the cursor. */
export async function acceptHere() {
  const doubt = doubtHere();
  if (!doubt || doubt.rival_string === null || doubt.rival_fret === null) {
    return sayNoDoubt("The recording has no better place for the note here.");
  }
  const wanted = { note: doubt.note, string: doubt.rival_string, fret: doubt.rival_fret };
  if (await ask("recording.accept", wanted)) say(`fret ${doubt.rival_fret} on string ${doubt.rival_string}, as the recording has it`);
  return undefined;
}

/** Says that the note at the cursor is heard as it is written. */
export async function hearAsWritten() {
  const doubt = doubtHere();
  if (!doubt) return sayNoDoubt("The recording does not speak against the note here.");
  if (await ask("recording.heard", { note: doubt.note, is_heard: true })) say("heard as written");
  return undefined;
}

/** Goes to the next note that the recording does not bear out. */
export function nextDoubt() {
  const { sheet, cursor } = notation.get();
  const open = (recording.get().heard?.doubts ?? []).filter((doubt) => !doubt.is_settled);
  const places = (sheet?.bars ?? []).flatMap((bar) =>
    bar.notes.filter((_, i) => open.some((doubt) => doubt.note === rowOf(bar, i))).map((note) => ({ bar: bar.number, offset: note.offset, string: note.string })),
  );
  // Of a chord one string comes after the other.
  const here = places.findIndex((one) => one.bar === cursor.bar && one.offset === cursor.offset && one.string === cursor.string);
  const later = here >= 0 ? places[here + 1] : places.find((one) => one.bar > cursor.bar || (one.bar === cursor.bar && numberOf(fraction(one.offset)) > numberOf(fraction(cursor.offset))));
  const goal = later ?? places[0];
  if (!goal) {
    sayNoDoubt(recording.get().heard?.doubts.length ? "No note is left to look at." : "The recording bears every note out.");
    return;
  }
  notation.set({ cursor: goal, selection: null });
  /** @type {HTMLElement | null} */ (document.querySelector(".sheet"))?.focus();
  const doubt = doubtHere();
  const canWrite = doubt && doubt.rival_fret !== null && doubt.rival_string !== null;
  say([doubt?.sentence, canWrite && `${keysText("Alt+Enter")} writes that.`, `${keysText("Alt+H")}: I hear it as written.`].filter(Boolean).join(" "));
}
