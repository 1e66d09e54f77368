import { store } from "../app.js";

/**
 * @typedef {{stop: () => Promise<{sound: Blob, ending: string}>}} Recording
 */

/**
 * Records from the microphone or line, as it is: nothing that is made for speech on the telephone.
 * @param {(level: number) => void} tellLevel is told the peak, 0..1, ten times a second
 * @returns {Promise<Recording | null>} `null` if there is none; the person is told why
 */
export async function record(tellLevel) {
  let stream;
  try {
    const sound = { echoCancellation: false, noiseSuppression: false, autoGainControl: false };
    stream = await navigator.mediaDevices.getUserMedia({ audio: sound });
  } catch (error) {
    const isForbidden = /** @type {Error} */ (error).name === "NotAllowedError";
    const why = isForbidden ? "the browser may not use it" : "there is none";
    store.set({ problem: { what: `the microphone cannot be used: ${why}`, mend: "plug one in, or allow it beside the address", place: "" } });
    return null;
  }
  const recorder = new MediaRecorder(stream);
  /** @type {Blob[]} */
  const pieces = [];
  recorder.ondataavailable = (event) => pieces.push(event.data);
  recorder.start(1000);
  const endLevel = watchLevel(stream, tellLevel);
  return {
    stop: () =>
      new Promise((resolve) => {
        recorder.onstop = () => {
          endLevel();
          for (const track of stream.getTracks()) track.stop();
          const kind = recorder.mimeType;
          const ending = kind.includes("mp4") ? "m4a" : kind.includes("ogg") ? "ogg" : "webm";
          resolve({ sound: new Blob(pieces, { type: kind }), ending });
        };
        recorder.stop();
      }),
  };
}

/**
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
