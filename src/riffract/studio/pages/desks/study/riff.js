import { html } from "../../html.js";
import { useStore } from "../../store.js";
import { Begin } from "./begin.js";
import { measureRiff, study } from "./findings.js";
import { keep } from "./kept.js";

/** A riff whose start and length are set by hand; the passage is read by it at once. */
export function Riff() {
  const riff = useStore(study, (state) => state.riff);
  if (!riff) return html`<h3>Where the riff starts and ends</h3><p><${Begin} name="Set the riff by hand …" begin=${() => measureRiff(null, 0)} goal=".edge input" /></p>`;
  const { first, count, attacks } = riff;
  /** @param {number} start @param {number} length */
  const to = (start, length) => {
    const begins = Math.min(Math.max(start, 0), attacks - 2);
    measureRiff(begins, Math.min(Math.max(length, 2), attacks - begins));
  };
  const behind = riff.best_bits === null ? "" : riff.bits > riff.best_bits ? `, ${(riff.bits - riff.best_bits).toFixed(1)} behind the best riff found` : ", as good as the best riff found";
  return html`<h3>Where the riff starts and ends</h3>
    <${Edge} name="The riff starts" value=${first} least=${0} most=${attacks - 2} shown=${first + 1} place=${riff.starts_at} onMove=${(/** @type {number} */ at) => to(at, count)} />
    <${Edge} name="How many attacks it has" value=${count} least=${2} most=${attacks - first} shown=${count} place=${`${count} attacks, the last at ${riff.ends_with}`} onMove=${(/** @type {number} */ length) => to(first, length)} />
    <dl class="facts" aria-live="polite">
      <div><dt>reads as</dt><dd>${riff.sentence}</dd></div>
      <div><dt>passes</dt><dd>${riff.passes.map((one) => `${one.place}: ${one.departures ? `${one.departures} ${one.departures === 1 ? "departure" : "departures"}` : "as written"}${one.is_cut_off ? ", cut off" : ""}`).join("; ")}</dd></div>
      <div><dt>evidence</dt><dd>${riff.bits} bits with it, ${riff.plain_bits} without${behind}</dd></div>
      <div><dt>chance</dt><dd>${riff.chance}, if nothing comes back on purpose</dd></div>
    </dl>
    <p><button type="button" onClick=${() => measureRiff(null, 0)}>The one found</button> <button type="button" onClick=${() => keep({ riff: { start: riff.start, end: riff.end } })}>Keep this riff</button></p>`;
}

/**
 * An edge that is dragged, moved by arrows, or typed as a number.
 * @param {{name: string, value: number, least: number, most: number, shown: number, place: string, onMove: (at: number) => void}} props
 */
function Edge({ name, value, least, most, shown, place, onMove }) {
  const offset = shown - value;
  return html`<div class="edge">
    <span>${name} <b>${place}</b></span>
    <input type="range" min=${least} max=${most} step="1" value=${value} aria-label=${name} aria-valuetext=${place} onInput=${(/** @type {any} */ e) => onMove(Number(e.target.value))} />
    <input type="number" min=${least + offset} max=${most + offset} value=${shown} aria-label=${`${name}, as a number`} onChange=${(/** @type {any} */ e) => e.target.value && onMove(Number(e.target.value) - offset)} />
  </div>`;
}
