import { ask, say } from "../../app.js";
import { html } from "../../html.js";
import { playOrStop } from "../../player.js";
import { useStore } from "../../store.js";
import { study } from "./findings.js";

/**
 * Keeps something that was set by hand in the essay's `findings.toml`.
 * @param {{axis: {of: string, at: string}} | {pitch_axis: {pitch: number}} | {riff: {start: string, end: string}} | {stretch: {bars: string}}} what
 */
export async function keep(what) {
  if (await ask("study.keep", what)) say("Kept as set by hand; it is measured again after each change.");
}

/** All that was set by hand, with what the notes say about it now. */
export function Kept() {
  const seen = useStore(study, (state) => state.seen);
  if (!seen || (!seen.by_hand.length && !seen.hand_problems.length)) return null;
  return html`<h3 id="kept">Kept</h3>
    ${seen.hand_problems.map((problem) => html`<p role="alert" class="wrong">${problem}</p>`)}
    <ul class="kept" aria-labelledby="kept">${seen.by_hand.map((one) => html`<${One} key=${`${one.table} ${one.number}`} one=${one} />`)}</ul>`;
}

/** @param {{one: import("./findings.js").ByHand}} props */
function One({ one }) {
  const claim = async () => {
    const lines = ["Set by hand."];
    if (await ask("argue.own", { title: one.sentence, bars: one.bars, lines })) say("A claim of your own: word it on the Argue desk.");
  };
  const letGo = async () => {
    if (await ask("study.let_go", { table: one.table, number: one.number })) say("Let go; undo brings it back.");
  };
  return html`<li>
    <p>${one.sentence} <b>(set by hand)</b></p>
    <details><summary>Its measures</summary><dl class="facts">${one.facts.map(([name, text]) => html`<div><dt>${name}</dt><dd>${text}</dd></div>`)}</dl></details>
    <p class="tools">
      <button type="button" onClick=${() => playOrStop({ start: one.start, end: one.end })}>Hear</button>
      <button type="button" onClick=${claim}>Claim</button>
      <button type="button" onClick=${letGo}>Let go</button>
    </p>
  </li>`;
}
