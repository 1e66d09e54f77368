import { say, store } from "../../app.js";
import { html, useEffect } from "../../html.js";
import { isFirstClick, useMicrophone } from "../../parts/microphone.js";
import { useStore } from "../../store.js";
import { Level } from "../notate/recording/bring_in.js";
import { timeText } from "../show/film.js";
import { argument, keyOf, setField } from "./argument.js";
import { openPrompter } from "./prompter.js";
import { keepTake, keepTheRest, listTakes, takes } from "./takes.js";

/**
 * What is spoken with a claim: recorded, listened to, chosen; all takes are kept.
 * @param {{claim: import("./argument.js").Claim}} props
 */
export function Narration({ claim }) {
  const revision = useStore(argument, (state) => state.seen?.revision);
  const { names, unkept } = useStore(takes, (state) => state);
  useEffect(() => {
    listTakes();
  }, [revision]);
  const { folder } = store.get();
  const key = keyOf(claim, argument.get().at);
  const microphone = useMicrophone((sound, ending) => keepTake(claim.title, key, sound, ending, folder));
  const begin = async () => {
    if (await microphone.begin()) say("Recording. Speak; the same button ends the take.");
  };
  return html`<fieldset class="narration">
    <legend>What is spoken${claim.take_seconds ? ` – ${timeText(claim.take_seconds)}` : ""}</legend>
    <p>
      <button type="button" class=${microphone.isRunning ? "recording" : ""} onClick=${(/** @type {MouseEvent} */ click) => isFirstClick(click) && (microphone.isRunning ? microphone.end() : begin())}>${microphone.isRunning ? "■ End the take" : claim.take ? "Record it again" : "Record it"}</button>
      ${microphone.isRunning && html`<${Level} level=${microphone.level} />`}
      <button type="button" onClick=${() => openPrompter()}>Prompter</button>
    </p>
    ${unkept.map(
      (one) => html`<p class="unkept">A take of “${one.title}” is not kept yet.
        <button type="button" onClick=${keepTheRest}>Keep it now</button>
        <a href=${one.url} download=${`take.${one.ending}`}>Save it as a file</a></p>`,
    )}
    ${names.length > 0 &&
    html`<label>Take
      <select value=${claim.take} onChange=${(/** @type {any} */ e) => setField("take", e.target.value)}>
        <option value="">none: the words are read</option>
        ${names.map((take) => html`<option value=${take}>${take.replace("takes/", "")}</option>`)}
        ${claim.take && !names.includes(claim.take) && html`<option value=${claim.take}>${claim.take} (not there)</option>`}
      </select>
    </label>`}
    ${claim.take && html`<audio controls preload="metadata" src=${`/${claim.take}`} aria-label="The chosen take"></audio>`}
    ${claim.take_seconds > 0 && claim.lines.length > 0 && html`<${Times} claim=${claim} />`}
  </fieldset>`;
}

/**
 * When each line is begun in the take; corrected by hand where sharing it out by length is not enough.
 * @param {{claim: import("./argument.js").Claim}} props
 */
function Times({ claim }) {
  const starts = claim.line_starts.map((start) => Math.max(0, start - claim.take_at));
  /** @param {number} index @param {number} seconds */
  const set = (index, seconds) =>
    setField("line_starts", starts.map((start, i) => Math.round((i === index ? seconds : start) * 100) / 100));
  return html`<details><summary>When each line comes</summary>
    ${claim.lines.map(
      (line, index) => html`<label key=${index}>
        <input type="number" min="0" max=${claim.take_seconds.toFixed(2)} step="0.1" value=${starts[index]?.toFixed(2)}
          onChange=${(/** @type {any} */ e) => set(index, Number(e.target.value))} /> s · ${line}
      </label>`,
    )}
    <button type="button" onClick=${() => setField("line_starts", [])}>By their length again</button>
  </details>`;
}
