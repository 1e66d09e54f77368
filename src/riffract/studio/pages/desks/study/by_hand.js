import { ask, say } from "../../app.js";
import { html, useEffect, useRef, useState } from "../../html.js";
import { useStore } from "../../store.js";
import { Axis } from "./axis.js";
import { study } from "./findings.js";
import { Kept } from "./kept.js";
import { Riff } from "./riff.js";
import { Stretch } from "./stretch.js";

/** What the analyst sets: an axis, a stretch, an observation, a comparison. */
export function ByHand() {
  const seen = useStore(study, (state) => state.seen);
  if (!seen) return null;
  return html`<section class="by-hand" aria-labelledby="by-hand">
    <h2 id="by-hand">By hand</h2>
    <${Kept} />
    <${Axis} />
    <${Riff} />
    <${Stretch} bars=${seen.bars} />
    <${Observation} bars=${seen.bars} />
    <${Compared} />
    <h2>Take it along</h2>
    <p><a href="/study/findings.csv" download>Findings as a table (CSV)</a> · <a href="/study/findings.json" download>for programs (JSON)</a></p>
  </section>`;
}

/** @param {{bars: number}} props */
function Observation({ bars }) {
  const [title, setTitle] = useState("");
  const [where, setWhere] = useState("1");
  const isBusy = useRef(false);
  const keep = async () => {
    if (isBusy.current) return; // a second press keeps nothing twice
    isBusy.current = true;
    if (await ask("argue.own", { title, bars: where })) {
      setTitle("");
      say("Kept among the claims as an observation of your own.");
    }
    isBusy.current = false;
  };
  return html`<h3>What I see myself</h3>
    <form onSubmit=${(/** @type {Event} */ event) => { event.preventDefault(); keep(); }}>
      <label class="wide">In one sentence <input value=${title} required maxlength="300" onInput=${(/** @type {any} */ e) => setTitle(e.target.value)} /></label>
      <label>Bars <input value=${where} size="6" title=${`1 to ${bars}, as 2-3; or from beat to beat, as 2:3-4:1`} onInput=${(/** @type {any} */ e) => setWhere(e.target.value)} /></label>
      <button type="submit">Keep it</button>
    </form>`;
}

/** How unusual the passage is among other music. */
function Compared() {
  const [told, setTold] = useState(/** @type {any} */ (null));
  const [corpus, setCorpus] = useState("");
  const [isComparing, setIsComparing] = useState(false);
  const wish = useRef(0);
  const compare = async (/** @type {string} */ among) => {
    const mine = ++wish.current;
    setIsComparing(true);
    const answer = await ask("study.compare", { corpus: among });
    if (mine !== wish.current) return;
    setIsComparing(false);
    setTold(answer ?? null);
    if (answer) say(`Compared with ${answer.pieces} pieces.`);
  };
  const ranks = useRef(/** @type {HTMLElement | null} */ (null));
  useEffect(() => ranks.current?.scrollIntoView({ block: "nearest" }), [told]);
  return html`<h2>Among other music</h2>
    <p class="quiet">How many in 100 passages of other music lie below this one, measure by measure.</p>
    <p><button type="button" onClick=${() => compare("")}>Compare it with the built-in background</button></p>
    <form onSubmit=${(/** @type {Event} */ event) => { event.preventDefault(); compare(corpus); }}>
      <label class="wide">Or a folder of your own music, measured by <code>riffract corpus build</code>
        <input value=${corpus} required spellcheck=${false} onInput=${(/** @type {any} */ e) => setCorpus(e.target.value)} /></label>
      <button type="submit">Compare it with that</button>
    </form>
    <p role="status" class="quiet">${isComparing ? "Comparing …" : ""}</p>
    ${told && !isComparing &&
    html`<div class="ranked" ref=${ranks}><p>${told.sentence}</p>
      <ul class="ranks">${told.rows.filter((/** @type {any} */ row) => row.is_remarkable).map((/** @type {any} */ row) => html`<li><b>${row.value}</b> ${row.phrase}: above ${Math.round(row.rank * 100)} of 100</li>`)}</ul>
      <details><summary>All ${told.rows.length} measures</summary><ul class="ranks">${told.rows.map((/** @type {any} */ row) => html`<li>${row.value} · ${Math.round(row.rank * 100)} of 100 · ${row.phrase}</li>`)}</ul></details>
      <p class="quiet">${told.windows} ${told.windows === 1 ? "window" : "windows"} of ${told.attacks} attacks, among ${told.pieces} pieces. ${told.caution}</p></div>`}`;
}
