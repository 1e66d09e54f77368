import { say } from "../app.js";
import { useDesk } from "../at_desk.js";
import { html } from "../html.js";
import { player, playOrStop, stop } from "../player.js";
import { add, argument, lookAgain, move, remove } from "./argue/argument.js";
import { ClaimSheet } from "./argue/claim.js";
import { Order, ToChoose } from "./argue/order.js";
import { Prompter, openPrompter } from "./argue/prompter.js";

/** The claim that is looked at, in the list. */
const LOOKED_AT = ".claim[aria-current]";

/** The desk on which findings become an argument. */
export function Argue() {
  useDesk({ begin: lookAgain, commands, end: stop });
  return html`<${Order} /><${ClaimSheet} /><${ToChoose} /><${Prompter} />`;
}

/** @returns {import("../commands.js").Command[]} */
function commands() {
  const count = () => argument.get().seen?.claims.length ?? 0;
  const at = () => argument.get().at;
  const has = () => count() > 0;
  /** @param {number} steps */
  const look = (steps) => {
    const now = Math.max(0, Math.min(count() - 1, at() + steps));
    argument.set({ at: now });
    say(`Claim ${now + 1}: ${argument.get().seen?.claims[now]?.title}`);
  };
  return [
    { id: "argue.next", desk: "argue", name: "Look at the next claim", keys: ["Alt+ArrowDown"], isOn: has, run: () => look(1) },
    { id: "argue.before", desk: "argue", name: "Look at the claim before", keys: ["Alt+ArrowUp"], isOn: has, run: () => look(-1) },
    { id: "argue.down", desk: "argue", name: "Put the claim one place later", keys: ["Alt+Shift+ArrowDown"], isOn: has, run: () => move(at(), at() + 1) },
    { id: "argue.up", desk: "argue", name: "Put the claim one place earlier", keys: ["Alt+Shift+ArrowUp"], isOn: has, run: () => move(at(), at() - 1) },
    { id: "argue.word", desk: "argue", name: "Word the claim", keys: ["Enter"], within: LOOKED_AT, over: LOOKED_AT, isOn: has, run: () => document.getElementById("claim-title")?.focus() },
    { id: "argue.own", desk: "argue", name: "Add an observation of my own", keys: ["Alt+N"], run: () => add("") },
    { id: "argue.prompter", desk: "argue", name: "Read it from the prompter", keys: ["Alt+P"], isOn: has, run: openPrompter },
    { id: "argue.out", desk: "argue", name: "Take the claim out", isOn: has, run: remove },
    { id: "argue.hear", desk: "argue", over: LOOKED_AT, name: "Hear the claim's first excerpt", keys: ["Space"], isOn: () => Boolean(first()), run: hear },
  ];
}

function first() {
  const { seen, at } = argument.get();
  return seen?.claims[at]?.excerpts[0];
}

function hear() {
  const excerpt = first();
  if (player.get().isPlaying) stop();
  else if (excerpt) playOrStop({ start: excerpt.start, end: excerpt.end, speed: Math.min(excerpt.speed, 1), strings: excerpt.strings });
}
