import { say } from "../../app.js";
import { askFor } from "../../parts/form_dialog.js";
import { soundWhatIsWritten } from "./note_sounds.js";
import { valueParts } from "./places.js";
import { edit, noteHere, notation } from "./sheet.js";
import { inTheSheet as here } from "./written.js";

/** @typedef {import("./written.js").Written} Written */

const VALUE_NAMES = /** @type {Record<string, string>} */ ({
  w: "whole note", h: "half note", q: "quarter note", e: "eighth note", s: "sixteenth note", t: "thirty-second note",
});
const QUICK_MS = 900;

let lastDigit = { at: 0, place: "" };

/** Notes at the cursor. @returns {Written[]} */
export function frets() {
  const digit = (/** @type {number} */ number) => (/** @type {number} */ pressedMs) => {
    const { cursor, selection } = notation.get();
    const place = `${cursor.bar} ${cursor.offset} ${cursor.string}`;
    const is_quick = place === lastDigit.place && pressedMs - lastDigit.at < QUICK_MS;
    lastDigit = { at: pressedMs, place };
    return soundWhatIsWritten(edit("fret", { number, is_quick, chosen: selection && null }));
  };
  return [
    ...Array.from({ length: 10 }, (_, number) => here({ id: `notate.fret.${number}`, name: `Fret ${number}`, keys: [String(number)], isQuiet: true, run: digit(number) })),
    here({ id: "notate.dead", name: "Dead note", keys: ["x"], run: () => soundWhatIsWritten(edit("dead", { chosen: null })) }),
    here({ id: "notate.harmonic", name: "Natural harmonic over the fret", keys: ["n"], run: () => edit("harmonic", { chosen: null, number: 12 }) }),
    here({ id: "notate.erase", name: "Take notes away; their time stays", keys: ["Delete", "Backspace"], run: () => edit("erase") }),
  ];
}

/** Makes a tuplet of what is there, or of what is entered next; there it is left in the same way. */
async function tuplet() {
  const { value, selection } = notation.get();
  const { letter, ratio } = valueParts(value);
  const isThere = selection !== null || noteHere() !== undefined;
  if (!isThere && ratio) {
    notation.set({ value: letter });
    return say(`${VALUE_NAMES[letter]}, no tuplet`);
  }
  const title = isThere ? "A tuplet of what is here" : "A tuplet is entered from here on";
  const asked = await askFor(title, [{ name: "text", label: "How many in the time of how many", value: "3:2", hint: "3:2 is a triplet, 5:4 a quintuplet" }]);
  const [, many, time = "2"] = /^\s*(\d{1,2})\s*(?:[:/]\s*(\d{1,2})\s*)?$/.exec(asked?.text ?? "") ?? [];
  if (!asked) return undefined;
  if (!Number(many) || !Number(time)) return say(`${asked.text || "nothing"} is no tuplet: write how many in the time of how many, as 3:2.`);
  if (!selection) notation.set({ value: `${letter}${many}:${time}` });
  return isThere ? edit("tuplet", { text: `${many}:${time}` }) : say(`${VALUE_NAMES[letter]}, ${many} in the time of ${time}`);
}

/** How long they last. @returns {Written[]} */
export function values() {
  const choose = (/** @type {string} */ letter) => async () => {
    notation.set({ value: letter });
    const { selection } = notation.get();
    if (selection || noteHere()) await edit("value", { value: letter });
    else say(VALUE_NAMES[letter]);
  };
  const dot = async () => {
    const { value, selection } = notation.get();
    const { letter, dots } = valueParts(value);
    const dotted = dots ? letter : `${letter}.`;
    notation.set({ value: dotted });
    if (selection || noteHere()) await edit("value", { value: dotted });
    else say(dots ? "no dot" : "dotted");
  };
  return [
    ...Object.entries(VALUE_NAMES).map(([letter, name]) => here({ id: `notate.value.${letter}`, name: `Value: ${name}`, keys: [letter], run: choose(letter) })),
    here({ id: "notate.dot", name: "Dot, or none", keys: ["."], run: dot }),
    here({ id: "notate.tuplet", name: "Tuplet …", keys: ["/"], run: tuplet }),
    here({ id: "notate.tie", name: "Let it sound on: tie", keys: ["-"], run: () => edit("tie") }),
    here({ id: "notate.split", name: "Strike it twice in its time", keys: ["|"], run: () => edit("split", { number: 2 }) }),
    here({ id: "notate.insert", name: "Put time in", keys: ["Insert", "Alt+I"], run: () => edit("insert time") }),
    here({ id: "notate.delete", name: "Take time out", keys: ["Shift+Delete", "Shift+Backspace"], run: () => edit("delete time") }),
  ];
}
