import { ask, say, store } from "../../app.js";
import { html } from "../../html.js";
import { useLook } from "../../look.js";
import { player, playOrStop } from "../../player.js";
import { useStore } from "../../store.js";
import { study } from "./findings.js";
import { Strength, stretchOf } from "./list.js";
import { choose, shownNow, useShown } from "./pointing.js";

/** The finding that is looked at: its picture, its evidence, its rivals. */
export function FindingSheet() {
  const seen = useStore(study, (state) => state.seen);
  const isSounding = useStore(player, (state) => state.isPlaying || state.isWaiting);
  const finding = useShown();
  const look = useLook();
  // A picture of this study is fetched once; after the next one nothing is taken from the browser's memory.
  const picture = (/** @type {string} */ id, /** @type {number} */ width) =>
    `/study/picture/${id}?width=${width}&look=${look}&studied=${seen?.studiedMs}`;
  if (!seen) return html`<section class="finding-sheet"><p>Studying the passage …</p></section>`;
  if (!finding) return html`<section class="finding-sheet"><p class="hint">Nothing was found that could be looked at. Write a longer passage on the Notate desk, or show everything.</p></section>`;
  return html`<section class="finding-sheet" aria-labelledby="finding-sheet">
    <h2 id="finding-sheet">${finding.sentence}</h2>
    <p class="verdict"><${Strength} finding=${finding} /> <b>${finding.verdict}</b> · ${finding.places}</p>
    <img class="still" src=${picture(finding.id, 960)} alt=${`${finding.sentence} Shown at ${finding.places}.`} />
    <p class="tools">
      <button type="button" class="primary" onClick=${() => playOrStop(stretchOf(finding))}>${isSounding ? "Stop" : "Hear it"}</button>
      <button type="button" onClick=${() => claim(finding)}>Make it a claim</button>
    </p>
    <p>${finding.meaning}</p>
    <details open><summary>In the terms of the field</summary><p>${finding.detail}</p><${Facts} rows=${finding.facts} /></details>
    <details open><summary>How it was weighed</summary><${Facts} rows=${finding.weighing} /><p class="quiet">${finding.method}</p></details>
    <details open=${finding.rivals.length > 0}><summary>${finding.rivals.length ? "Its rivals" : "No rival comes near"}</summary>
      <ul class="rivals">${finding.rivals.map(
        (rival) => html`<li>${rival.words} ${rival.finding && html`<button type="button" onClick=${() => choose(rival.finding)}>Look at it</button>`}
          ${rival.finding && html`<img class="rival" loading="lazy" src=${picture(rival.finding, 480)} alt="The rival's picture" />`}</li>`,
      )}</ul>
    </details>
    <details><summary>All its measures</summary><${Facts} rows=${finding.measures} /></details>
  </section>`;
}

/** @param {{rows: [string, string][]}} props */
function Facts({ rows }) {
  return html`<dl class="facts">${rows.map(([name, text]) => html`<div><dt>${name}</dt><dd>${text}</dd></div>`)}</dl>`;
}

/** @param {import("./findings.js").Finding} finding */
async function claim(finding) {
  const answer = await ask("argue.add", { finding: finding.id });
  if (answer) say(`Claim ${answer.at + 1}: word it on the Argue desk.`);
}

/** Hears what is shown. */
export function hearShown() {
  const finding = shownNow();
  if (finding) playOrStop(stretchOf(finding));
}

/** Makes a claim of what is shown. */
export function claimShown() {
  const finding = shownNow();
  if (finding) claim(finding);
  else store.set({ problem: { what: "no finding is looked at", mend: "choose one", place: "" } });
}
