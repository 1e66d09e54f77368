import { say } from "../../app.js";
import { askFor } from "../../parts/form_dialog.js";
import { compare, fraction, plus, textOf } from "../../fraction.js";
import { createOrder } from "../../in_order.js";
import { acceptHere, hearAsWritten, nextDoubt } from "./doubt_marks.js";
import { lengthOf, stepped } from "./places.js";
import { edit, moveTo, notation } from "./sheet.js";

/** @typedef {import("../../commands.js").Command} Command */

const WITHIN = ".sheet";
const VALUE_NAMES = /** @type {Record<string, string>} */ ({
  w: "whole note", h: "half note", q: "quarter note", e: "eighth note", s: "sixteenth note", t: "thirty-second note",
});
const QUICK_MS = 900;

let lastDigit = { at: 0, place: "" };
const inOrder = createOrder();

/** @typedef {Omit<Command, "run"> & {run: (pressedMs: number) => unknown}} Written a command that may want to know when */

/** All that can be done to the passage, with its keys. @returns {Command[]} */
export function commandsOfWriting() {
  return [...moving(), ...selecting(), ...frets(), ...values(), ...playing(), ...shaping(), ...bars(), ...instrument(), ...doubting()].map((command) => ({
    desk: "notate",
    isOn: () => notation.get().sheet !== null,
    ...command,
    // Where a key leads depends on what the one before it has written.
    run: () => inOrder(command.run),
  }));
}

/** @param {Written} command @returns {Written} */
const here = (command) => ({ within: WITHIN, ...command });

/** @returns {Written[]} */
function moving() {
  /** @param {boolean} selects @param {(state: import("./sheet.js").State & {sheet: import("./sheet.js").Sheet}) => import("./sheet.js").Cursor} goal */
  const go = (selects, goal) => () => {
    const state = notation.get();
    if (state.sheet) moveTo(goal(/** @type {any} */ (state)), selects);
  };
  /** @type {[string, string, string, (s: any) => import("./sheet.js").Cursor][]} */
  const ways = [
    ["right", "Go on by the value", "ArrowRight", (s) => stepped(s.sheet, s.cursor, s.value, 1)],
    ["left", "Go back by the value", "ArrowLeft", (s) => stepped(s.sheet, s.cursor, s.value, -1)],
    ["up", "Go to the string above", "ArrowUp", (s) => ({ ...s.cursor, string: s.cursor.string - 1 })],
    ["down", "Go to the string below", "ArrowDown", (s) => ({ ...s.cursor, string: s.cursor.string + 1 })],
    ["home", "Go to the start of the bar", "Home", (s) => ({ ...s.cursor, offset: "0" })],
    ["end", "Go to the end of the bar", "End", (s) => ({ ...s.cursor, offset: s.sheet.bars[s.cursor.bar - 1].length })],
  ];
  /** @type {[string, string, string, (s: any) => import("./sheet.js").Cursor][]} */
  const far = [
    ["bar.on", "Go to the next bar", "Mod+ArrowRight", (s) => ({ ...s.cursor, bar: s.cursor.bar + 1, offset: "0" })],
    ["bar.back", "Go to the bar before", "Mod+ArrowLeft", (s) => ({ ...s.cursor, bar: s.cursor.offset === "0" ? s.cursor.bar - 1 : s.cursor.bar, offset: "0" })],
    ["first", "Go to the start of the passage", "Mod+Home", (s) => ({ ...s.cursor, bar: 1, offset: "0" })],
    ["last", "Go to the end of the passage", "Mod+End", (s) => ({ ...s.cursor, bar: s.sheet.bars.length, offset: s.sheet.bars[s.sheet.bars.length - 1].length })],
  ];
  return [
    ...ways.map(([id, name, key, goal]) => here({ id: `notate.${id}`, name, keys: [key], isQuiet: true, run: go(false, goal) })),
    ...ways.map(([id, name, key, goal]) => here({ id: `notate.select.${id}`, name: `Select: ${name.toLowerCase()}`, keys: [`Shift+${key}`], isQuiet: true, run: go(true, goal) })),
    ...far.map(([id, name, key, goal]) => here({ id: `notate.${id}`, name, keys: [key], run: go(false, goal) })),
  ];
}

