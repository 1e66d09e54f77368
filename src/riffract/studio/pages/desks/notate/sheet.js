import { ask, channel, say, store } from "../../app.js";
import { compare, fraction } from "../../fraction.js";
import { createStore } from "../../store.js";
import { between, inside, told } from "./places.js";

/**
 * @typedef {import("./places.js").Bar} Bar
 * @typedef {import("./places.js").Frame} Frame
 * @typedef {import("./places.js").Sheet} Sheet
 * @typedef {import("./places.js").Fault} Fault
 * @typedef {import("./places.js").Cursor} Cursor
 * @typedef {import("./places.js").Selection} Selection
 * @typedef {object} State
 * @property {Sheet | null} sheet the passage as it is written
 * @property {Record<string, string>} pictures of bars by key
 * @property {Fault[]} problems of its text
 * @property {boolean} isBroken whether the text cannot be read, so that the picture is an older one
 * @property {Cursor} cursor
 * @property {Selection | null} selection
 * @property {Cursor | null} anchor where the selection was begun
 * @property {import("./places.js").Carried | null} carried how far the selection is being dragged
 * @property {string} value that is entered, as the time row writes it
 */

/** What is written, and where one writes. */
export const notation = createStore(
  /** @type {State} */ ({
    sheet: null,
    pictures: {},
    problems: [],
    isBroken: false,
    cursor: { bar: 1, offset: "0", string: 1 },
    selection: null,
    anchor: null,
    carried: null,
    value: "e",
  }),
);

/** The look whose colours fit the page. */
export const look = () => (matchMedia("(prefers-color-scheme: light)").matches ? "paper" : "dark");

/** Asks how the passage is written now. */
export async function lookAgain() {
  const { pictures } = notation.get();
  const answer = await ask("notate.look", { look: look(), known: Object.keys(pictures) });
  if (answer) take(answer);
}

/** Takes over what the app answered. @param {any} answer */
function take(answer) {
  const { pictures: fresh = {}, ...sheet } = answer.sheet ?? {};
  const now = notation.get();
  const pictures = kept({ ...now.pictures, ...fresh }, sheet.bars ?? now.sheet?.bars ?? []);
  /** @type {Partial<State>} */
  const change = { pictures, problems: answer.problems, isBroken: answer.is_broken };
  if (answer.sheet) change.sheet = withKept(now.sheet, sheet);
  if (answer.cursor) change.cursor = answer.cursor;
  if (answer.selection !== undefined) change.selection = answer.selection;
  notation.set(change);
  const { sheet: shown, cursor } = notation.get();
  if (shown) notation.set({ cursor: inside(shown, cursor) });
}

/**
 * Keeps the bars and the frame that are as they were, so that only others are drawn anew.
 * @param {Sheet | null} before
 * @param {any} after
 * @returns {Sheet}
 */
function withKept(before, after) {
  const { gap, top, height, strings } = after;
  const frame = same(before?.frame, { gap, top, height, strings });
  const bars = after.bars.map((/** @type {Bar} */ bar, /** @type {number} */ i) => same(before?.bars[i], bar));
  return { ...after, frame, bars };
}

/**
 * Gives the earlier of two things if they are alike to the letter.
 * @template Thing
 * @param {Thing | undefined} before
 * @param {Thing} after
 */
function same(before, after) {
  return before !== undefined && JSON.stringify(before) === JSON.stringify(after) ? before : after;
}

/**
 * Forgets pictures of bars that are no longer there, but the last few hundred.
 * @param {Record<string, string>} pictures
 * @param {readonly Bar[]} bars
 */
function kept(pictures, bars) {
  const keys = Object.keys(pictures);
  if (keys.length < bars.length + 400) return pictures;
  const used = new Set(bars.map((bar) => bar.key));
  return Object.fromEntries(keys.filter((key, i) => used.has(key) || i > keys.length - 200).map((key) => [key, pictures[key]]));
}

/**
 * Does something to the passage where the cursor or the selection is.
 * @param {string} verb
 * @param {{number?: number, text?: string, is_quick?: boolean, value?: string, chosen?: Selection | null, at?: Cursor}} [more]
 */
export async function edit(verb, more = {}) {
  const { cursor, selection, value, pictures } = notation.get();
  const wanted = { verb, at: cursor, chosen: selection, value, ...more };
  const seen = { look: look(), known: Object.keys(pictures) };
  const action = { copy: "notate.copy", cut: "notate.copy", paste: "notate.paste" }[verb] ?? "notate.do";
  const answer = await ask(action, { wanted, seen });
  if (!answer) return false;
  // Typing a fret stays where it is, so that a second digit or a chord can follow.
  const stays = ["fret", "dead", "harmonic", "toggle", "value", "ring", "bend"].includes(verb);
  if (answer.sheet) take(stays ? { ...answer, cursor: behind(cursor), selection: undefined } : answer);
  if (answer.said) say(answer.said);
  return true;
}

/**
 * Tells where a note has gone that was written behind the end of a full bar: to the next bar's start.
 * @param {Cursor} cursor where it was written
 * @returns {Cursor | null} `null` if it stands where it was written
 */
function behind(cursor) {
  const { sheet, cursor: now } = notation.get();
  const bar = sheet?.bars[cursor.bar - 1];
  const isStill = now.bar === cursor.bar && now.offset === cursor.offset;
  if (!bar || !isStill || compare(fraction(cursor.offset), fraction(bar.length)) < 0 || bar.fault) return null;
  return { bar: cursor.bar + 1, offset: "0", string: cursor.string };
}

/**
 * Moves the cursor; with a selection begun, the selection reaches to it.
 * @param {Cursor} cursor
 * @param {boolean} [selects]
 */
export function moveTo(cursor, selects = false) {
  const { sheet, anchor, cursor: before } = notation.get();
  if (!sheet) return;
  const now = inside(sheet, cursor);
  const from = selects ? (anchor ?? before) : null;
  notation.set({ cursor: now, anchor: from, selection: from ? between(sheet, from, now, notation.get().value) : null });
  say(told(sheet, now));
}

let waiting = 0;
channel.on("document", () => {
  if (store.get().desk !== "notate") return;
  // Several keys in a row are told one by one; what comes to rest is looked at once.
  clearTimeout(waiting);
  waiting = setTimeout(lookAgain, 120);
});
channel.on("opened", () => notation.set({ sheet: null, pictures: {}, selection: null, cursor: { bar: 1, offset: "0", string: 1 } }));
