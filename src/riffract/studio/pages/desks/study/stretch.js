import { html, useState } from "../../html.js";
import { playOrStop } from "../../player.js";
import { useStore } from "../../store.js";
import { study, studyStretch } from "./findings.js";
import { keep } from "./kept.js";

/**
 * Names a stretch as the file does: bars alone, or from beat to beat.
 * @param {{first: number, firstBeat: string, last: number, lastBeat: string}} edges beats may be empty
 */
export function stretchName({ first, firstBeat, last, lastBeat }) {
  const starts = firstBeat && firstBeat !== "1" ? `:${firstBeat}` : "";
  return `${first}${starts}-${last}${lastBeat ? `:${lastBeat}` : ""}`;
}

/** Some bars, or a stretch from beat to beat, studied as if nothing else were there. @param {{bars: number}} props */
export function Stretch({ bars }) {
  const stretch = useStore(study, (state) => state.stretch);
  const [isBusy, setIsBusy] = useState(false);
  const begin = async () => {
    if (isBusy) return;
    setIsBusy(true);
    await studyStretch(stretchName(edges));
    setIsBusy(false);
  };
  const [edges, setEdges] = useState({ first: 1, firstBeat: "", last: Math.min(2, bars), lastBeat: "" });
  /** @param {keyof typeof edges} key @param {string} label @param {string} [hint] */
  const bar = (key, label, hint) => html`<input type="number" min="1" max=${bars} value=${edges[key]} aria-label=${label} title=${hint} required
    onInput=${(/** @type {any} */ e) => setEdges({ ...edges, [key]: Number(e.target.value) })} />`;
  /** @param {keyof typeof edges} key @param {string} label @param {string} hint */
  const beat = (key, label, hint) => html`<input inputmode="decimal" class="beat" value=${edges[key]} aria-label=${label} title=${hint} placeholder=${hint}
    onInput=${(/** @type {any} */ e) => setEdges({ ...edges, [key]: e.target.value.trim() })} />`;
  return html`<h3>A stretch alone</h3>
    <form onSubmit=${(/** @type {Event} */ event) => { event.preventDefault(); begin(); }}>
      <span class="edge-of-stretch"><b>From</b> <label>bar ${bar("first", "First bar")}</label> <label>beat ${beat("firstBeat", "First beat", "1")}</label></span>
      <span class="edge-of-stretch"><b>To</b> <label>bar ${bar("last", "Last bar")}</label> <label>up to beat ${beat("lastBeat", "Up to beat", "end")}</label></span>
      <button type="submit" aria-disabled=${isBusy}>${isBusy ? "Studying …" : "Study it"}</button>
    </form>
    ${stretch && html`<${Told} stretch=${stretch} />`}`;
}

/** @param {{stretch: import("./findings.js").Stretch}} props */
function Told({ stretch }) {
  const solid = stretch.seen.questions.flatMap((question) => question.findings).filter((one) => one.strength >= 2);
  return html`<p><b>Set by hand, ${stretch.words}:</b> ${solid.length ? "" : "nothing beyond chance."}</p>
    <ul>${solid.map((one) => html`<li>${one.sentence} <small>${one.verdict}</small></li>`)}</ul>
    <p class="tools">
      <button type="button" onClick=${() => playOrStop({ start: stretch.start, end: stretch.end })}>Hear it</button>
      <button type="button" onClick=${() => keep({ stretch: { bars: stretch.name } })}>Keep this stretch</button>
    </p>`;
}
