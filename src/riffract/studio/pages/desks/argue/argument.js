import { ask, channel, store } from "../../app.js";
import { createStore } from "../../store.js";

/**
 * @typedef {{bars: string, start: string, end: string, speed: number, times: number, strings: number[]}} Excerpt
 * @typedef {{title: string, scene: string, finding: string, sentence: string, verdict: string,
 *   lines: string[], excerpts: Excerpt[], fits: string[], warning: string, start: number,
 *   seconds: number, reading_seconds: number, line_starts: number[],
 *   take: string, take_seconds: number, take_at: number}} Claim
 * @typedef {{id: string, kind: string, sentence: string, verdict: string, is_claimed: boolean}} Finding
 * @typedef {{revision: number, target_seconds: number | null, claims: Claim[], is_proposed: boolean,
 *   findings: Finding[], seconds: number, bars: number, strings: number, scenes: string[]}} Argument
 * @typedef {{seen: Argument | null, isLooking: boolean, at: number}} State
 */

/** The argument as it stands, and the claim that is looked at. */
export const argument = createStore(/** @type {State} */ ({ seen: null, isLooking: false, at: 0 }));

/** Asks how the argument stands now. */
export async function lookAgain() {
  if (argument.get().isLooking) return;
  argument.set({ isLooking: true });
  const seen = await ask("argue.look");
  argument.set({ isLooking: false });
  if (!seen) return;
  argument.set({ seen, at: Math.max(0, Math.min(argument.get().at, seen.claims.length - 1)) });
  if (seen.revision !== store.get().revision) lookAgain();
}

/** Writes proposed claims down before they are changed; says whether there are claims to change. */
async function areTaken() {
  const { seen } = argument.get();
  if (!seen?.is_proposed) return seen !== null;
  return (await ask("argue.take")) !== undefined;
}

/**
 * Gives the claim that is looked at another value.
 * @param {string} field
 * @param {unknown} value
 */
export async function setField(field, value) {
  const { at } = argument.get();
  if (await areTaken()) await ask("argue.set", { at, field, value });
}

/**
 * Puts a claim in another place and goes on looking at it.
 * @param {number} from
 * @param {number} to
 */
export async function move(from, to) {
  const { seen } = argument.get();
  if (!seen || to < 0 || to >= seen.claims.length || to === from || !(await areTaken())) return;
  if (await ask("argue.move", { at: from, to })) argument.set({ at: to });
}

/** Takes the claim that is looked at out. */
export async function remove() {
  if (await areTaken()) await ask("argue.remove", { at: argument.get().at });
}

/**
 * Makes a claim of a finding, or of nothing but what the analyst hears.
 * @param {string} finding
 */
export async function add(finding) {
  const answer = await ask("argue.add", { finding, at: argument.get().at + 1 });
  if (answer) argument.set({ at: answer.at });
}

channel.on("document", () => {
  if (store.get().desk === "argue") lookAgain();
});
channel.on("opened", () => argument.set({ seen: null, at: 0 }));
