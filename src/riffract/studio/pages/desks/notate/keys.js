import { inOrder } from "../../in_order.js";
import { bars, instrument } from "./around.js";
import { acceptHere, hearAsWritten, nextDoubt } from "./doubt_marks.js";
import { frets, values } from "./entering.js";
import { moving, selecting } from "./going.js";
import { playing } from "./playing.js";
import { shaping } from "./shaping.js";
import { notation } from "./sheet.js";

/** @typedef {import("../../commands.js").Command} Command */
/** @typedef {import("./written.js").Written} Written */


/** All that can be done to the passage, with its keys. @returns {Command[]} */
export function commandsOfWriting() {
  return [
    ...inGroup("Going about", moving()),
    ...inGroup("Selecting", selecting()),
    ...inGroup("Notes", frets()),
    ...inGroup("Values", values()),
    ...inGroup("How it is played", playing()),
    ...inGroup("Moving notes", shaping()),
    ...inGroup("Bars", bars()),
    ...inGroup("The instrument", instrument()),
    ...inGroup("The recording's doubts", doubting()),
  ];
}

/** @param {string} group @param {readonly Written[]} commands @returns {Command[]} */
function inGroup(group, commands) {
  return commands.map((command) => ({
    desk: "notate",
    group,
    isOn: () => notation.get().sheet !== null,
    lacks: "the passage cannot be read yet",
    ...command,
    // Where a key leads depends on what the one before it has written.
    run: () => inOrder(command.run),
  }));
}

/** @returns {Written[]} */
function doubting() {
  return [
    { id: "notate.doubt.next", name: "Go to the next note that the recording does not bear out", keys: ["Alt+D"], run: nextDoubt },
    { id: "notate.doubt.accept", name: "Write what the recording plays here", keys: ["Alt+Enter"], run: acceptHere },
    { id: "notate.doubt.heard", name: "I hear it as it is written", keys: ["Alt+H"], run: hearAsWritten },
  ];
}