/** @returns {Written[]} */
function selecting() {
  const all = () => {
    const { sheet } = notation.get();
    const last = sheet?.bars[sheet.bars.length - 1];
    if (last) notation.set({ selection: { start: "0", end: textOf(plus(fraction(last.start), fraction(last.length))), strings: [] } });
  };
  const bar = () => {
    const { sheet, cursor } = notation.get();
    const now = sheet?.bars[cursor.bar - 1];
    if (now) notation.set({ selection: { start: now.start, end: textOf(plus(fraction(now.start), fraction(now.length))), strings: [] } });
  };
  return [
    here({ id: "notate.all", name: "Select everything", keys: ["Mod+A"], run: all }),
    here({ id: "notate.bar", name: "Select the bar", keys: ["Mod+B"], run: bar }),
    here({ id: "notate.none", name: "Select nothing", keys: ["Escape"], isQuiet: true, run: () => notation.set({ selection: null, anchor: null, carried: null }) }),
    here({ id: "notate.copy", name: "Copy", keys: ["Mod+C"], run: () => edit("copy") }),
    here({ id: "notate.cut", name: "Cut", keys: ["Mod+X"], run: () => edit("cut") }),
    { id: "notate.paste", name: "Put in what was copied", keys: [], run: () => edit("paste") },
    here({ id: "notate.repeat", name: "Write it once more", keys: ["r"], run: () => edit("repeat") }),
  ];
}

/** @returns {Written[]} */
function frets() {
  const digit = (/** @type {number} */ number) => (/** @type {number} */ pressedMs) => {
    const { cursor, selection } = notation.get();
    const place = `${cursor.bar} ${cursor.offset} ${cursor.string}`;
    const is_quick = place === lastDigit.place && pressedMs - lastDigit.at < QUICK_MS;
    lastDigit = { at: pressedMs, place };
    return edit("fret", { number, is_quick, chosen: selection && null });
  };
  return [
    ...Array.from({ length: 10 }, (_, number) => here({ id: `notate.fret.${number}`, name: `Fret ${number}`, keys: [String(number)], isQuiet: true, run: digit(number) })),
    here({ id: "notate.dead", name: "Dead note", keys: ["x"], run: () => edit("dead", { chosen: null }) }),
    here({ id: "notate.harmonic", name: "Natural harmonic over the fret", keys: ["n"], run: () => edit("harmonic", { chosen: null, number: 12 }) }),
    here({ id: "notate.erase", name: "Take notes away; their time stays", keys: ["Delete", "Backspace"], run: () => edit("erase") }),
  ];
}

