import { html } from "../../html.js";
import { player, playOrStop } from "../../player.js";
import { askFor } from "../../parts/form_dialog.js";
import { LEFT, Typed } from "../../parts/typed.js";
import { useStore } from "../../store.js";
import { timeText } from "../show/film.js";
import { argument, keyOf, remove, setField, setWords } from "./argument.js";
import { Narration } from "./narration.js";

const SCENE_NAMES = /** @type {Record<string, string>} */ ({
  page: "page – the strings in time",
  stack: "stack – the passes, one below the other",
  fold: "fold – the mirror",
  clock: "clock – the notes as a shape",
  contour: "contour – the riff as a skyline, each note at its pitch",
  thread: "thread – the string that rings on",
  growth: "growth – where the idea comes from",
  hand: "hand – shapes on the neck",
  metre: "metre – passes against bars",
  weight: "weight – how it stands against chance",
  whole: "whole – everything at once",
});

/** The claim that is looked at: its words, its picture, what is played. */
export function ClaimSheet() {
  const seen = useStore(argument, (state) => state.seen);
  const at = useStore(argument, (state) => state.at);
  const claim = seen?.claims[at];
  if (!seen || !claim) return html`<section class="claim-sheet"></section>`;
  return html`<section class="claim-sheet" aria-labelledby="claim-sheet" key=${keyOf(claim, at)}>
    <h2 id="claim-sheet">Claim ${at + 1}</h2>
    <p class="bears">${claim.sentence ? html`<b>${claim.verdict}</b> – ${claim.sentence}` : seen.is_proposed ? "It only shows the passage; no finding stands behind it." : "An observation of your own; the handout says so."}</p>
    <label>The claim, one plain sentence
      <${Typed} id="claim-title" value=${claim.title} maxlength="300" commit=${(/** @type {string} */ text, /** @type {string} */ before) => text.trim() && setTitle(claim, text.trim(), before)} />
    </label>
    <label>Shown as
      <select value=${claim.scene} onChange=${(/** @type {any} */ e) => setField("scene", e.target.value)}>
        ${seen.scenes.map((scene) => html`<option value=${scene}>${SCENE_NAMES[scene] ?? scene}${claim.fits.includes(scene) ? "" : " (does not fit)"}</option>`)}
      </select>
    </label>
    ${claim.scene === "clock" && html`<label class="choice">
      <input type="checkbox" checked=${claim.profile} onChange=${(/** @type {any} */ e) => setField("profile", e.target.checked)} />
      With the profile: how much the notes gather at one to six evenly spaced places
    </label>`}
    ${claim.warning && html`<p class="warning">${claim.warning}</p>`}
    <div class="still"><p aria-hidden="true">Drawing …</p>
      ${!seen.isOld && html`<img src=${`/show/frame?at=${(claim.start + claim.seconds - 0.05).toFixed(3)}&width=640&revision=${seen.revision}`}
        alt=${`The picture of claim ${at + 1} at its end`} />`}</div>
    <${Lines} claim=${claim} />
    <${Narration} claim=${claim} />
    <${Excerpts} claim=${claim} bars=${seen.bars} strings=${seen.strings} />
    <p><button type="button" onClick=${remove}>Take this claim out</button></p>
  </section>`;
}

/**
 * Words a claim; if another page has reworded it meanwhile, the person says which it is to be.
 * @param {import("./argument.js").Claim} claim
 * @param {string} text
 * @param {string} before
 * @returns {Promise<unknown>} `LEFT` if theirs stays
 */
async function setTitle(claim, text, before) {
  const theirs = await setWords(claim, "title", text, before);
  if (theirs === undefined) return undefined;
  const mine = await askWhich("The claim", text, theirs);
  return mine ? setTitle(claim, mine, theirs) : LEFT;
}

/**
 * Writes a line of what is said; if another page has changed it meanwhile, the person says which it is to be.
 * @param {import("./argument.js").Claim} claim
 * @param {number} index one more than there are for a new line
 * @param {string} text takes the line out if it is empty
 * @param {readonly string[]} before all lines when one began to type
 * @returns {Promise<unknown>} `LEFT` if theirs stays
 */
async function setLine(claim, index, text, before) {
  const isNew = index >= before.length;
  const changed = isNew ? [...before, text] : before.map((line, i) => (i === index ? text : line));
  const theirs = await setWords(claim, "lines", changed.filter((line) => line.trim()), before);
  if (theirs === undefined) return undefined;
  // Two new lines are no question: one comes after the other.
  if (isNew) return setLine(claim, theirs.length, text, theirs);
  const mine = await askWhich(`Line ${index + 1}`, text, theirs[index] ?? "");
  return mine === "" ? LEFT : setLine(claim, index, mine, theirs);
}

/**
 * Asks which words it is to be.
 * @param {string} what was changed on two pages
 * @param {string} mine
 * @param {string} theirs
 * @returns {Promise<string>} empty if theirs are to stay
 */
