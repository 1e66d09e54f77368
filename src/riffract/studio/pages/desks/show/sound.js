import { ask, store } from "../../app.js";
import { film } from "./film.js";

const FADE_SECONDS = 0.03;

/** @type {AudioContext | null} */
let context = null;
/** @type {{revision: number, buffer: AudioBuffer} | null} */
let made = null;
/** @type {{source: AudioBufferSourceNode, gain: GainNode, startedAt: number, from: number} | null} */
let sounding = null;
let request = 0;

/** Plays the film from where it is looked at. */
export async function playFilm() {
  const { plan } = film.get();
  if (!plan) return;
  const mine = ++request;
  context ??= new AudioContext();
  context.resume();
  film.set({ isWaiting: true });
  const buffer = await soundNow();
  film.set({ isWaiting: false });
  if (!buffer || mine !== request) return;
  const from = film.get().at >= plan.seconds - 0.05 ? 0 : film.get().at;
  const source = context.createBufferSource();
  const gain = context.createGain();
  source.buffer = buffer;
  source.connect(gain).connect(context.destination);
  const startedAt = context.currentTime + 0.02;
  gain.gain.setValueAtTime(0, startedAt);
  gain.gain.linearRampToValueAtTime(1, startedAt + FADE_SECONDS);
  source.start(startedAt, from);
  sounding = { source, gain, startedAt, from };
  film.set({ isPlaying: true, at: from });
}

/** Holds the film where it is. */
export function pauseFilm() {
  request += 1;
  if (sounding && context) {
    const { source, gain } = sounding;
    sounding = null;
    gain.gain.cancelScheduledValues(context.currentTime);
    gain.gain.setTargetAtTime(0, context.currentTime, FADE_SECONDS / 3);
    source.stop(context.currentTime + FADE_SECONDS * 2);
  }
  film.set({ isPlaying: false, isWaiting: false });
}

/** Tells which moment of the film is heard now, in seconds; `null` while it stands still. */
export function heardSeconds() {
  if (!sounding || !context) return null;
  const late = context.outputLatency || context.baseLatency || 0;
  return Math.max(sounding.from, sounding.from + context.currentTime - sounding.startedAt - late);
}

/** Gives the film's sound as the essay is now; made anew only if the essay has changed. */
async function soundNow() {
  if (made?.revision === store.get().revision) return made.buffer;
  const answer = await ask("show.sound");
  if (!answer || !context) return null;
  const bytes = await (await fetch(answer.url)).arrayBuffer();
  const buffer = await context.decodeAudioData(bytes);
  made = { revision: answer.revision, buffer };
  return buffer;
}

store.follow((now, before) => {
  if (now.folder !== before.folder) {
    made = null;
    pauseFilm();
  }
});
