import { say } from "../../app.js";
import { fraction, plus, textOf } from "../../fraction.js";
import { isCarrying, letGo } from "./dragging.js";
import { stepped } from "./places.js";
import { edit, moveTo, notation } from "./sheet.js";
import { inTheSheet as here } from "./written.js";

/** @typedef {import("./written.js").Written} Written */

/** Going about. @returns {Written[]} */
export function moving() {
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
    ...far.map(([id, name, key, goal]) =>
      here({ id: `notate.select.${id}`, name: `Select: ${name.toLowerCase()}`, keys: [key.replace("Mod+", "Mod+Shift+")], isQuiet: true, run: go(true, id === "bar.on" ? endOfBar : goal) })),
  ];
}

/**
 * The end of the bar, or of the next one from there: what is selected bar by bar ends with its bars.
 * @param {{sheet: import("./sheet.js").Sheet, cursor: import("./sheet.js").Cursor}} state
 */
function endOfBar({ sheet, cursor }) {
  const here = sheet.bars[cursor.bar - 1];
  const bar = cursor.offset === here.length ? (sheet.bars[cursor.bar] ?? here) : here;
  return { ...cursor, bar: bar.number, offset: bar.length };
}

/** Lets go of what is carried, or else of the selection. */
function leave() {
  if (isCarrying()) {
    letGo();
    return say("left where it was");
  }
  notation.set({ selection: null, anchor: null });
  return say("nothing is selected");
}

/** @param {import("./sheet.js").Selection} selection @param {string} told */
function selectAll(selection, told) {
  notation.set({ selection, anchor: null });
  say(told);
}

/** Selecting, and what is done with it as a whole. @returns {Written[]} */
export function selecting() {
  const all = () => {
    const { sheet } = notation.get();
    const last = sheet?.bars[sheet.bars.length - 1];
    if (last) selectAll({ start: "0", end: textOf(plus(fraction(last.start), fraction(last.length))), strings: [] }, "everything is selected");
  };
  const bar = () => {
    const { sheet, cursor } = notation.get();
    const now = sheet?.bars[cursor.bar - 1];
    if (now) selectAll({ start: now.start, end: textOf(plus(fraction(now.start), fraction(now.length))), strings: [] }, `bar ${now.number} is selected`);
  };
  return [
    here({ id: "notate.all", name: "Select everything", keys: ["Mod+A"], run: all }),
    here({ id: "notate.bar", name: "Select the bar", keys: ["Mod+B"], run: bar }),
    here({ id: "notate.none", name: "Select nothing", keys: ["Escape"], isQuiet: true, run: leave }),
    here({ id: "notate.copy", name: "Copy", keys: ["Mod+C"], run: () => edit("copy") }),
    here({ id: "notate.cut", name: "Cut", keys: ["Mod+X"], run: () => edit("cut") }),
    { id: "notate.paste", name: "Put in what was copied", keys: ["Mod+V"], isOfBrowser: true, run: () => edit("paste") },
    here({ id: "notate.repeat", name: "Write it once more", keys: ["r"], run: () => edit("repeat") }),
  ];
}