async function askWhich(what, mine, theirs) {
  const now = theirs ? `On the other page it says: ${theirs}` : "On the other page it was taken out.";
  const asked = await askFor(`${what} was changed on another page meanwhile`, [{ name: "text", label: "What shall it say?", value: mine, hint: now }], "Write this");
  return asked?.text.trim() ?? "";
}

/** @param {{claim: import("./argument.js").Claim}} props */
function Lines({ claim }) {
  const { lines } = claim;
  // A line is the same field when it comes to be there, and when others come and go: what is typed stays in it.
  return html`<fieldset class="lines">
    <legend>What is said – ${timeText(claim.reading_seconds)} to read, the shot lasts ${timeText(claim.seconds)}</legend>
    ${[...lines, ""].map(
      (line, index) => html`<label key=${index}>
        <span>${lineName(claim, index)}</span>
        <${Typed} tag="textarea" rows="2" maxlength="2000" value=${line} seen=${lines}
          commit=${(/** @type {string} */ text, /** @type {string[]} */ before) => (text.trim() || index < before.length) && setLine(claim, index, text, before)} />
      </label>`,
    )}
  </fieldset>`;
}

/**
 * Names a line, and says when it comes.
 * @param {import("./argument.js").Claim} claim
 * @param {number} index one more than there are for a new line
 */
function lineName({ lines, line_starts, start }, index) {
  const name = index === 0 ? "What to listen for" : index < lines.length ? `Line ${index + 1}` : "Another line";
  return index < lines.length ? `${name} · ${timeText(line_starts[index] ?? start)}` : name;
}

/** @param {{claim: import("./argument.js").Claim, bars: number, strings: number}} props */
function Excerpts({ claim, bars, strings }) {
  const isSounding = useStore(player, (state) => state.isPlaying || state.isWaiting);
  const rows = claim.excerpts.map(asWritten);
  /** @param {number} index @param {object} change */
  const set = (index, change) => setField("play", rows.map((row, i) => (i === index ? trimmed({ ...row, ...change }) : row)));
  return html`<fieldset class="excerpts">
    <legend>What is played</legend>
    ${claim.excerpts.map(
      (excerpt, index) => html`<div class="excerpt" key=${index} role="group" aria-label=${`Excerpt ${index + 1}`}>
        <label>Bars <${Typed} value=${excerpt.bars} size="6" title=${`1 to ${bars}, as 2-3`} commit=${(/** @type {string} */ text) => set(index, { bars: text })} /></label>
        <label>Speed
          <select value=${excerpt.speed} onChange=${(/** @type {any} */ e) => set(index, { speed: Number(e.target.value) })}>
            ${speeds(excerpt.speed).map((speed) => html`<option value=${speed}>${Math.round(speed * 100)} %</option>`)}
          </select>
        </label>
        <label>Times <input type="number" min="1" max="8" value=${excerpt.times} onChange=${(/** @type {any} */ e) => set(index, { times: Number(e.target.value) })} /></label>
        <label>Strings <${Typed} value=${excerpt.strings.join(" ")} size="8" placeholder="all" title=${`1 is the highest of ${strings}; rendered, not from the recording`}
          commit=${(/** @type {string} */ text) => set(index, { strings: numbers(text) })} /></label>
        <button type="button" onClick=${() => playOrStop({ start: excerpt.start, end: excerpt.end, speed: Math.min(excerpt.speed, 1), strings: excerpt.strings })}>
          ${isSounding ? "Stop" : "Hear"}</button>
        <button type="button" aria-label=${`Take excerpt ${index + 1} out`} onClick=${() => setField("play", rows.filter((_, i) => i !== index))}>×</button>
      </div>`,
    )}
    <button type="button" onClick=${() => setField("play", [...rows, { bars: "1" }])}>Add an excerpt</button>
  </fieldset>`;
}

/**
 * Writes an excerpt as its file does.
 * @param {import("./argument.js").Excerpt} excerpt
 */
function asWritten(excerpt) {
  return trimmed({ bars: excerpt.bars, speed: excerpt.speed, times: excerpt.times, strings: excerpt.strings });
}

/**
 * Leaves out what goes without saying.
 * @param {{bars: string, speed?: number, times?: number, strings?: number[]}} row
 */
export function trimmed(row) {
  /** @type {typeof row} */
  const kept = { bars: row.bars };
  if (row.speed !== undefined && row.speed !== 1) kept.speed = row.speed;
  if (row.times !== undefined && row.times !== 1) kept.times = row.times;
  if (row.strings?.length) kept.strings = row.strings;
  return kept;
}

/**
 * Reads numbers from what was typed: `1 2`, `1,2`.
 * @param {string} text
 */
export function numbers(text) {
  return [...new Set((text.match(/\d+/g) ?? []).map(Number))].sort((a, b) => a - b);
}

/** @param {number} speed */
function speeds(speed) {
  const usual = [0.25, 0.35, 0.5, 0.6, 0.7, 0.8, 0.9, 1, 1.25, 1.5];
  return usual.includes(speed) ? usual : [...usual, speed].sort((a, b) => a - b);
}
