import { ask, sayWhy, store } from "./app.js";
import { useEffect, useState } from "./html.js";
import { audio, fetched, sound } from "./sounding.js";
import { createStore } from "./store.js";

/**
 * What is to be heard.
 * @typedef {object} Wanted
 * @property {string} [start] in quarters, exact, such as `7/2`; the passage's start without it
 * @property {string} [end] in quarters; the passage's end without it
 * @property {number} [speed] 0.25 to 1
 * @property {boolean} [is_looped]
 * @property {number[]} [strings] those that are heard; all without them
 * @property {"rendering" | "recording" | "both" | "sides"} [sound]
 * @property {boolean} [click]
 * @property {number} [count_in] bars
 */

/**
 * @typedef {object} Made
 * @property {string} url
 * @property {number} seconds
 * @property {number} loop_from
 * @property {number} loop_to
 * @property {[number, number][]} moments pairs of seconds and quarters
 */

/** @typedef {{isPlaying: boolean, isWaiting: boolean, wanted: Wanted | null}} Player */

export const player = createStore(/** @type {Player} */ ({ isPlaying: false, isWaiting: false, wanted: null }));

/** @type {{heard: import("./sounding.js").Sounding, made: Made, isLooped: boolean} | null} */
let sounding = null;
let request = 0;
/** @type {Map<string, Promise<AudioBuffer>>} */
const decoded = new Map();

/**
 * Plays something, in place of what was playing.
 * @param {Wanted} wanted
 */
export async function play(wanted) {
  const mine = ++request;
  halt();
  audio();
  player.set({ isWaiting: true, isPlaying: false, wanted });
  const made = /** @type {Made | undefined} */ (await ask("sound.make", wanted));
  const buffer = made && (await bufferOf(made.url).catch(sayWhy));
  if (mine !== request) return;
  player.set({ isWaiting: false });
  if (made && buffer) begin(made, buffer, wanted.is_looped ?? false);
}

/** Ends what is playing, softly. */
export function stop() {
  request += 1;
  halt();
  player.set({ isPlaying: false, isWaiting: false });
}

/**
 * Plays something, or stops if anything is playing.
 * @param {Wanted} wanted
 */
export function playOrStop(wanted) {
  const { isPlaying, isWaiting } = player.get();
  if (isPlaying || isWaiting) stop();
  else play(wanted);
}

/** Tells which moment of the score is heard now, in quarters; `null` in silence. */
function soundingQuarters() {
  if (!sounding) return null;
  let seconds = sounding.heard.seconds();
  const { loop_from, loop_to, moments } = sounding.made;
  if (sounding.isLooped && seconds >= loop_to) {
    seconds = loop_from + ((seconds - loop_from) % (loop_to - loop_from));
  }
  return quartersAt(moments, seconds);
}

/**
 * Finds the moment of the score at a time of the sound; `null` before the first and after the last.
 * @param {readonly [number, number][]} moments
 * @param {number} seconds
 */
function quartersAt(moments, seconds) {
  if (!moments.length || seconds < moments[0][0] || seconds > moments[moments.length - 1][0]) return null;
  let low = 0;
  let high = moments.length - 1;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (moments[middle][0] <= seconds) low = middle;
    else high = middle;
  }
  const [fromSeconds, from] = moments[low];
  const [toSeconds, to] = moments[high];
  if (toSeconds <= fromSeconds || to < from) return from;
  return from + ((seconds - fromSeconds) / (toSeconds - fromSeconds)) * (to - from);
}

/**
 * The moment that is heard, anew with each frame of the screen; `null` outside of a stretch.
 * @param {number} [from] in quarters
 * @param {number} [to]
 */
export function usePlayhead(from = -Infinity, to = Infinity) {
  const [quarters, setQuarters] = useState(/** @type {number | null} */ (null));
  useEffect(() => {
    let frame = 0;
    const look = () => {
      const now = soundingQuarters();
      setQuarters(now !== null && now >= from && now < to ? now : null);
      frame = requestAnimationFrame(look);
    };
    const follow = () => {
      cancelAnimationFrame(frame);
      if (player.get().isPlaying) look();
      else setQuarters(null);
    };
    follow();
    const end = player.follow((now, before) => now.isPlaying !== before.isPlaying && follow());
    return () => {
      cancelAnimationFrame(frame);
      end();
    };
  }, [from, to]);
  return quarters;
}

/** @param {string} url */
function bufferOf(url) {
  let waiting = decoded.get(url);
  if (!waiting) {
    waiting = fetched(url);
    decoded.set(url, waiting);
    waiting.catch(() => decoded.delete(url));
    const oldest = decoded.keys().next().value;
    if (decoded.size > 6 && oldest) decoded.delete(oldest);
  }
  return waiting;
}

/** @param {Made} made @param {AudioBuffer} buffer @param {boolean} isLooped */
function begin(made, buffer, isLooped) {
  const heard = sound(buffer, {
    loop: isLooped ? [made.loop_from, made.loop_to] : null,
    ended() {
      sounding = null;
      player.set({ isPlaying: false });
    },
  });
  sounding = { heard, made, isLooped };
  player.set({ isPlaying: true });
}

function halt() {
  sounding?.heard.stop();
  sounding = null;
}

// Another essay, another music.
store.follow((now, before) => now.folder !== before.folder && stop());