/** @returns {Written[]} */
function values() {
  const choose = (/** @type {string} */ letter) => async () => {
    notation.set({ value: letter });
    const { selection } = notation.get();
    if (selection || noteHere()) await edit("value", { value: letter });
    else say(VALUE_NAMES[letter]);
  };
  const dot = async () => {
    const { value, selection } = notation.get();
    const dotted = value.endsWith(".") ? value.replace(/\.+$/, "") : `${value}.`;
    notation.set({ value: dotted });
    if (selection || noteHere()) await edit("value", { value: dotted });
    else say(value.endsWith(".") ? "no dot" : "dotted");
  };
  const tuplet = async () => {
    const asked = await askFor("A tuplet of what is selected", [{ name: "text", label: "How many in the time of how many", value: "3:2", hint: "3:2 is a triplet, 5:4 a quintuplet" }]);
    if (asked) await edit("tuplet", { text: asked.text });
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

/** @returns {Written[]} */
function playing() {
  /** @type {[string, string, string][]} */
  const techniques = [
    ["palm_mute", "Palm mute", "m"],
    ["hammer_on", "Hammer-on from the note before", "a"],
    ["pull_off", "Pull-off from the note before", "p"],
    ["slide", "Slide from the note before", "l"],
    ["vibrato", "Vibrato", "v"],
    ["accent", "Accent", ">"],
    ["staccato", "Staccato", ","],
    ["tap", "Tap", "o"],
    ["down_stroke", "Down-stroke", "d"],
    ["up_stroke", "Up-stroke", "u"],
    ["scoop", "Slide in from below", ""],
    ["plop", "Slide in from above", ""],
    ["doit", "Slide off upwards", ""],
    ["falloff", "Slide off downwards", ""],
    ["pinch_harmonic", "Pinch harmonic", ""],
  ];
  const bend = async () => {
    const asked = await askFor("Bend", [{ name: "text", label: "Through which cents, one after the other", value: "0 200", hint: "0 200 bends a whole step, 0 200 0 releases it, nothing takes it away" }]);
    if (asked) await edit("bend", { text: asked.text });
  };
  const trill = async () => {
    const asked = await askFor("Trill", [{ name: "number", label: "With which fret", type: "number", value: 2, min: 0, max: 36 }]);
    if (asked) await edit("trill", { number: Number(asked.number) });
  };
  const tremolo = async () => {
    const asked = await askFor("Tremolo picking", [{ name: "number", label: "How fast", type: "select", value: "2", options: [["1", "in eighths"], ["2", "in sixteenths"], ["3", "in thirty-seconds"], ["0", "none"]] }]);
    if (asked) await edit("tremolo", { number: Number(asked.number) });
  };
  const grace = async () => {
    const asked = await askFor("Grace note before it", [
      { name: "number", label: "On which fret", type: "number", value: 2, min: 0, max: 36 },
      { name: "text", label: "How it is played", type: "select", value: "short", options: [["short", "as short as can be"], ["long", "leaning on the beat"], ["none", "take the graces away"]] },
    ]);
    if (asked) await edit("grace", { number: Number(asked.number), text: asked.text, chosen: null });
  };
  return [
    ...techniques.map(([text, name, key]) => here({ id: `notate.${text}`, name, keys: key ? [key] : [], ...(key ? {} : { within: undefined }), run: () => edit("toggle", { text }) })),
    here({ id: "notate.ring", name: "Let ring to the end of the bar, or not", keys: ["i"], run: () => edit("ring") }),
    here({ id: "notate.bend", name: "Bend …", keys: ["b"], run: bend }),
    here({ id: "notate.trill", name: "Trill …", keys: ["k"], run: trill }),
    here({ id: "notate.tremolo", name: "Tremolo picking …", keys: ["y"], run: tremolo }),
    here({ id: "notate.grace", name: "Grace note …", keys: ["g"], run: grace }),
  ];
}

/** @returns {Written[]} */
function shaping() {
  /** @param {1 | -1} direction */
  const shift = (direction) => () => {
    const { value } = notation.get();
    const length = lengthOf(value);
    return edit("shift", { text: textOf({ top: direction * length.top, bottom: length.bottom }) });
  };
  return [
    here({ id: "notate.fret.up", name: "A fret higher", keys: ["Alt+ArrowUp"], run: () => edit("transpose", { number: 1 }) }),
    here({ id: "notate.fret.down", name: "A fret lower", keys: ["Alt+ArrowDown"], run: () => edit("transpose", { number: -1 }) }),
    here({ id: "notate.octave.up", name: "An octave higher", keys: ["Alt+Shift+ArrowUp"], run: () => edit("transpose", { number: 12 }) }),
    here({ id: "notate.octave.down", name: "An octave lower", keys: ["Alt+Shift+ArrowDown"], run: () => edit("transpose", { number: -12 }) }),
    here({ id: "notate.refinger.up", name: "The same pitch on the string above", keys: ["Mod+ArrowUp"], run: () => edit("refinger", { number: -1 }) }),
    here({ id: "notate.refinger.down", name: "The same pitch on the string below", keys: ["Mod+ArrowDown"], run: () => edit("refinger", { number: 1 }) }),
    here({ id: "notate.strings.up", name: "The same fret on the string above", keys: ["Mod+Shift+ArrowUp"], run: () => edit("strings", { number: -1 }) }),
    here({ id: "notate.strings.down", name: "The same fret on the string below", keys: ["Mod+Shift+ArrowDown"], run: () => edit("strings", { number: 1 }) }),
    here({ id: "notate.later", name: "Later by the value", keys: ["Alt+ArrowRight"], run: shift(1) }),
    here({ id: "notate.earlier", name: "Earlier by the value", keys: ["Alt+ArrowLeft"], run: shift(-1) }),
  ];
}

/** @returns {Written[]} */
function bars() {
  const metre = async () => {
    const asked = await askFor("Metre from this bar on", [
      { name: "text", label: "Metre, with its grouping if it has one", value: barHere()?.metre || "4/4", hint: "7/8 = 2+2+3" },
      { name: "only", label: "Only in this bar", type: "checkbox" },
    ]);
    if (asked) await edit("metre", { text: asked.text, is_quick: asked.only === "yes" });
  };
  const tempo = async () => {
    const asked = await askFor("Tempo from here on", [
      { name: "number", label: "Quarters a minute; nothing takes the mark away", type: "number", value: notation.get().sheet?.tempo ?? 120, min: 5, max: 1000, step: "any" },
      { name: "text", label: "It then changes", type: "select", value: "", options: [["", "not"], ["ramp", "steadily to the next mark"]] },
    ]);
    if (asked) await edit("tempo", { number: Number(asked.number), text: asked.text });
  };
  const section = async () => {
    const asked = await askFor("Section from this bar on", [{ name: "text", label: "Its name; nothing for none" }]);
    if (asked) await edit("section", { text: asked.text });
  };
  const repeats = async () => {
    const asked = await askFor("Play these bars several times", [{ name: "number", label: "How often", type: "number", value: 2, min: 1, max: 99 }]);
    if (asked) await edit("repeats", { number: Number(asked.number) });
  };
  return [
    { id: "notate.bar.insert", name: "Put a bar in before this one", keys: ["Alt+B"], run: () => edit("insert bar", { number: 0 }) },
    { id: "notate.bar.append", name: "Put a bar in behind this one", keys: ["Alt+Shift+B"], run: () => edit("insert bar", { number: 1 }) },
    { id: "notate.bar.delete", name: "Take the bars out", keys: ["Alt+Shift+Delete"], run: () => edit("delete bars") },
    { id: "notate.metre", name: "Metre …", keys: ["Alt+T"], run: metre },
    { id: "notate.tempo", name: "Tempo …", keys: ["Alt+Q"], run: tempo },
    { id: "notate.section", name: "Section …", keys: ["Alt+S"], run: section },
    { id: "notate.repeats", name: "Repeat the bars …", keys: ["Alt+R"], run: repeats },
    { id: "notate.fermata", name: "Fermata, or none", keys: [], run: () => edit("fermata") },
    { id: "notate.free", name: "The bar is played freely, or counted", keys: [], run: () => edit("free") },
    { id: "notate.length", name: "The bar is as long as it is", keys: [], run: () => edit("declare length") },
  ];
}

/** @returns {Written[]} */
function instrument() {
  const tuning = async () => {
    const { sheet } = notation.get();
    const asked = await askFor("Tuning", [
      { name: "text", label: "Open strings from the lowest", value: [...(sheet?.strings ?? [])].reverse().join(" "), hint: "E2 A2 D3 G3 B3 E4" },
      { name: "keeps", label: "The pitches stay, and the frets change", type: "checkbox" },
    ]);
    if (asked) await edit("tuning", { text: asked.text, is_quick: asked.keeps === "yes" });
  };
  /** @param {string} verb @param {string} title @param {number} value @param {number} max */
  const number = (verb, title, value, max) => async () => {
    const asked = await askFor(title, [{ name: "number", label: title, type: "number", value, min: 0, max }]);
    if (asked) await edit(verb, { number: Number(asked.number) });
  };
  const title = async () => {
    const asked = await askFor("Title of the passage", [{ name: "text", label: "Title", value: notation.get().sheet?.title ?? "" }]);
    if (asked) await edit("title", { text: asked.text });
  };
  return [
    { id: "notate.tuning", name: "Tuning …", keys: ["Alt+U"], run: tuning },
    { id: "notate.capo", name: "Capo …", keys: [], run: () => number("capo", "Capo on fret", notation.get().sheet?.capo ?? 0, 12)() },
    { id: "notate.frets", name: "Frets of the neck …", keys: [], run: () => number("frets", "Frets", notation.get().sheet?.frets ?? 24, 36)() },
    { id: "notate.scale", name: "Length of the strings …", keys: [], run: () => number("scale", "Nut to bridge, mm", notation.get().sheet?.scale_mm ?? 648, 1200)() },
    { id: "notate.title", name: "Title of the passage …", keys: [], run: title },
  ];
}

/** @returns {Written[]} */
function doubting() {
  return [
    here({ id: "notate.doubt.next", name: "Go to the next note that the recording does not bear out", keys: ["Alt+D"], run: nextDoubt }),
    here({ id: "notate.doubt.accept", name: "Write what the recording plays here", keys: ["Alt+Enter"], run: acceptHere }),
    here({ id: "notate.doubt.heard", name: "I hear it as it is written", keys: ["Alt+H"], run: hearAsWritten }),
  ];
}

function barHere() {
  const { sheet, cursor } = notation.get();
  return sheet?.bars[cursor.bar - 1];
}

/** The note that starts at the cursor on its string, or on any if none is there. */
function noteHere() {
  const { cursor } = notation.get();
  return barHere()?.notes.find((note) => compare(fraction(note.offset), fraction(cursor.offset)) === 0);
}
