import { html, useMemo } from "../../html.js";
import { useStore } from "../../store.js";
import { Begin } from "./begin.js";
import { measureRiff, study } from "./findings.js";
import { keep } from "./kept.js";

/** A riff whose start and length are set by hand; the passage is read by it at once. */
export function Riff() {
  const riff = useStore(study, (state) => state.riff);
  if (!riff) return html`<h3>Where the riff starts and ends</h3><p><${Begin} name="Set the riff by hand …" begin=${() => measureRiff(null, 0)} goal=".edge input" /></p>`;
  const { first, count, places } = riff;
  const last = first + count - 1;
  /** @param {number} start @param {number} end its first and its last attack; it has two at least */
  const to = (start, end) => measureRiff(start, end - start + 1);
  const behind = riff.best_bits === null ? "" : riff.bits > riff.best_bits ? `, ${(riff.bits - riff.best_bits).toFixed(1)} behind the best riff found` : ", as good as the best riff found";
  return html`<h3>Where the riff starts and ends</h3>
    <${Edge} name="The riff starts" at=${first} least=${0} places=${places.slice(0, -1)} onMove=${(/** @type {number} */ at) => to(at, Math.min(Math.max(at + count - 1, at + 1), places.length - 1))} />
    <${Edge} name="Its last attack" at=${last} least=${first + 1} places=${places.slice(first + 1)} onMove=${(/** @type {number} */ at) => to(first, at)} />
    <p class="quiet">${count} attacks</p>
    <dl class="facts" aria-live="polite">
      <div><dt>reads as</dt><dd>${riff.sentence}</dd></div>
      <div><dt>passes</dt><dd>${riff.passes.map((one) => `${one.place}: ${one.departures ? `${one.departures} ${one.departures === 1 ? "departure" : "departures"}` : "as written"}${one.is_cut_off ? ", cut off" : ""}`).join("; ")}</dd></div>
      <div><dt>evidence</dt><dd>${riff.bits} bits with it, ${riff.plain_bits} without${behind}</dd></div>
      <div><dt>chance</dt><dd>${riff.chance}, if nothing comes back on purpose</dd></div>
    </dl>
    <p><button type="button" onClick=${() => measureRiff(null, 0)}>The one found</button> <button type="button" onClick=${() => keep({ riff: { start: riff.start, end: riff.end } })}>Keep this riff</button></p>`;
}

/**
 * An attack that is dragged along, moved by arrows, or chosen by its bar and beat.
 * @param {{name: string, at: number, least: number, places: readonly string[], onMove: (at: number) => void}} props
 *   `places` from the attack `least` on
 */
function Edge({ name, at, least, places, onMove }) {
  const key = places.join();
  // A long passage has many hundred; they stay while the handle is dragged along.
  const options = useMemo(() => places.map((place, i) => html`<option value=${least + i}>${place}</option>`), [least, key]);
  const move = (/** @type {any} */ event) => onMove(Number(event.target.value));
  return html`<div class="edge">
    <span>${name}</span>
    <input type="range" min=${least} max=${least + places.length - 1} step="1" value=${at} aria-label=${name} aria-valuetext=${places[at - least]} onInput=${move} />
    <select value=${at} aria-label=${`${name}, by bar and beat`} onChange=${move}>${options}</select>
  </div>`;
}
