import { ask, say, sayWhy, store } from "../../app.js";
import { bring } from "../../bringing.js";
import { askFor } from "../../parts/form_dialog.js";
import { edit, lookAgain } from "./sheet.js";

/**
 * Brings music in from a file: tab, MusicXML or MIDI.
 * @param {Blob} file
 * @param {string} name
 * @param {string} [part]
 * @returns {Promise<void>}
 */
export async function bringMusic(file, name, part) {
  const query = part === undefined ? "" : `?part=${encodeURIComponent(part)}`;
  const told = await bring(`/notate/bring/${encodeURIComponent(name)}${query}`, file, name).catch(sayWhy);
  if (!told) return undefined;
  if (told.problem) return store.set({ problem: told.problem });
  if (told.parts?.length && told.warnings === undefined) {
    const chosen = await askFor(`${name} holds several parts`, [
      { name: "part", label: "Which one is the riff?", type: "select", options: told.parts.map((/** @type {string} */ one) => [one, one]) },
    ], "Take it");
    return chosen ? bringMusic(file, name, chosen.part) : undefined;
  }
  await lookAgain();
  say([`${name} is taken in; undo gives the earlier passage back.`, ...(told.warnings ?? [])].join(" "));
}

/**
 * Takes what is pasted: notes that were copied here, or a tab from a mail.
 * @param {ClipboardEvent} event
 */
export async function paste(event) {
  const text = event.clipboardData?.getData("text/plain") ?? "";
  event.preventDefault();
  if (!looksLikeTab(text)) return edit("paste");
  const answer = await ask("notate.pasted", { text });
  if (answer) say(answer.said);
  return undefined;
}

/**
 * Says whether a text may be a tab: several lines with dashes between bar lines.
 * @param {string} text
 */
export function looksLikeTab(text) {
  return text.split("\n").filter((line) => /\|.*-.*\|?/.test(line)).length >= 4;
}
