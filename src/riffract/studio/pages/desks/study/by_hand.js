import { ask, say } from "../../app.js";
import { html, useState } from "../../html.js";
import { useStore } from "../../store.js";
import { measureAxes, study, studyStretch } from "./findings.js";
import { Kept, keep } from "./kept.js";
import { Riff } from "./riff.js";

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
    <h3>Take it along</h3>
    <p><a href="/study/findings.csv" download>Findings as a table (CSV)</a> · <a href="/study/findings.json" download>for programs (JSON)</a></p>
  </section>`;
}

/** An axis that is dragged along the passage; its measures answer at once, its chance too. */
function Axis() {
  const axes = useStore(study, (state) => state.axes);
  const [row, setRow] = useState(0);
  const [at, setAt] = useState(-1);
  if (!axes) return html`<h3>An axis of time</h3><p><button type="button" onClick=${measureAxes}>Set an axis by hand …</button></p>`;
  const now = axes[row];
  if (!now?.axes.length) return html`<h3>An axis of time</h3><p>The passage is too short for a mirror.</p>`;
  const most = Math.max(...now.axes.map((axis) => axis.bits), 1);
  const best = now.axes.reduce((found, axis, i) => (axis.bits > now.axes[found].bits ? i : found), 0);
  const chosen = at < 0 ? best : Math.min(at, now.axes.length - 1);
  const axis = now.axes[chosen];
  const points = now.axes.map((one, i) => `${(i / (now.axes.length - 1)) * 100},${30 - (one.bits / most) * 28}`).join(" ");
  return html`<h3>An axis of time</h3>
    <label>What is mirrored <select value=${row} onChange=${(/** @type {any} */ e) => { setRow(Number(e.target.value)); setAt(-1); }}>
      ${axes.map((one, i) => html`<option value=${i}>${one.words}</option>`)}
    </select></label>
    <div class="axis">
      <svg viewBox="0 0 100 30" preserveAspectRatio="none" aria-hidden="true"><polyline points=${points} /><line x1=${(chosen / (now.axes.length - 1)) * 100} x2=${(chosen / (now.axes.length - 1)) * 100} y1="0" y2="30" /></svg>
      <input type="range" min="0" max=${now.axes.length - 1} step="1" value=${chosen} aria-label="Where the axis lies" aria-valuetext=${axis.place} onInput=${(/** @type {any} */ e) => setAt(Number(e.target.value))} />
    </div>
    <p><label>Number of the axis, 1 to ${now.axes.length} <input type="number" min="1" max=${now.axes.length} value=${chosen + 1} onInput=${(/** @type {any} */ e) => e.target.value && setAt(Math.max(0, Number(e.target.value) - 1))} /></label></p>
    <dl class="facts" aria-live="polite">
      <div><dt>axis</dt><dd>${axis.place} <b>${at < 0 ? "(the best)" : "(set by hand)"}</b></dd></div>
      <div><dt>pairs</dt><dd>${axis.core} before the first that breaks, ${axis.reach} in all</dd></div>
      <div><dt>evidence</dt><dd>${axis.bits} bits; the best axis has ${now.axes[best].bits}</dd></div>
      <div><dt>chance</dt><dd>${(axis.p * 100).toFixed(1)} % of 499 shuffled orders have an axis as good (repeats not kept: a generous comparison)</dd></div>
    </dl>
    <p><button type="button" onClick=${() => setAt(-1)}>The best one</button> <button type="button" onClick=${() => keep({ axis: { of: now.of, at: axis.quarters } })}>Keep this axis</button></p>`;
}

/** @param {{bars: number}} props */
function Stretch({ bars }) {
  const stretch = useStore(study, (state) => state.stretch);
  const [first, setFirst] = useState(1);
  const [last, setLast] = useState(Math.min(2, bars));
  const solid = stretch ? stretch.seen.questions.flatMap((question) => question.findings).filter((one) => one.strength >= 2) : [];
  return html`<h3>Some bars alone</h3>
    <form onSubmit=${(/** @type {Event} */ event) => { event.preventDefault(); studyStretch(Math.min(first, last), Math.max(first, last)); }}>
      <label>Bars <input type="number" min="1" max=${bars} value=${first} aria-label="First bar" onInput=${(/** @type {any} */ e) => setFirst(Number(e.target.value))} /></label>
      <label>to <input type="number" min="1" max=${bars} value=${last} aria-label="Last bar" onInput=${(/** @type {any} */ e) => setLast(Number(e.target.value))} /></label>
      <button type="submit">Study them</button>
    </form>
    ${stretch &&
    html`<p><b>Bars ${stretch.first} to ${stretch.last}, set by hand:</b> ${solid.length ? "" : "nothing beyond chance."}</p>
      <ul>${solid.map((one) => html`<li>${one.sentence} <small>${one.verdict}</small></li>`)}</ul>
      <p><button type="button" onClick=${() => keep({ stretch: { bars: `${stretch.first}-${stretch.last}` } })}>Keep these bars</button></p>`}`;
}

/** @param {{bars: number}} props */
function Observation({ bars }) {
  const [title, setTitle] = useState("");
  const [where, setWhere] = useState("1");
  return html`<h3>What I see myself</h3>
    <form onSubmit=${async (/** @type {Event} */ event) => {
      event.preventDefault();
      if (await ask("argue.own", { title, bars: where })) {
        setTitle("");
        say("Kept among the claims as an observation of your own.");
      }
    }}>
      <label class="wide">In one sentence <input value=${title} required maxlength="300" onInput=${(/** @type {any} */ e) => setTitle(e.target.value)} /></label>
      <label>Bars <input value=${where} size="6" title=${`1 to ${bars}, as 2-3`} onInput=${(/** @type {any} */ e) => setWhere(e.target.value)} /></label>
      <button type="submit">Keep it</button>
    </form>`;
}

/** How unusual the passage is among other music. */
function Compared() {
  const [told, setTold] = useState(/** @type {any} */ (null));
  const [corpus, setCorpus] = useState("");
  const compare = async (/** @type {string} */ among) => setTold((await ask("study.compare", { corpus: among })) ?? null);
  return html`<h3>Among other music</h3>
    <p><button type="button" onClick=${() => compare("")}>Compare it with the built-in background</button></p>
    <form onSubmit=${(/** @type {Event} */ event) => { event.preventDefault(); compare(corpus); }}>
      <label class="wide">Folder of a corpus that has an index <input value=${corpus} required onInput=${(/** @type {any} */ e) => setCorpus(e.target.value)} /></label>
      <button type="submit">Compare it with that</button>
    </form>
    ${told &&
    html`<p>${told.sentence}</p>
      <ul class="ranks">${told.rows.filter((/** @type {any} */ row) => row.is_remarkable).map((/** @type {any} */ row) => html`<li><b>${row.value}</b> ${row.phrase}: above ${Math.round(row.rank * 100)} of 100</li>`)}</ul>
      <details><summary>All ${told.rows.length} measures</summary><ul class="ranks">${told.rows.map((/** @type {any} */ row) => html`<li>${row.value} · ${Math.round(row.rank * 100)} of 100 · ${row.phrase}</li>`)}</ul></details>
      <p class="quiet">${told.windows} ${told.windows === 1 ? "window" : "windows"} of ${told.attacks} attacks, among ${told.pieces} pieces. ${told.caution}</p>`}`;
}
