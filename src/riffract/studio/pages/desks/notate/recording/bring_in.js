import { store } from "../../../app.js";
import { html, useEffect, useRef, useState } from "../../../html.js";
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
  const [recorder, setRecorder] = useState(/** @type {MediaRecorder | null} */ (null));
  const [level, setLevel] = useState(0);
  useEffect(() => (recorder ? watchLevel(recorder.stream, setLevel) : undefined), [recorder]);
  const start = async () => {
    let stream;
    try {
      // The sound as it is: nothing that is made for speech on the telephone.
      const sound = { echoCancellation: false, noiseSuppression: false, autoGainControl: false };
      stream = await navigator.mediaDevices.getUserMedia({ audio: sound });
    } catch (error) {
      const why = /** @type {Error} */ (error).name === "NotAllowedError" ? "the browser may not use it" : "there is none";
      store.set({ problem: { what: `the microphone cannot be used: ${why}`, mend: "plug one in, or allow it beside the address", place: "" } });
      return;
    }
    const next = new MediaRecorder(stream);
    /** @type {Blob[]} */
    const pieces = [];
    next.ondataavailable = (event) => pieces.push(event.data);
    next.onstop = () => {
      for (const track of stream.getTracks()) track.stop();
      setRecorder(null);
      setLevel(0);
      const ending = next.mimeType.includes("mp4") ? "m4a" : next.mimeType.includes("ogg") ? "ogg" : "webm";
      const time = new Date().toISOString().slice(0, 19).replace(/[-:T]/g, "");
      bringIn(new Blob(pieces, { type: next.mimeType }), `recorded-${time}.${ending}`);
    };
    next.start(1000);
    setRecorder(next);
  };
  if (!recorder) return html`<button type="button" onClick=${start}>Record</button>`;
  return html`<button type="button" class="recording" onClick=${() => recorder.stop()}>■ Stop recording</button>
    <meter min="0" max="1" low="0.1" high="0.9" value=${level} aria-label="Level of the microphone">${Math.round(level * 100)} %</meter>
    ${level > 0.98 && html`<span role="status">too loud: turn it down</span>`}`;
}

/**
 * Tells how loud a stream is, ten times a second, until it is taken back.
 * @param {MediaStream} stream
 * @param {(level: number) => void} tell
 */
function watchLevel(stream, tell) {
  const context = new AudioContext();
  const analyser = context.createAnalyser();
  context.createMediaStreamSource(stream).connect(analyser);
  const samples = new Float32Array(analyser.fftSize);
  const timer = setInterval(() => {
    analyser.getFloatTimeDomainData(samples);
    tell(samples.reduce((most, sample) => Math.max(most, Math.abs(sample)), 0));
  }, 100);
  return () => {
    clearInterval(timer);
    context.close();
  };
}
