import { ask } from "../../app.js";
import { html } from "../../html.js";
import { useStore } from "../../store.js";
import { film } from "./film.js";

const SHAPES = { "16:9": "16 : 9, wide", "9:16": "9 : 16, upright", "1:1": "1 : 1, square", "4:5": "4 : 5" };
const LONG_SIDES = { 1280: "HD (720)", 1920: "Full HD (1080)", 3840: "UHD (2160)" };

/** The film's shape, size, speed and colours; each choice is one step that undo takes back. */
export function Format() {
  const plan = useStore(film, (state) => state.plan);
  if (!plan) return null;
  const shape = shapeOf(plan.width, plan.height);
  const long = Math.max(plan.width, plan.height);
  /** @param {string} key @param {unknown} value */
  const set = (key, value) => ask("show.set", { key, value });
  /** @param {string} name */
  const setShape = async (name) => {
    await set("width", null);
    await set("height", null);
    await set("shape", name);
  };
  return html`<section class="format" aria-labelledby="format">
    <h2 id="format">Format and look</h2>
    <label>Shape
      <select value=${shape} onChange=${(/** @type {any} */ e) => setShape(e.target.value)}>
        ${Object.entries(SHAPES).map(([value, name]) => html`<option value=${value}>${name}</option>`)}
        ${!(shape in SHAPES) && html`<option value=${shape}>${plan.width} × ${plan.height}</option>`}
      </select>
    </label>
    <label>Size
      <select value=${long} onChange=${(/** @type {any} */ e) => set(plan.width >= plan.height ? "width" : "height", Number(e.target.value))}>
        ${Object.entries(LONG_SIDES).map(([value, name]) => html`<option value=${value}>${name}</option>`)}
        ${!(long in LONG_SIDES) && html`<option value=${long}>${plan.width} × ${plan.height}</option>`}
      </select>
    </label>
    <label>Frames a second
      <select value=${plan.frames_a_second} onChange=${(/** @type {any} */ e) => set("frames_per_second", Number(e.target.value))}>
        ${[24, 25, 30, 50, 60].map((rate) => html`<option value=${rate}>${rate}</option>`)}
      </select>
    </label>
    <label>Colours
      <select onChange=${(/** @type {any} */ e) => set("look", e.target.value)} value=${plan.look}>
        ${plan.looks.map((/** @type {string} */ name) => html`<option value=${name}>${name}</option>`)}
      </select>
    </label>
    <p class="quiet">${plan.width} × ${plan.height} px. Looks of your own are files in the essay's folder.</p>
    ${plan.problems.map((line) => html`<p class="warning">${line}</p>`)}
  </section>`;
}

/**
 * Names a picture's shape as the settings do.
 * @param {number} width
 * @param {number} height
 */
export function shapeOf(width, height) {
  const divisor = common(width, height);
  return `${width / divisor}:${height / divisor}`;
}

/** @param {number} a @param {number} b @returns {number} */
function common(a, b) {
  return b === 0 ? a : common(b, a % b);
}
