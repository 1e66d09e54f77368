import { store } from "../../../app.js";
import { html, useRef } from "../../../html.js";
import { isFirstClick, useMicrophone } from "../../../parts/microphone.js";
import { bringIn } from "./recording.js";

const KINDS = ".wav,.aiff,.aif,.flac,.ogg,.opus,.mp3,.aac,.m4a,.mp4,.mkv,.webm,audio/*,video/mp4,video/webm";

/** Ways to a recording: a file, or the microphone. */
export function BringIn({ isFirst = false }) {
  const input = useRef(/** @type {HTMLInputElement | null} */ (null));
  return html`<span class="bring-in">
    <input ref=${input} type="file" accept=${KINDS} class="hidden-words" aria-label="A recording" tabindex="-1"
      onChange=${(/** @type {any} */ event) => {
        const file = event.target.files[0];
        if (file) bringIn(file, file.name);
        event.target.value = "";
      }} />
    <button type="button" class=${isFirst ? "primary" : ""} onClick=${() => input.current?.click()}>
      ${isFirst ? "Bring a recording in" : "Another recording"}</button>
    <${Microphone} />
  </span>`;
}

/** Records from the microphone or line; what was recorded is brought in as a file of its own. */
function Microphone() {
  const { folder } = store.get();
  const { isRunning, level, begin, end } = useMicrophone((sound, ending) => {
    const time = new Date().toISOString().slice(0, 19).replace(/[-:T]/g, "");
    return bringIn(sound, `recorded-${time}.${ending}`, folder);
  });
  if (!isRunning) return html`<button type="button" onClick=${begin}>Record</button>`;
  return html`<button type="button" class="recording" onClick=${(/** @type {MouseEvent} */ click) => isFirstClick(click) && end()}>■ Stop recording</button><${Level} level=${level} />`;
}

/** @param {{level: number}} props the peak, 0..1 */
export function Level({ level }) {
  return html`<meter min="0" max="1" low="0.1" high="0.9" value=${level} aria-label="Level of the microphone">${Math.round(level * 100)} %</meter>
    ${level > 0.98 && html`<span role="status">too loud: turn it down</span>`}`;
}
