import { ask, channel, store } from "../../app.js";
import { createStore } from "../../store.js";

/**
 * @typedef {{words: string, bits: string, finding: string}} Rival
 * @typedef {{id: string, kind: string, sentence: string, detail: string, verdict: string, strength: number,
 *   places: string, spans: [string, string][], facts: [string, string][], weighing: [string, string][],
 *   measures: [string, string][], rivals: Rival[], method: string, meaning: string, follows_from: string[]}} Finding
 * @typedef {{kind: string, name: string, question: string, findings: Finding[]}} Question
 * @typedef {{questions: Question[], left_out: string[], asked: number, seed: number, bars: number, by_hand: ByHand[], hand_problems: string[]}} Seen
 * @typedef {{table: "axis" | "pitch_axis" | "riff" | "stretch", number: number, sentence: string, start: string, end: string, bars: string, facts: [string, string][]}} ByHand
 * @typedef {{place: string, departures: number, is_cut_off: boolean}} Pass
 * @typedef {{first: number, count: number, places: string[], start: string, end: string,
 *   sentence: string, passes: Pass[], bits: number, plain_bits: number, best_bits: number | null, chance: string}} Riff
 * @typedef {{at: string, place: string, bits: number, told: string, start: string, end: string, p: number}} Axis
 * @typedef {{name: string, words: string, start: string, end: string, seen: Seen}} Stretch
 * @typedef {{of: string, words: string, axes: Axis[]}} Axes
 * @typedef {object} State
 * @property {(Seen & {revision: number, studiedMs: number}) | null} seen what was found, and when
 * @property {boolean} isStudying
 * @property {string} chosen the finding that is looked at
 * @property {string} pointed the finding that the pointer rests on
 * @property {number} least the least strength that is shown, 0..4
 * @property {string} words that are looked for
 * @property {Stretch | null} stretch studied alone
 * @property {Axes[] | null} axes
 * @property {Riff | null} riff set by hand
 */

/** What was found, and what of it is looked at. */
export const study = createStore(
  /** @type {State} */ ({ seen: null, isStudying: false, chosen: "", pointed: "", least: 2, words: "", stretch: null, axes: null, riff: null }),
);

/** Studies the passage as it is now; what was found before stays until then. */
export async function studyAgain() {
  if (study.get().isStudying) return;
  study.set({ isStudying: true });
  const seen = await ask("study.look");
  study.set({ isStudying: false });
  if (!seen) return;
  const { chosen } = study.get();
  const all = allOf(seen);
  const kept = all.some((one) => one.id === chosen) ? chosen : (all.find((one) => one.strength > 2)?.id ?? all[0]?.id ?? "");
  study.set({ seen: { ...seen, studiedMs: Date.now() }, chosen: kept });
  // What is being set by hand stays open, measured from the notes as they are now.
  if (study.get().axes) measureAxes();
  const { riff } = study.get();
  if (riff) measureRiff(riff.first, riff.count);
  if (seen.revision !== store.get().revision) studyAgain();
}

/** @param {Seen} seen */
export function allOf(seen) {
  return seen.questions.flatMap((question) => question.findings);
}

/**
 * Lists the findings of a question that are strong enough and have all the words.
 * @param {Question} question
 * @param {number} least
 * @param {string} words
 */
export function shownOf(question, least, words) {
  const wanted = words.toLowerCase().split(/\s+/).filter(Boolean);
  if (!wanted.length) return question.findings.filter((one) => one.strength >= least);
  // Who looks for something finds it, however weak it is.
  return question.findings.filter((one) => {
    const text = `${question.name} ${one.sentence} ${one.detail} ${one.verdict} ${one.places}`.toLowerCase();
    return wanted.every((word) => text.includes(word));
  });
}

/** Studies a stretch as if nothing else were there. @param {string} name such as `2-3` or `2:3-4:1` */
export async function studyStretch(name) {
  const stretch = await ask("study.stretch", { name });
  if (stretch) study.set({ stretch });
}

export async function measureAxes() {
  const axes = await ask("study.axes");
  if (axes) study.set({ axes });
}

channel.on("document", () => {
  if (store.get().desk === "study") studyAgain();
});
channel.on("opened", () => study.set({ seen: null, chosen: "", pointed: "", stretch: null, axes: null, riff: null }));

let riffWanted = /** @type {{first: number | null, count: number} | null} */ (null);
let isMeasuring = false;

/**
 * Measures a riff that is being set; of many wishes in a row only the last one is answered.
 * @param {number | null} first its first attack, from 0; `null` for the riff that was found
 * @param {number} count
 */
export async function measureRiff(first, count) {
  riffWanted = { first, count };
  if (isMeasuring) return;
  isMeasuring = true;
  while (riffWanted) {
    const wanted = riffWanted;
    riffWanted = null;
    const riff = await ask("study.riff", wanted);
    if (!riffWanted) study.set({ riff: riff ?? null });
  }
  isMeasuring = false;
}
