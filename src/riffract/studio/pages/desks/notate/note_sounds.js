import { say } from "../../app.js";
import { clicked, hzOf, plucked } from "../../pluck.js";
import { audio, sound } from "../../sounding.js";
import { createStore } from "../../store.js";
import { notation } from "./sheet.js";

const KEY = "riffract.note-sounds";

export const noteSounds = createStore({ isOn: localStorage.getItem(KEY) !== "no" });

/** @param {boolean} isOn */
export function setNoteSounds(isOn) {
  noteSounds.set({ isOn });
  localStorage.setItem(KEY, isOn ? "yes" : "no");
  say(isOn ? "Notes sound as they are written." : "Notes are written in silence.");
}

/** @type {Map<number, import("../../sounding.js").Sounding>} by string: each sounds one note at a time */
const strings = new Map();
/** @type {Map<number | "dead", AudioBuffer>} by MIDI pitch */
const made = new Map();

/**
 * Lets what is just being written at the cursor be heard.
 * @param {Promise<boolean>} writing whether it could be written
 */
export async function soundWhatIsWritten(writing) {
  const { expected } = notation.get();
  if (!noteSounds.get().isOn) return writing;
  if (expected?.text) pluck(expected.cursor.string, expected.text);
  const isWritten = await writing;
  if (!expected && isWritten) soundHere();
  return isWritten;
}

/** Lets the note at the cursor be heard, if there is one. */
function soundHere() {
  const { sheet, cursor } = notation.get();
  const note = sheet?.bars[cursor.bar - 1]?.notes.find((one) => one.offset === cursor.offset && one.string === cursor.string);
  if (note) pluck(note.string, note.fret);
}

/** @param {number} string @param {string} fret a number, or × for a dead note, which has no pitch */
function pluck(string, fret) {
  const { sheet } = notation.get();
  const open = sheet?.open_pitches[sheet.open_pitches.length - string];
  const isDead = fret === "×";
  if (!sheet || open === undefined || !(isDead || /^\d+$/.test(fret))) return;
  strings.get(string)?.stop();
  const heard = sound(isDead ? bufferOf("dead", clicked) : bufferOf(open + Number(fret), (rate) => plucked(hzOf(open + Number(fret)), rate)), { ended: () => strings.delete(string) });
  strings.set(string, heard);
}

/** @param {number | "dead"} what @param {(rate: number) => Float32Array} make */
function bufferOf(what, make) {
  const known = made.get(what);
  if (known) return known;
  const { sampleRate } = audio();
  const samples = make(sampleRate);
  const buffer = new AudioBuffer({ length: samples.length, sampleRate });
  buffer.getChannelData(0).set(samples);
  made.set(what, buffer);
  return buffer;
}
