import { textOf } from "../../fraction.js";
import { lengthOf } from "./places.js";
import { edit, notation } from "./sheet.js";
import { inTheSheet as here } from "./written.js";

/** @typedef {import("./written.js").Written} Written */

/** Notes moved to other pitches, strings and times. @returns {Written[]} */
export function shaping() {
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
