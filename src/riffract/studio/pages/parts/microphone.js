import { store } from "../app.js";
import { useEffect, useRef, useState } from "../html.js";

/**
 * @typedef {{stop: () => Promise<{sound: Blob, ending: string}>}} Recording
 */

/**
 * Records from the microphone or line, as it is: nothing that is made for speech on the telephone.
 * @param {(level: number) => void} tellLevel is told the peak, 0..1, ten times a second
 * @returns {Promise<Recording | null>} `null` if there is none; the person is told why
 */
async function record(tellLevel) {
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
  const endLevel = watchLevel(stream, tellLevel);
  /** @type {ReturnType<Recording["stop"]>} */
  const ended = new Promise((resolve) => {
    // It ends by itself as well, when the microphone is pulled out.
    recorder.onstop = () => {
      endLevel();
      for (const track of stream.getTracks()) track.stop();
      const kind = recorder.mimeType;
      const ending = kind.includes("mp4") ? "m4a" : kind.includes("ogg") ? "ogg" : "webm";
      resolve({ sound: new Blob(pieces, { type: kind }), ending });
    };
  });
  recorder.start(1000);
  return {
    stop() {
      if (recorder.state !== "inactive") recorder.stop();
      return ended;
    },
  };
}

/**
 * A microphone for a part of the page. What was recorded is kept when it is ended, and when the part is left.
 * @param {(sound: Blob, ending: string) => unknown} keep the one of the drawing in which the recording was begun
 * @returns {{isRunning: boolean, level: number, begin: () => Promise<boolean>, end: () => Promise<void>}}
 *   `begin` says whether it has begun to record; `level` is the peak, 0..1
 */
export function useMicrophone(keep) {
  const [isRunning, setIsRunning] = useState(false);
  const [level, setLevel] = useState(0);
  /** @type {{current: (() => Promise<void>) | null}} */
  const ending = useRef(null);
  const end = async () => {
    const last = ending.current;
    ending.current = null;
    setIsRunning(false);
    await last?.();
  };
  const begin = async () => {
    if (ending.current) return false; // a second press opens no second microphone
    const asked = async () => {};
    ending.current = asked;
    const recording = await record(setLevel);
    // The browser asks the person first, and it was ended, or left, before they answered.
    if (ending.current !== asked) {
      await recording?.stop();
      return false;
    }
    const stopAndKeep = async () => {
      const { sound, ending: kind } = /** @type {Awaited<ReturnType<Recording["stop"]>>} */ (await recording?.stop());
      await keep(sound, kind);
    };
    ending.current = recording && stopAndKeep;
    setIsRunning(recording !== null);
    return recording !== null;
  };
  useEffect(
    () => () => {
      end();
    },
    [],
  );
  return { isRunning, level, begin, end };
}

/**
 * Says whether a click stands for itself: the second one of a double click would end what the first has begun.
 * @param {MouseEvent} click
 */
export const isFirstClick = (click) => click.detail < 2;

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
