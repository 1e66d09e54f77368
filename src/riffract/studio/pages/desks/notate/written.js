/**
 * A command of writing: it may want to know when its key was pressed.
 * @typedef {Omit<import("../../commands.js").Command, "run"> & {run: (pressedMs: number) => unknown}} Written
 */

/** Lets a key of the command work while the focus is in the picture, or nowhere. @param {Written} command @returns {Written} */
export function inTheSheet(command) {
  return { within: ".sheet", isAtRest: true, ...command };
}
