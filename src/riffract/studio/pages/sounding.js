import { sayWhy } from "./app.js";
import { Refused } from "./channel.js";

/** Sound begins and ends softly; nothing starts with a burst. */
const FADE_SECONDS = 0.03;
const AHEAD_SECONDS = 0.02;

/** Ours: a sound card that has not begun by then is not only slow to wake up. */
const SILENT_AFTER_MS = 5000;

/** @type {AudioContext | null} */
let context = null;

/** The one audio context of the page, awake; made by the first sound that is asked for. */
export function audio() {
  context ??= new AudioContext();
  context.resume();
  return context;
}

/**
 * A sound while it is heard.
 * @typedef {object} Sounding
 * @property {() => number} seconds where in the buffer the ear is now, not counting loops
 * @property {() => void} stop ends it softly; `ended` is not called then
 */

/**
 * Lets a buffer sound.
 * @param {AudioBuffer} buffer
 * @param {{from?: number, loop?: [number, number] | null, ended: () => void}} how `from` and `loop` in seconds
 * @returns {Sounding}
 */
export function sound(buffer, { from = 0, loop = null, ended }) {
  const now = audio();
  const source = now.createBufferSource();
  const gain = now.createGain();
  source.buffer = buffer;
  if (loop) {
    source.loop = true;
    [source.loopStart, source.loopEnd] = loop;
  }
  source.connect(gain).connect(now.destination);
  const startedAt = now.currentTime + AHEAD_SECONDS;
  gain.gain.setValueAtTime(0, startedAt);
  gain.gain.linearRampToValueAtTime(1, startedAt + FADE_SECONDS);
  source.start(startedAt, from);
  source.onended = ended;
  const waiting = setTimeout(() => now.currentTime < startedAt && tellSilence(), SILENT_AFTER_MS);
  return {
    seconds() {
      const late = now.outputLatency || now.baseLatency || 0;
      return Math.max(from, from + now.currentTime - startedAt - late);
    },
    stop() {
      clearTimeout(waiting);
      source.onended = null;
      gain.gain.cancelScheduledValues(now.currentTime);
      gain.gain.setTargetAtTime(0, now.currentTime, FADE_SECONDS / 3);
      source.stop(now.currentTime + FADE_SECONDS * 2);
    },
  };
}

/** Says why nothing is heard, and nothing that goes with the sound moves. */
function tellSilence() {
  const what = "this browser lets no sound out: there is no output for it, or the page may not play";
  sayWhy(new Refused({ what, mend: "connect a loudspeaker or headphones, or allow sound beside the address, and play it again", place: "" }));
}

/**
 * Fetches and decodes a sound.
 * @param {string} url
 * @returns {Promise<AudioBuffer>} rejects with `Refused` if the app does not give it
 */
export async function fetched(url) {
  const answer = await fetch(url).catch(() => null);
  if (!answer?.ok) throw new Refused({ what: "the sound did not arrive", mend: "play it again", place: "" });
  return audio().decodeAudioData(await answer.arrayBuffer());
}
