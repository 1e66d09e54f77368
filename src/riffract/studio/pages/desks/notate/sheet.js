import { ask, channel, say, sayLater, store } from "../../app.js";
import { compare, fraction } from "../../fraction.js";
import { look } from "../../look.js";
import { createStore } from "../../store.js";
import { expectedOf } from "./expected.js";
import { between, inside, notesIn, told } from "./places.js";

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
 * @property {import("./expected.js").Expected | null} expected what the last key will write, until it is answered
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
    expected: null,
    carried: null,
    value: "e",
  }),
);

/** @type {Map<number, Sheet>} by number, those that an answer which is under way may be told from */
const had = new Map();
/** More than answers can be under way. */
const SHEETS_KEPT = 32;

/** What the app leaves out of its answers, since it is here. */
const seen = () => ({ look: look(), has: notation.get().sheet?.number ?? 0 });

/** Asks how the passage is written now. */
export async function lookAgain() {
  const answer = await ask("notate.look", seen());
  if (answer) take(answer);
}

/** Takes over what the app answered. @param {any} answer */
function take(answer) {
  /** @type {Partial<State>} */
  const change = { problems: answer.problems, isBroken: answer.is_broken, expected: null };
  const isNew = answer.sheet && answer.sheet.number !== notation.get().sheet?.number;
  if (isNew) Object.assign(change, received(answer.sheet));
  if (answer.cursor) change.cursor = answer.cursor;
  if (answer.selection !== undefined) change.selection = answer.selection;
  const sheet = change.sheet ?? notation.get().sheet;
  // One change, so that nothing is drawn twice.
  if (sheet) change.cursor = inside(sheet, change.cursor ?? notation.get().cursor);
  notation.set(change);
}

/**
 * Puts a sheet together from what the app has sent and what was there before; bars and frame that are as they
 * were stay the same things, so that only others are drawn anew.
 * @param {import("./places.js").SheetSent} sent
 * @returns {Pick<State, "sheet" | "pictures">}
 */
function received({ number, since, frame: facts, count, bars: fresh, firsts, pictures: drawn }) {
  const before = had.get(since);
  const bars = Array.from({ length: count }, (_, i) => fresh[i] ?? before?.bars[i]);
  const { gap, top, height, strings } = facts;
  const frame = same(notation.get().sheet?.frame, { gap, top, height, strings });
  const sheet = /** @type {Sheet} */ ({ ...facts, number, frame, bars, firsts });
  had.set(number, sheet);
  for (const old of [...had.keys()].slice(0, -SHEETS_KEPT)) had.delete(old);
  return { sheet, pictures: kept({ ...notation.get().pictures, ...drawn }) };
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
 * Forgets pictures of bars that no sheet has any more.
 * @param {Record<string, string>} pictures
 */
function kept(pictures) {
  const used = new Set([...had.values()].flatMap((sheet) => sheet.bars.map((bar) => bar.key)));
  return Object.fromEntries(Object.entries(pictures).filter(([key]) => used.has(key)));
}

/**
 * Does something to the passage where the cursor or the selection is.
 * @param {string} verb
 * @param {{number?: number, text?: string, is_quick?: boolean, is_ticked?: boolean, value?: string, chosen?: Selection | null, at?: Cursor}} [more]
 */
export async function edit(verb, more = {}) {
  const { sheet, cursor, selection, value } = notation.get();
  const wanted = { verb, at: cursor, chosen: selection, value, ...more };
  const action = { copy: "notate.copy", cut: "notate.copy", paste: "notate.paste", "paste bars": "notate.paste" }[verb] ?? "notate.do";
  const [tell, before] = [sayLater(), moves];
  notation.set({ expected: expectedOf(verb, wanted, sheet, cursor) });
  const answer = await ask(action, { wanted, seen: seen() });
  if (!answer?.sheet) notation.set({ expected: null });
  if (!answer) return false;
  // Typing a fret stays where it is, so that a second digit or a chord can follow.
  const stays = ["fret", "dead", "harmonic", "toggle", "value", "ring", "bend"].includes(verb);
  // Nor does an answer take anybody away from where they have pointed meanwhile.
  const goesOn = !stays && moves === before;
  if (answer.sheet) take(goesOn ? answer : { ...answer, cursor: stays ? behind(cursor) : null, selection: undefined });
  if (answer.said) tell(answer.said);
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

/** How often the cursor was moved by the person. */
let moves = 0;

/**
 * Moves the cursor; with a selection begun, the selection reaches to it.
 * @param {Cursor} cursor
 * @param {boolean} [selects]
 */
export function moveTo(cursor, selects = false) {
  const { sheet, anchor, cursor: before } = notation.get();
  if (!sheet) return;
  moves += 1;
  const now = inside(sheet, cursor);
  const from = selects ? (anchor ?? before) : null;
  notation.set({ cursor: now, anchor: from, selection: from ? between(sheet, from, now, notation.get().value) : null });
  say(told(sheet, now));
}

/** The bar of the cursor. */
export function barHere() {
  const { sheet, cursor } = notation.get();
  return sheet?.bars[cursor.bar - 1];
}

/** The note that starts at the cursor on its string, or on any if none is there. */
export function noteHere() {
  const { cursor } = notation.get();
  return barHere()?.notes.find((note) => compare(fraction(note.offset), fraction(cursor.offset)) === 0);
}

/** Whether any note is selected, or starts at the cursor on its string. */
export function isNoteThere() {
  const { sheet, selection, cursor } = notation.get();
  const isHere = (/** @type {import("./places.js").Note} */ note) => note.string === cursor.string && compare(fraction(note.offset), fraction(cursor.offset)) === 0;
  return sheet !== null && (selection ? notesIn(sheet, selection).length > 0 : barHere()?.notes.some(isHere) === true);
}

let waiting = 0;
channel.on("document", () => {
  if (store.get().desk !== "notate") return;
  // Several keys in a row are told one by one; what comes to rest is looked at once.
  clearTimeout(waiting);
  waiting = setTimeout(lookAgain, 120);
});
channel.on("opened", () => notation.set({ sheet: null, pictures: {}, selection: null, cursor: { bar: 1, offset: "0", string: 1 } }));
