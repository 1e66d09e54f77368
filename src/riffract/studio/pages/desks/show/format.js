import { ask, say } from "../../app.js";
import { html } from "../../html.js";
import { useStore } from "../../store.js";
import { film } from "./film.js";
import { SHAPES, shapeOf, sized } from "./size.js";

/** Sizes are called by their short side, whatever their shape. */
const SHORT_SIDES = { 360: "Quick trial (360)", 540: "Trial (540)", 720: "HD (720)", 1080: "Full HD (1080)", 2160: "UHD (2160)" };

const LEAST_TO_PUBLISH_PX = 720;

/** The film's shape, size, speed and colours; each choice is one step that undo takes back. */
export function Format() {
  const plan = useStore(film, (state) => state.plan);
  if (!plan) return null;
  const shape = shapeOf(plan.width, plan.height);
  const short = Math.min(plan.width, plan.height);
  /** @param {string} what @param {Record<string, string | number | null>} values */
  const set = async (what, values) => {
    const answer = await ask("show.set", { what, values });
    if (answer) say(answer.undo);
  };
  return html`<section class="format" aria-labelledby="format">
    <h2 id="format">Format and look</h2>
    <label>Shape
      <select value=${shape} onChange=${(/** @type {any} */ e) => set("shape", sized(e.target.value, short))}>
        ${Object.entries(SHAPES).map(([value, name]) => html`<option value=${value}>${name}</option>`)}
        ${!(shape in SHAPES) && html`<option value=${shape}>${plan.width} × ${plan.height}</option>`}
      </select>
    </label>
    <label>Size
      <select value=${short} onChange=${(/** @type {any} */ e) => set("size", sized(shape, Number(e.target.value)))}>
        ${Object.entries(SHORT_SIDES).map(([value, name]) => html`<option value=${value}>${name}</option>`)}
        ${!(short in SHORT_SIDES) && html`<option value=${short}>${plan.width} × ${plan.height}</option>`}
      </select>
    </label>
    <label>Frames a second
      <select value=${plan.frames_a_second} onChange=${(/** @type {any} */ e) => set("frames a second", { frames_per_second: Number(e.target.value) })}>
        ${[24, 25, 30, 50, 60].map((rate) => html`<option value=${rate}>${rate}</option>`)}
      </select>
    </label>
    <label>Colours
      <select onChange=${(/** @type {any} */ e) => set("colours", { look: e.target.value })} value=${plan.look}>
        ${plan.looks.map((/** @type {string} */ name) => html`<option value=${name}>${name}</option>`)}
      </select>
    </label>
    ${short < LEAST_TO_PUBLISH_PX && html`<p class="warning">A trial is made quickly, to look at; choose a larger size before you publish.</p>`}
    <p class="quiet">${plan.width} × ${plan.height} px. Looks of your own are files in the essay's folder.</p>
    ${plan.problems.map((line) => html`<p class="warning">${line}</p>`)}
  </section>`;
}
