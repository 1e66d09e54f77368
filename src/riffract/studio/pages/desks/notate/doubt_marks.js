import { ask, say } from "../../app.js";
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
  return bar.notes.map((note) => {
    const doubt = open.find((one) => one.note === note.index);
    if (!doubt) return null;
    const x = bar.left + numberOf(fraction(note.offset)) * bar.px_per_quarter;
    const y = frame.top + (note.string - 1) * frame.gap;
    return html`<g key=${note.index} class=${`doubt ${doubt.support}`}>
      <rect x=${x + 1} y=${y - 12} width="24" height="24" rx="4" />
      <text x=${x + 24} y=${y - 9}>${rivalText(doubt)}</text>
    </g>`;
  });
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
  const note = sheet?.bars[cursor.bar - 1]?.notes.find((one) => one.offset === cursor.offset && one.string === cursor.string);
  return recording.get().heard?.doubts.find((doubt) => doubt.note === note?.index && !doubt.is_settled);
}

/** Writes what the recording plays instead of the note at the cursor. */
export async function acceptHere() {
  const doubt = doubtHere();
  if (!doubt || doubt.rival_string === null || doubt.rival_fret === null) {
    say("The recording has no better place for the note here.");
    return;
  }
  const wanted = { note: doubt.note, string: doubt.rival_string, fret: doubt.rival_fret };
  if (await ask("recording.accept", wanted)) say(`fret ${doubt.rival_fret} on string ${doubt.rival_string}, as the recording has it`);
}

/** Says that the note at the cursor is heard as it is written. */
export async function hearAsWritten() {
  const doubt = doubtHere();
  if (doubt && (await ask("recording.heard", { note: doubt.note, is_heard: true }))) say("heard as written");
}

/** Goes to the next note that the recording does not bear out. */
export function nextDoubt() {
  const { sheet, cursor } = notation.get();
  const open = (recording.get().heard?.doubts ?? []).filter((doubt) => !doubt.is_settled);
  const places = (sheet?.bars ?? []).flatMap((bar) =>
    bar.notes.filter((note) => open.some((doubt) => doubt.note === note.index)).map((note) => ({ bar: bar.number, offset: note.offset, string: note.string })),
  );
  const later = places.find((one) => one.bar > cursor.bar || (one.bar === cursor.bar && numberOf(fraction(one.offset)) > numberOf(fraction(cursor.offset))));
  const goal = later ?? places[0];
  if (!goal) {
    say("The recording bears every note out.");
    return;
  }
  notation.set({ cursor: goal, selection: null });
  const doubt = doubtHere();
  say(`bar ${goal.bar}, string ${goal.string}: ${doubt?.sentence ?? ""}`);
}
