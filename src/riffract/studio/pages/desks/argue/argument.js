import { ask, channel, say, store } from "../../app.js";
import { createStore } from "../../store.js";

/**
 * @typedef {{bars: string, start: string, end: string, speed: number, times: number, strings: number[]}} Excerpt
 * @typedef {{name: string, title: string, scene: string, profile: boolean, finding: string, sentence: string, verdict: string,
 *   lines: string[], excerpts: Excerpt[], fits: string[], warning: string, start: number,
 *   seconds: number, reading_seconds: number, line_starts: number[],
 *   take: string, take_seconds: number, take_at: number}} Claim
 * @typedef {{id: string, kind: string, sentence: string, verdict: string, is_claimed: boolean}} Finding
 * @typedef {{revision: number, target_seconds: number | null, claims: Claim[], is_proposed: boolean,
 *   findings: Finding[], seconds: number, bars: number, strings: number, scenes: string[], isOld?: boolean}} Argument
 * @typedef {{seen: Argument | null, isLooking: boolean, at: number, next: {name: string, revision: number} | null}} State
 * A claim's name goes along with it wherever it stands; a claim that is only proposed has none yet.
 */

/** The argument as it stands, and the claim that is looked at. */
export const argument = createStore(/** @type {State} */ ({ seen: null, isLooking: false, at: 0, next: null }));

/** Asks how the argument stands now. */
export async function lookAgain() {
  if (argument.get().isLooking) return;
  argument.set({ isLooking: true });
  const seen = await ask("argue.look");
  argument.set({ isLooking: false });
  if (!seen) return;
  // An older order than the one that is shown is not gone back to.
  if (argument.get().seen?.isOld && seen.revision < store.get().revision) {
    lookAgain();
    return;
  }
  const { next } = argument.get();
  const isThere = next && seen.revision >= next.revision;
  argument.set({ seen, at: placeIn(seen, isThere ? next.name : lookedAt()?.name), next: isThere ? null : next });
  if (seen.revision !== store.get().revision) lookAgain();
}

/** The claim that is looked at. */
function lookedAt() {
  const { seen, at } = argument.get();
  return seen?.claims[at];
}

/**
 * Where a claim stands now; where one looked before if it is gone.
 * @param {Argument} seen
 * @param {string | undefined} name
 */
function placeIn(seen, name) {
  const at = name ? seen.claims.findIndex((claim) => claim.name === name) : -1;
  return at >= 0 ? at : Math.max(0, Math.min(argument.get().at, seen.claims.length - 1));
}

const GONE = { what: "this claim has been changed elsewhere meanwhile", mend: "look at the claims again", place: "" };

/** The places of claims that were proposed, by the names that they got. @type {Map<string, number>} */
const proposedAt = new Map();

/**
 * Tells a claim from others for as long as the page is open: one that gets its name stays the same.
 * @param {Claim} claim
 * @param {number} at
 */
export const keyOf = (claim, at) => (claim.name ? (proposedAt.get(claim.name) ?? claim.name) : at);

/**
 * Gives the name of a claim that is to be changed; those that are only proposed are written down first.
 * @param {Claim | undefined} claim
 * @returns {Promise<string | undefined>} nothing if it cannot be changed; the person is told why
 */
async function nameToChange(claim) {
  if (!claim || claim.name) return claim?.name;
  const answer = await ask("argue.take");
  if (!answer) return undefined;
  answer.taken.forEach((/** @type {[string, string]} */ [name], /** @type {number} */ at) => proposedAt.set(name, at));
  const taken = answer.taken.find((/** @type {[string, string]} */ [, title]) => title === claim.title);
  if (!taken) store.set({ problem: GONE });
  return taken?.[0];
}

/**
 * Gives the claim that is looked at another value.
 * @param {string} field
 * @param {unknown} value
 */
export async function setField(field, value) {
  const name = await nameToChange(lookedAt());
  if (name) tell(await ask("argue.set", { claim: name, field, value }));
}

/**
 * Gives a claim other words.
 * @template Words
 * @param {Claim} claim
 * @param {"title" | "lines"} field
 * @param {Words} value
 * @param {Words} seen what the words were when one began to change them
 * @returns {Promise<Words | undefined>} what they are now if another page has changed the same ones meanwhile
 */
export async function setWords(claim, field, value, seen) {
  const name = await nameToChange(claim);
  const answer = name && (await ask("argue.set", { claim: name, field, value, seen }));
  if (answer?.clash !== undefined) return answer.clash;
  tell(answer);
  return undefined;
}

/** Says what was done last. @param {{undo: string} | undefined} answer */
export function tell(answer) {
  if (answer) say(answer.undo);
}

/**
 * Puts a claim in another place and goes on looking at it.
 * @param {number} from
 * @param {number} to
 */
export async function move(from, to) {
  const { seen, at } = argument.get();
  if (!seen || to < 0 || to >= seen.claims.length || to === from) return;
  const name = await nameToChange(seen.claims[from]);
  if (name && (await ask("argue.move", { claim: name, to }))) {
    // Who has gone on to another claim meanwhile stays there.
    const goal = argument.get().at === at ? to : null;
    seenAtOnce((claims) => claims.splice(to, 0, ...claims.splice(placeOf(claims, name, from), 1)), goal);
    say(`Claim ${from + 1} is number ${to + 1} now.`);
  }
}

/** Takes the claim that is looked at out. */
export async function remove() {
  const { at } = argument.get();
  const name = await nameToChange(lookedAt());
  if (!name || !(await ask("argue.remove", { claim: name }))) return;
  seenAtOnce((claims) => claims.splice(placeOf(claims, name, at), 1), at);
  say(`Claim ${at + 1} is taken out; undo brings it back.`);
}

/**
 * Where a claim stands; where it stood before it was named if it is not told by its name yet.
 * @param {readonly Claim[]} claims
 * @param {string} name
 * @param {number} before
 */
function placeOf(claims, name, before) {
  const at = claims.findIndex((claim) => claim.name === name);
  return at >= 0 ? at : before;
}

/**
 * Shows another order before the film is laid out anew: whatever is done until then is done to the right claim.
 * @param {(claims: Claim[]) => void} change
 * @param {number | null} goal the claim to look at; `null` for the one that is looked at
 */
function seenAtOnce(change, goal) {
  const { seen } = argument.get();
  const looked = lookedAt();
  if (!seen) return;
  const claims = [...seen.claims];
  change(claims);
  const at = goal ?? (looked ? claims.indexOf(looked) : 0);
  argument.set({ seen: { ...seen, claims, isOld: true }, at: Math.max(0, Math.min(at, claims.length - 1)) });
}

/**
 * Makes a claim of a finding, or of nothing but what the analyst hears.
 * @param {string} finding
 */
export async function add(finding) {
  const answer = await ask("argue.add", { finding, at: argument.get().at + 1 });
  // It is looked at as soon as it is in the list.
  if (!answer) return;
  argument.set({ next: { name: answer.name, revision: answer.revision } });
  say(`Claim ${answer.at + 1} is put in.`);
}

channel.on("document", () => {
  if (store.get().desk === "argue") lookAgain();
});
channel.on("opened", () => {
  proposedAt.clear();
  argument.set({ seen: null, at: 0, next: null });
});
