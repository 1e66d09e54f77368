import { fraction, numberOf } from "../../fraction.js";
import { askFor } from "../../parts/form_dialog.js";
import { edit, notation } from "./sheet.js";

/** @typedef {import("./written.js").Written} Written */

/** The metre that holds at the cursor; a bar names it only where it changes. */
function metreHere() {
  const { sheet, cursor } = notation.get();
  const named = sheet?.bars.slice(0, cursor.bar).filter((bar) => bar.metre) ?? [];
  return named[named.length - 1]?.metre ?? "4/4";
}

/** Bars and what holds from one on. @returns {Written[]} */
export function bars() {
  const metre = async () => {
    const asked = await askFor("Metre from this bar on", [
      { name: "text", label: "Metre, with its grouping if it has one", value: metreHere(), hint: "7/8 = 2+2+3" },
      { name: "only", label: "Only in this bar", type: "checkbox" },
    ]);
    if (asked) await edit("metre", { text: asked.text, is_ticked: asked.only === "yes" });
  };
  const tempo = async () => {
    const asked = await askFor("Tempo from here on", [
      { name: "number", label: "Quarters a minute; nothing takes the mark away", type: "number", value: notation.get().sheet?.tempo ?? 120, min: 5, max: 1000, step: "any" },
      { name: "text", label: "It then changes", type: "select", value: "", options: [["", "not"], ["ramp", "steadily to the next mark"]] },
    ]);
    if (asked) await edit("tempo", { number: Number(asked.number), text: asked.text });
  };
  const section = async () => {
    const asked = await askFor("Section from this bar on", [{ name: "text", label: "Its name; nothing for none" }]);
    if (asked) await edit("section", { text: asked.text });
  };
  const pickup = async () => {
    const first = notation.get().sheet?.bars[0];
    if (!first) return;
    // Beats of the metre are counted in its own unit, as 7 in 7/8.
    const full = Number(/^\d+/.exec(first.metre)?.[0] ?? 4);
    const beats = numberOf(fraction(first.length)) / numberOf(fraction(first.unit));
    const has = beats < full;
    const asked = await askFor("A pick-up before the first bar line", [{
      name: "number", label: "How many beats it has; 0 for none", type: "number", value: has ? beats : 1,
      min: 0, max: full - 0.25, step: 0.25,
      hint: has ? "It gets longer or shorter at its start; its notes keep their place before the bar line" : "A short bar is put in before the first one",
    }]);
    if (asked) await edit("pick-up", { number: Number(asked.number) });
  };
  const repeats = async () => {
    const asked = await askFor("Play these bars several times", [{ name: "number", label: "How often", type: "number", value: 2, min: 1, max: 99 }]);
    if (asked) await edit("repeats", { number: Number(asked.number) });
  };
  return [
    { id: "notate.bar.insert", name: "Put a bar in before this one", keys: ["Alt+B"], run: () => edit("insert bar", { number: 0 }) },
    { id: "notate.bar.append", name: "Put a bar in behind this one", keys: ["Alt+Shift+B"], run: () => edit("insert bar", { number: 1 }) },
    { id: "notate.bar.delete", name: "Take the bars out", keys: ["Alt+Shift+Delete"], run: () => edit("delete bars") },
    { id: "notate.bar.paste", name: "Put the copied bars in before this one", keys: ["Alt+V"], run: () => edit("paste bars", { number: 0 }) },
    { id: "notate.bar.paste.behind", name: "Put the copied bars in behind this one", keys: ["Alt+Shift+V"], run: () => edit("paste bars", { number: 1 }) },
    { id: "notate.metre", name: "Metre …", keys: ["Alt+T"], run: metre },
    { id: "notate.pickup", name: "Pick-up …", keys: ["Alt+P"], run: pickup },
    { id: "notate.tempo", name: "Tempo …", keys: ["Alt+Q"], run: tempo },
    { id: "notate.section", name: "Section …", keys: ["Alt+S"], run: section },
    { id: "notate.repeats", name: "Repeat the bars …", keys: ["Alt+R"], run: repeats },
    { id: "notate.fermata", name: "Fermata, or none", keys: [], run: () => edit("fermata") },
    { id: "notate.free", name: "The bar is played freely, or counted", keys: [], run: () => edit("free") },
    { id: "notate.length", name: "The bar is as long as it is", keys: [], run: () => edit("declare length") },
  ];
}

/** The instrument. @returns {Written[]} */
export function instrument() {
  const tuning = async () => {
    const { sheet } = notation.get();
    const asked = await askFor("Tuning", [
      { name: "text", label: "Open strings from the lowest", value: [...(sheet?.strings ?? [])].reverse().join(" "), hint: "E2 A2 D3 G3 B3 E4 is the usual one, C2 G2 C3 F3 A3 D4 is drop C; one name a string" },
      { name: "keeps", label: "The pitches stay, and the frets change", type: "checkbox" },
    ]);
    if (asked) await edit("tuning", { text: asked.text, is_ticked: asked.keeps === "yes" });
  };
  /** @param {string} verb @param {string} title @param {number} value @param {number} max */
  const number = (verb, title, value, max) => async () => {
    const asked = await askFor(title, [{ name: "number", label: title, type: "number", value, min: 0, max }]);
    if (asked) await edit(verb, { number: Number(asked.number) });
  };
  const title = async () => {
    const asked = await askFor("Title of the passage", [{ name: "text", label: "Title", value: notation.get().sheet?.title ?? "" }]);
    if (asked) await edit("title", { text: asked.text });
  };
  return [
    { id: "notate.tuning", name: "Tuning …", keys: ["Alt+U"], run: tuning },
    { id: "notate.capo", name: "Capo …", keys: [], run: () => number("capo", "Capo on fret", notation.get().sheet?.capo ?? 0, 12)() },
    { id: "notate.frets", name: "Frets of the neck …", keys: [], run: () => number("frets", "Frets", notation.get().sheet?.frets ?? 24, 36)() },
    { id: "notate.scale", name: "Length of the strings …", keys: [], run: () => number("scale", "Nut to bridge, mm", notation.get().sheet?.scale_mm ?? 648, 1200)() },
    { id: "notate.title", name: "Title of the passage …", keys: [], run: title },
  ];
}
