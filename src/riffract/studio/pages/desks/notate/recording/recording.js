import { ask, channel, say, sayWhy, store } from "../../../app.js";
import { bring } from "../../../bringing.js";
import { keysText } from "../../../commands.js";
import { goOnAt } from "../../../focus.js";
import { createStore } from "../../../store.js";

/**
 * @typedef {{bar: number, beat: number, seconds: number}} Anchor
 * @typedef {{name: string, seconds: number}} Marker
 * @typedef {{quarters: number, seconds: number, uncertainty: number, is_heard: boolean}} Attack
 * @typedef {{note: number, bar: number, beat: string, string: number, fret: number, support: string,
 *   sentence: string, rival_string: number | null, rival_fret: number | null, is_settled: boolean}} Doubt
 * @typedef {{attacks: Attack[], bars: [number, number][], doubts: Doubt[], report: string, stale: string}} Heard
 * @typedef {object} State
 * @property {string | null} file the recording's name; `null` if there is none
 * @property {string | null} sound where it is heard from; another recording has another address
 * @property {boolean} isReady whether its length and picture are known
 * @property {number} seconds how long it is
 * @property {Anchor[]} anchors moments fixed by ear
 * @property {Marker[]} markers
 * @property {Heard | null} heard what listening gave
 * @property {number} at where it is looked at, and where it is played from
 * @property {boolean} isPlaying
 * @property {number} speed
 * @property {[number, number] | null} loop what is played over and over
 * @property {number} from the left edge of what is shown
 * @property {number} span how much of it is shown, in seconds
 */

/** The recording and what is looked at in it; all times in seconds of the recording. */
export const recording = createStore(
  /** @type {State} */ ({
    file: null,
    sound: null,
    isReady: false,
    seconds: 0,
    anchors: [],
    markers: [],
    heard: null,
    at: 0,
    isPlaying: false,
    speed: 1,
    loop: null,
    from: 0,
    span: 20,
  }),
);

const SHORTEST_SPAN = 0.25;
/** How what is looped is heard. */
export const PLAYED = `${keysText("Alt+L")} plays it`;

/** Asks which recording there is and what was heard in it. */
export async function lookAgain() {
  const seen = await ask("recording.look");
  if (!seen) return;
  if (!seen.file) {
    recording.set({ file: null, sound: null, isReady: true, heard: null, anchors: [], markers: [] });
    return;
  }
  const isAnother = seen.file !== recording.get().file;
  const fit = isAnother ? { at: 0, from: 0, span: Math.min(seen.seconds, 30), loop: null } : {};
  recording.set({ ...seen, ...fit, isReady: true });
}

/**
 * Brings a file in.
 * @param {Blob} file
 * @param {string} name
 * @param {string | null} [folder] of the essay that it is for
 */
export async function bringIn(file, name, folder = store.get().folder) {
  say(`${name} is being brought in …`);
  try {
    const told = await bring(`/recording/new/${encodeURIComponent(name)}?${new URLSearchParams({ essay: folder ?? "" })}`, file, name);
    if (!told.is_open) return say(`${told.file} lies in the folder of the essay that it was for, ${folder}: bring it in there.`);
    say(`${told.file} is brought in.`);
    await lookAgain();
    goOnAt(".strip");
  } catch (why) {
    sayWhy(why);
  }
}

/**
 * Looks at another stretch.
 * @param {number} from
 * @param {number} span
 */
export function show(from, span) {
  const { seconds } = recording.get();
  const wide = Math.max(SHORTEST_SPAN, Math.min(span, Math.max(seconds, SHORTEST_SPAN)));
  recording.set({ span: wide, from: Math.max(0, Math.min(from, seconds - wide)) });
}

/**
 * Looks nearer, or from further away, with one moment staying where it is.
 * @param {number} factor below 1 is nearer
 * @param {number} [around]
 */
export function zoom(factor, around = recording.get().at) {
  const { from, span } = recording.get();
  const share = span > 0 ? Math.max(0, Math.min((around - from) / span, 1)) : 0.5;
  const wide = span * factor;
  show(around - share * wide, wide);
}

/**
 * Goes to a moment, and keeps it in sight.
 * @param {number} seconds
 */
export function goTo(seconds) {
  const now = recording.get();
  const at = Math.max(0, Math.min(seconds, now.seconds));
  recording.set({ at });
  if (at < now.from || at > now.from + now.span) show(at - now.span * 0.1, now.span);
}

/**
 * Loops a stretch, and says so.
 * @param {[number, number]} loop
 * @param {string} next what follows
 */
export function loopOver(loop, next) {
  recording.set({ loop });
  say(`Looped from ${loop[0].toFixed(2)} to ${loop[1].toFixed(2)} s; ${next}, Esc ends the loop.`);
}

/**
 * Names the bar that sounds at a moment; empty before the passage was found in the recording.
 * @param {number} seconds
 */
export function placeAt(seconds) {
  const bars = recording.get().heard?.bars ?? [];
  if (!bars.length) return "";
  let bar = 0;
  for (const [number, start] of bars) if (start <= seconds + 1e-6) bar = number;
  return bar ? `bar ${bar}` : "before the passage";
}

/**
 * Fixes a bar's beat at a moment; an anchor of the same place is moved.
 * @param {number} bar
 * @param {number} beat
 * @param {number} seconds
 */
export function fix(bar, beat, seconds) {
  const others = recording.get().anchors.filter((one) => one.bar !== bar || (one.beat ?? 1) !== beat);
  return setAnchors([...others, { bar, beat, seconds }], `bar ${bar}, beat ${beat} fixed at ${seconds.toFixed(2)} s`);
}

/**
 * @param {Anchor[]} anchors
 * @param {string} label
 */
export async function setAnchors(anchors, label) {
  const rows = anchors.map(({ bar, beat, seconds }) => ({ bar, beat: beat ?? 1, seconds }));
  if (await ask("recording.anchors", { anchors: rows, label })) say(label);
}

/** @param {Marker[]} markers */
export function setMarkers(markers) {
  return ask("recording.markers", { markers });
}

/** Finds the passage in the recording, in the background. */
export async function hear() {
  const notes = await ask("recording.hear");
  if (notes) say(["The passage is found in the recording.", ...notes].join(" "));
}

channel.on("heard", lookAgain);
channel.on("document", () => {
  if (store.get().desk === "notate" && store.get().folder) lookAgain();
});
channel.on("opened", () => recording.set({ file: null, sound: null, isReady: false, heard: null }));
