import { html, useMemo, useState } from "../../html.js";
import { playOrStop } from "../../player.js";
import { useStore } from "../../store.js";
import { Begin } from "./begin.js";
import { measureAxes, study } from "./findings.js";
import { keep } from "./kept.js";

/** An axis of time or of pitch that is dragged along; its measures answer at once, its chance too. */
export function Axis() {
  const axes = useStore(study, (state) => state.axes);
  const [wanted, setRow] = useState(-1);
  const [at, setAt] = useState(-1);
  if (!axes) return html`<h3>An axis of time or pitch</h3><p><${Begin} name="Set an axis by hand …" begin=${measureAxes} goal=".axis input" /></p>`;
  // What shows most is looked at first: of equal values, say, no axis is better than another.
  const most = axes.map((one) => Math.max(0, ...one.axes.map((axis) => axis.bits)));
  const row = axes[wanted] ? wanted : most.indexOf(Math.max(...most));
  const now = axes[row];
  if (!now?.axes.length) return html`<h3>An axis of time or pitch</h3><p>The passage is too short for a mirror.</p>`;
  const best = now.axes.reduce((found, axis, i) => (axis.bits > now.axes[found].bits ? i : found), 0);
  const chosen = at < 0 ? best : Math.min(at, now.axes.length - 1);
  const axis = now.axes[chosen];
  const kept = now.of === "inversion" ? { pitch_axis: { pitch: Number(axis.at) } } : { axis: { of: now.of, at: axis.at } };
  return html`<h3>An axis of time or pitch</h3>
    <label>What is mirrored <select value=${row} onChange=${(/** @type {any} */ e) => { setRow(Number(e.target.value)); setAt(-1); }}>
      ${axes.map((one, i) => html`<option value=${i}>${one.words}</option>`)}
    </select></label>
    ${most[row] <= 0 && html`<p class="quiet">No axis of these is better than another here; something else may be mirrored.</p>`}
    <${Curve} axes=${now.axes} chosen=${chosen} onMove=${setAt} />
    <p><${Places} axes=${now.axes} chosen=${chosen} onMove=${setAt} /></p>
    <dl class="facts" aria-live="polite">
      <div><dt>axis</dt><dd>${axis.place} <b>${at < 0 ? "(the best)" : "(set by hand)"}</b></dd></div>
      <div><dt>mirrored</dt><dd>${axis.told}</dd></div>
      <div><dt>evidence</dt><dd>${axis.bits} bits; the best axis has ${now.axes[best].bits}</dd></div>
      <div><dt>chance</dt><dd>${(axis.p * 100).toFixed(1)} % of 499 shuffled orders have an axis as good (repeats not kept: a generous comparison)</dd></div>
    </dl>
    <p class="tools">
      <button type="button" disabled=${!axis.start} onClick=${() => playOrStop({ start: axis.start, end: axis.end })}>Hear around it</button>
      <button type="button" onClick=${() => setAt(-1)}>The best one</button>
      <button type="button" onClick=${() => keep(kept)}>Keep this axis</button>
    </p>`;
}

/**
 * All axes by the bar and beat where they lie, or by their pitch.
 * @param {{axes: readonly import("./findings.js").Axis[], chosen: number, onMove: (at: number) => void}} props
 */
function Places({ axes, chosen, onMove }) {
  // A long passage has many hundred; they stay while the handle is dragged along.
  const options = useMemo(() => axes.map((axis, i) => html`<option value=${i}>${axis.place}</option>`), [axes]);
  return html`<label>It lies at <select value=${chosen} onChange=${(/** @type {any} */ e) => onMove(Number(e.target.value))}>${options}</select></label>`;
}

/**
 * The evidence of every axis, and the handle that is dragged along.
 * @param {{axes: readonly import("./findings.js").Axis[], chosen: number, onMove: (at: number) => void}} props
 */
function Curve({ axes, chosen, onMove }) {
  const most = Math.max(...axes.map((axis) => axis.bits), 1);
  const x = (/** @type {number} */ i) => (i / Math.max(axes.length - 1, 1)) * 100;
  const points = axes.map((one, i) => `${x(i)},${30 - (one.bits / most) * 28}`).join(" ");
  return html`<div class="axis">
    <svg viewBox="0 0 100 30" preserveAspectRatio="none" aria-hidden="true"><polyline points=${points} /><line x1=${x(chosen)} x2=${x(chosen)} y1="0" y2="30" /></svg>
    <input type="range" min="0" max=${axes.length - 1} step="1" value=${chosen} aria-label="Where the axis lies" aria-valuetext=${axes[chosen].place} onInput=${(/** @type {any} */ e) => onMove(Number(e.target.value))} />
  </div>`;
}
