import { Refused } from "./channel.js";

/** Sound begins and ends softly; nothing starts with a burst. */
const FADE_SECONDS = 0.03;
const AHEAD_SECONDS = 0.02;

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
  return {
    seconds() {
      const late = now.outputLatency || now.baseLatency || 0;
      return Math.max(from, from + now.currentTime - startedAt - late);
    },
    stop() {
      source.onended = null;
      gain.gain.cancelScheduledValues(now.currentTime);
      gain.gain.setTargetAtTime(0, now.currentTime, FADE_SECONDS / 3);
      source.stop(now.currentTime + FADE_SECONDS * 2);
    },
  };
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
