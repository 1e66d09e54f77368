import { commandsAt } from "../../commands.js";
import { inOrder } from "../../in_order.js";
import { openMenu } from "../../parts/menu.js";
import { cursorUnder } from "./dragging.js";
import { doubtHere } from "./doubt_marks.js";
import { holds } from "./places.js";
import { soundWhatIsWritten } from "./note_sounds.js";
import { edit, moveTo, noteHere, notation } from "./sheet.js";

const FRETS_A_ROW = 5;

const OF_DOUBT = ["doubt.accept", "doubt.heard"];
const OF_NOTES = [
  ["hear", "fret.choose", "copy", "cut", "paste", "repeat"],
  ["erase", "delete", "tie", "tuplet"],
  ["refinger.up", "refinger.down", "fret.up", "fret.down"],
  ["palm_mute", "ring", "hammer_on", "slide", "bend", "vibrato", "dead", "harmonic"],
];
const OF_PLACE = [
  ["hear", "fret.choose", "paste", "insert", "bar"],
  ["bar.insert", "bar.append", "bar.paste", "bar.delete", "pickup"],
  ["metre", "tempo", "section", "repeats", "free"],
];

/** Shows what can be done where the pointer is; it becomes the cursor's place, unless it is selected. @param {MouseEvent} event */
export function menuAtPointer(event) {
  // On a Mac, Ctrl and a click ask for it too.
  const isOfKey = event.button !== 2 && !event.ctrlKey;
  if (!(/** @type {Element} */ (event.target).closest(".sheet"))) return;
  event.preventDefault();
  if (isOfKey) return menuAtCursor();
  const { sheet, selection } = notation.get();
  const cursor = cursorUnder(event);
  if (sheet && cursor && !(selection && holds(sheet, selection, cursor))) moveTo(cursor);
  /** @type {HTMLElement | null} */ (document.querySelector(".sheet"))?.focus();
  open({ x: event.clientX, y: event.clientY });
}

/** Shows what can be done at the cursor. */
export function menuAtCursor() {
  open(placeOfCursor());
}

/** Shows the frets of the string at the cursor, to choose one by the pointer. */
export function fretsAtCursor() {
  const { sheet, cursor } = notation.get();
  if (!sheet) return;
  const frets = Array.from({ length: sheet.frets - sheet.capo + 1 }, (_, number) => ({
    id: `notate.fret.there.${number}`,
    name: String(number),
    run: () => inOrder(() => soundWhatIsWritten(edit("fret", { number, chosen: null }))),
  }));
  openMenu(`Frets of string ${cursor.string}, ${sheet.strings[cursor.string - 1]}`, placeOfCursor(), [frets], FRETS_A_ROW);
}

/** Beside the cursor, in px of the window. */
function placeOfCursor() {
  const box = document.querySelector(".sheet .cursor")?.getBoundingClientRect();
  return box ? { x: box.right, y: box.bottom } : { x: 40, y: 120 };
}

/** @param {{x: number, y: number}} at */
function open(at) {
  const { selection } = notation.get();
  const isOfNotes = selection !== null || noteHere() !== undefined;
  const groups = isOfNotes ? OF_NOTES : OF_PLACE;
  const known = new Map(commandsAt("notate").map((command) => [command.id, command]));
  const listed = (doubtHere() ? [OF_DOUBT, ...groups] : groups).map((ids) => ids.flatMap((id) => known.get(`notate.${id}`) ?? []));
  openMenu(selection ? "What is selected" : isOfNotes ? "The note here" : "This place", at, listed);
}
