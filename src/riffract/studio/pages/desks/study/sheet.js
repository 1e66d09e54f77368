import { ask, say, store } from "../../app.js";
import { html } from "../../html.js";
import { player, playOrStop } from "../../player.js";
import { useStore } from "../../store.js";
import { look } from "../notate/sheet.js";
import { allOf, study } from "./findings.js";
import { Strength } from "./list.js";

/** The finding that is looked at: its picture, its evidence, its rivals. */
export function FindingSheet() {
  const seen = useStore(study, (state) => state.seen);
  const chosen = useStore(study, (state) => state.chosen);
  const isSounding = useStore(player, (state) => state.isPlaying || state.isWaiting);
  const finding = seen && allOf(seen).find((one) => one.id === chosen);
  if (!seen) return html`<section class="finding-sheet"><p>Studying the passage …</p></section>`;
  if (!finding) return html`<section class="finding-sheet"><p class="hint">Nothing was found that could be looked at. Write a longer passage on the Notate desk, or show everything.</p></section>`;
  return html`<section class="finding-sheet" aria-labelledby="finding-sheet" key=${finding.id}>
    <h2 id="finding-sheet">${finding.sentence}</h2>
    <p class="verdict"><${Strength} finding=${finding} /> <b>${finding.verdict}</b> · ${finding.places}</p>
    <img class="still" src=${`/study/picture/${finding.id}?width=960&look=${look()}&revision=${seen.revision}`} alt=${`${finding.sentence} Shown at ${finding.places}.`} />
    <p class="tools">
      <button type="button" class="primary" onClick=${() => hear(finding)}>${isSounding ? "Stop" : "Hear it"}</button>
      <button type="button" onClick=${() => claim(finding)}>Make it a claim</button>
    </p>
    <p>${finding.meaning}</p>
    <details open><summary>In the terms of the field</summary><p>${finding.detail}</p><${Facts} rows=${finding.facts} /></details>
    <details open><summary>How it was weighed</summary><${Facts} rows=${finding.weighing} /><p class="quiet">${finding.method}</p></details>
    <details open=${finding.rivals.length > 0}><summary>${finding.rivals.length ? "Its rivals" : "No rival comes near"}</summary>
      <ul class="rivals">${finding.rivals.map(
        (rival) => html`<li>${rival.words} ${rival.finding && html`<button type="button" onClick=${() => study.set({ chosen: rival.finding })}>Look at it</button>`}
          ${rival.finding && html`<img class="rival" loading="lazy" src=${`/study/picture/${rival.finding}?width=480&look=${look()}&revision=${seen.revision}`} alt="The rival's picture" />`}</li>`,
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
export function hear(finding) {
  const [start, end] = finding.spans[0] ?? [];
  playOrStop(start === undefined ? {} : { start, end });
}

/** @param {import("./findings.js").Finding} finding */
async function claim(finding) {
  const answer = await ask("argue.add", { finding: finding.id });
  if (answer) say(`Claim ${answer.at + 1}: word it on the Argue desk.`);
}

/** Hears what is looked at. */
export function hearChosen() {
  const { seen, chosen } = study.get();
  const finding = seen && allOf(seen).find((one) => one.id === chosen);
  if (finding) hear(finding);
}

/** Makes a claim of what is looked at. */
export function claimChosen() {
  const { seen, chosen } = study.get();
  const finding = seen && allOf(seen).find((one) => one.id === chosen);
  if (finding) claim(finding);
  else store.set({ problem: { what: "no finding is looked at", mend: "choose one", place: "" } });
}
