import { Argue } from "./desks/argue.js";
import { Notate } from "./desks/notate.js";
import { Show } from "./desks/show.js";
import { Study } from "./desks/study.js";

/** @typedef {{id: string, name: string, purpose: string, View: () => any}} Desk */

/** @type {readonly Desk[]} */
export const DESKS = [
  { id: "notate", name: "Notate", purpose: "write the riff down", View: Notate },
  { id: "study", name: "Study", purpose: "find out how it is built", View: Study },
  { id: "argue", name: "Argue", purpose: "say it in order", View: Argue },
  { id: "show", name: "Show", purpose: "make the film", View: Show },
];

/**
 * Reads a desk's name off an address such as `#/study`; the first desk if it names none.
 * @param {string} hash
 */
export function deskAt(hash) {
  const named = /^#\/([a-z]+)/.exec(hash)?.[1];
  return DESKS.find((desk) => desk.id === named)?.id ?? DESKS[0].id;
}
