import { useDesk } from "../at_desk.js";
import { goTo } from "../focus.js";
import { html } from "../html.js";
import { stop } from "../player.js";
import { ByHand } from "./study/by_hand.js";
import { measureAxes, measureRiff, study, studyAgain } from "./study/findings.js";
import { Findings } from "./study/list.js";
import { pointAway, step } from "./study/pointing.js";
import { FindingSheet, claimShown, hearShown } from "./study/sheet.js";

/** The desk on which one finds out how the passage is built. */
export function Study() {
  useDesk({ begin: studyAgain, commands, end });
  return html`<${Findings} /><${FindingSheet} /><${ByHand} />`;
}

/** Leaves the desk, where nothing sounds and nothing is pointed at any more. */
function end() {
  stop();
  pointAway();
}

/** @returns {import("../commands.js").Command[]} */
function commands() {
  const isThere = () => study.get().seen !== null;
  return [
    { id: "study.next", desk: "study", name: "Look at the next finding", keys: ["ArrowDown", "Alt+ArrowDown"], isOn: isThere, run: () => step(1) },
    { id: "study.before", desk: "study", name: "Look at the finding before", keys: ["ArrowUp", "Alt+ArrowUp"], isOn: isThere, run: () => step(-1) },
    { id: "study.hear", desk: "study", over: ".finding", name: "Hear the finding", keys: ["Space"], isOn: isThere, run: hearShown },
    { id: "study.claim", desk: "study", name: "Make it a claim", keys: ["c"], isOn: isThere, run: claimShown },
    { id: "study.everything", desk: "study", name: "Show everything that was found", run: () => study.set({ least: 0 }) },
    { id: "study.solid", desk: "study", name: "Show what is firm and likely", run: () => study.set({ least: 3 }) },
    { id: "study.axis", desk: "study", name: "Set an axis by hand", run: () => measureAxes().then(() => goTo(".axis input")) },
    { id: "study.riff", desk: "study", name: "Set the riff by hand", run: () => measureRiff(null, 0).then(() => goTo(".edge input")) },
  ];
}
