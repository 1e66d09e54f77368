import { ask, say } from "../../../app.js";
import { fraction, plus, textOf } from "../../../fraction.js";
import { html, useState } from "../../../html.js";
import { play } from "../../../player.js";
import { useStore } from "../../../store.js";
import { notation } from "../sheet.js";
import { recording } from "./recording.js";

/** Notes that the recording does not bear out, with what fits better. */
export function Doubts() {
  const heard = useStore(recording, (state) => state.heard);
  const [isOpen, setIsOpen] = useState(false);
  if (!heard) return null;
  if (heard.stale) {
    return html`<p class="hint">What was heard before no longer holds: ${heard.stale}. Listen again to see what the recording bears out now.</p>`;
  }
  const open = heard.doubts.filter((doubt) => !doubt.is_settled);
  const none = heard.doubts.length ? "No note is left to look at" : "The recording bears the notes out";
  return html`<section class="doubts" aria-labelledby="doubts">
    <h3 id="doubts">${open.length ? `${open.length} ${open.length === 1 ? "note" : "notes"} to look at` : none}
      <button type="button" aria-expanded=${isOpen} onClick=${() => setIsOpen(!isOpen)}>${isOpen ? "Hide" : "Show"}</button></h3>
    ${isOpen &&
    html`<ul>
        ${heard.doubts.map((doubt) => html`<${OneDoubt} key=${doubt.note} doubt=${doubt} />`)}
      </ul>
      <details><summary>All that was heard, in words</summary><pre>${heard.report}</pre></details>`}
  </section>`;
}

/** @param {{doubt: import("./recording.js").Doubt}} props */
function OneDoubt({ doubt }) {
  const where = `bar ${doubt.bar}, beat ${doubt.beat}, string ${doubt.string}`;
  const hasRival = doubt.rival_string !== null && doubt.rival_fret !== null;
  const accept = async () => {
    const wanted = { note: doubt.note, string: doubt.rival_string, fret: doubt.rival_fret };
    if (await ask("recording.accept", wanted)) say(`${where}: fret ${doubt.rival_fret} on string ${doubt.rival_string}`);
  };
  return html`<li class=${doubt.is_settled ? "settled" : doubt.support}>
    <p><b>${doubt.support === "contradicted" ? "✗" : "?"} ${where}, fret ${doubt.fret}</b> – ${doubt.sentence}</p>
    <span>
      <button type="button" onClick=${() => play({ ...around(doubt), sound: "both" })}>Hear both</button>
      ${hasRival && html`<button type="button" onClick=${accept}>Write string ${doubt.rival_string}, fret ${doubt.rival_fret}</button>`}
      <button type="button" aria-pressed=${doubt.is_settled}
        onClick=${() => ask("recording.heard", { note: doubt.note, is_heard: !doubt.is_settled })}>I hear it as written</button>
    </span>
  </li>`;
}

/**
 * Gives the bar that a note stands in.
 * @param {import("./recording.js").Doubt} doubt
 */
function around(doubt) {
  const bar = notation.get().sheet?.bars[doubt.bar - 1];
  return bar ? { start: bar.start, end: textOf(plus(fraction(bar.start), fraction(bar.length))) } : {};
}
