import { store } from "../../app.js";
import { html } from "../../html.js";
import { useStore } from "../../store.js";
import { shownOf, study } from "./findings.js";

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
    <p role="status" class="state">${stateOf(seen, isStudying, revision)}</p>
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
  if (isStudying) return seen ? `Studying change ${revision}; what was found at change ${seen.revision} is shown until then.` : "Studying …";
  if (!seen) return "Nothing has been studied yet.";
  if (seen.revision !== revision) return `Of change ${seen.revision}; the essay is at change ${revision}.`;
  return `Of change ${revision}, as it is now. ${seen.asked} questions were asked of chance; each is paid for.`;
}

/** @param {{question: import("./findings.js").Question}} props */
function OneQuestion({ question }) {
  const { least, words, chosen } = useStore(study, (state) => state);
  const shown = shownOf(question, least, words);
  const hidden = question.findings.length - shown.length;
  return html`<section class="question" aria-label=${question.name}>
    <h3>${question.question}</h3>
    ${shown.length
      ? html`<ul>${shown.map(
          (one) => html`<li key=${one.id}>
            <button type="button" class="finding" aria-current=${one.id === chosen ? "true" : undefined} onClick=${() => study.set({ chosen: one.id })}>
              <${Strength} finding=${one} /><span>${one.sentence}</span><small>${one.verdict} · ${one.places}</small>
            </button>
          </li>`,
        )}</ul>`
      : html`<p class="quiet">${hidden ? "" : "Nothing was found."}</p>`}
    ${hidden > 0 && !words && html`<p class="quiet">${hidden} weaker ${hidden === 1 ? "one" : "ones"} not shown</p>`}
  </section>`;
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
