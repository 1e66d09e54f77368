import { say } from "../../app.js";
import { askFor } from "../../parts/form_dialog.js";
import { edit, isNoteThere, noteHere } from "./sheet.js";
import { inTheSheet as here } from "./written.js";

/** @typedef {import("./written.js").Written} Written */

/**
 * Asks nothing where there is no note to do it to.
 * @param {() => unknown} ask
 */
const ofNote = (ask) => () => (isNoteThere() ? ask() : sayNothingHere());
const sayNothingHere = () => say("There is no note here; go to one, or select some.");

/** How notes are played. @returns {Written[]} */
export function playing() {
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
    here({ id: "notate.bend", name: "Bend …", keys: ["b"], run: ofNote(bend) }),
    here({ id: "notate.trill", name: "Trill …", keys: ["k"], run: ofNote(trill) }),
    here({ id: "notate.tremolo", name: "Tremolo picking …", keys: ["y"], run: ofNote(tremolo) }),
    here({ id: "notate.grace", name: "Grace note …", keys: ["g"], run: () => (noteHere() ? grace() : sayNothingHere()) }),
  ];
}
