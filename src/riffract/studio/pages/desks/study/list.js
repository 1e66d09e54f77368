import { store } from "../../app.js";
import { html } from "../../html.js";
import { useStore } from "../../store.js";
import { playOrStop } from "../../player.js";
import { shownOf, study } from "./findings.js";
import { choose, point, pointAway, tabStop } from "./pointing.js";

const LEVELS = [
  [3, "firm and likely"],
  [2, "suggestive too"],
  [0, "everything"],
];

/** All findings by question. */
export function Findings() {
  const { seen, isStudying, least, words } = useStore(study, (state) => state);
  const revision = useStore(store, (state) => state.revision);
  return html`<section class="findings" aria-labelledby="findings">
    <h2 id="findings">What was found</h2>
    <p class="filters">
      <label>Show <select value=${least} onChange=${(/** @type {any} */ e) => study.set({ least: Number(e.target.value) })}>
        ${LEVELS.map(([level, name]) => html`<option value=${level}>${name}</option>`)}
      </select></label>
      <label>Find <input type="search" value=${words} onInput=${(/** @type {any} */ e) => study.set({ words: e.target.value })} /></label>
    </p>
    <p role="status" class="state" data-change=${seen?.revision}>${stateOf(seen, isStudying, revision)}</p>
    ${seen?.questions.map((question) => html`<${OneQuestion} key=${question.kind} question=${question} />`)}
    ${seen && seen.left_out.length > 0 && html`<details><summary>What was not looked at</summary><ul>${seen.left_out.map((one) => html`<li>${one}</li>`)}</ul></details>`}
  </section>`;
}

/**
 * Says which state of the essay the findings are of.
 * @param {(import("./findings.js").Seen & {revision: number}) | null} seen
 * @param {boolean} isStudying
 * @param {number} revision of the essay as it is now
 */
function stateOf(seen, isStudying, revision) {
  if (isStudying) return seen ? "Studying the essay as it is now; what was found before is shown until then." : "Studying …";
  if (!seen) return "Nothing has been studied yet.";
  if (seen.revision !== revision) return "Of the essay as it was before; it has changed since.";
  return `Of the essay as it is now. ${seen.asked} questions were asked; the more are asked, the more each answer must stand out from chance.`;
}

/** @param {{question: import("./findings.js").Question}} props */
function OneQuestion({ question }) {
  const { least, words, chosen } = useStore(study, (state) => state);
  const stop = useStore(study, tabStop);
  const shown = shownOf(question, least, words);
  const hidden = question.findings.length - shown.length;
  return html`<section class="question" aria-label=${question.name}>
    <h3>${question.question}</h3>
    ${shown.length
      ? html`<ul onPointerLeave=${pointAway}>${shown.map((one) => html`<${Row} key=${one.id} finding=${one} isChosen=${one.id === chosen} isStop=${one.id === stop} />`)}</ul>`
      : html`<p class="quiet">${hidden ? "" : "Nothing was found."}</p>`}
    ${hidden > 0 && !words && html`<p><button type="button" class="weaker" onClick=${() => study.set({ least: 0 })}>Show ${hidden} weaker ${hidden === 1 ? "one" : "ones"}</button></p>`}
  </section>`;
}

/**
 * A finding in the list. Pointing at it shows it; the keys choose it by going there.
 * @param {{finding: import("./findings.js").Finding, isChosen: boolean, isStop: boolean}} props
 */
function Row({ finding, isChosen, isStop }) {
  const { id, sentence, verdict, places } = finding;
  return html`<li onPointerEnter=${(/** @type {PointerEvent} */ event) => event.pointerType !== "touch" && point(id)}>
    <button type="button" class="finding" data-finding=${id} tabindex=${isStop ? 0 : -1} aria-current=${isChosen ? "true" : undefined}
      onFocus=${() => choose(id)} onClick=${() => choose(id)}>
      <${Strength} finding=${finding} /><span>${sentence}</span><small>${verdict} · ${places}</small>
    </button>
    <button type="button" class="play" tabindex="-1" title="Hear it" aria-label=${`Hear: ${sentence}`} onClick=${() => playOrStop(stretchOf(finding))}>
      <svg viewBox="0 0 12 12" width="12" height="12" aria-hidden="true"><path d="M2 1 L11 6 L2 11 Z" /></svg>
    </button>
  </li>`;
}

/**
 * The stretch that lets a finding be heard: its first one.
 * @param {import("./findings.js").Finding} finding
 */
export function stretchOf(finding) {
  const [start, end] = finding.spans[0] ?? [];
  return start === undefined ? {} : { start, end };
}

/**
 * Four dots, as many filled as the verdict is strong; the word stands beside them.
 * @param {{finding: import("./findings.js").Finding}} props
 */
export function Strength({ finding }) {
  return html`<svg class="strength" viewBox="0 0 40 10" width="40" height="10" aria-hidden="true">
    ${[0, 1, 2, 3].map((i) => html`<circle cx=${5 + i * 10} cy="5" r="3.6" class=${i < finding.strength ? "full" : ""} />`)}
  </svg>`;
}
