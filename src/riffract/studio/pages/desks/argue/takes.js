import { ask, channel, say, store } from "../../app.js";
import { createStore } from "../../store.js";
import { argument, setField } from "./argument.js";

/**
 * @typedef {{title: string, sound: Blob, ending: string, url: string, folder: string | null}} Unkept
 *   a take of the claim with that title in the essay of that folder; `url` saves it as a file
 */

/** The takes that the essay has, by name, and those that could not be brought there yet. */
export const takes = createStore({ names: /** @type {string[]} */ ([]), unkept: /** @type {Unkept[]} */ ([]) });

/** Asks which takes there are. */
export async function listTakes() {
  const found = await ask("narration.takes");
  if (found) takes.set({ names: found.map((/** @type {{take: string}} */ one) => one.take) });
}

/**
 * Keeps what was spoken, and chooses it if its claim is still looked at. Nothing that was spoken is
 * lost: what the app does not take stays in the page until it does, or is saved as a file.
 * @param {string} title of the claim
 * @param {Blob} sound
 * @param {string} ending of a file of its kind
 */
export function keepTake(title, sound, ending) {
  return bring({ title, sound, ending, url: URL.createObjectURL(sound), folder: store.get().folder });
}

/** Brings what could not be kept before to the app once more. */
export async function keepTheRest() {
  const { folder } = store.get();
  const those = takes.get().unkept.filter((one) => one.folder === folder);
  takes.set({ unkept: takes.get().unkept.filter((one) => one.folder !== folder) });
  for (const one of those) await bring(one);
}

/** @param {Unkept} take */
async function bring(take) {
  const { title, sound, ending } = take;
  let why = { what: "the app does not answer", mend: "" };
  try {
    const answer = await fetch(`/takes/new/${encodeURIComponent(title)}/${ending}`, { method: "PUT", body: sound });
    const told = await answer.json();
    if (answer.ok) {
      URL.revokeObjectURL(take.url);
      return choose(title, told.take);
    }
    why = told;
  } catch {
    // Said below, whatever came between.
  }
  takes.set({ unkept: [...takes.get().unkept, take] });
  const mend = ["leave this page open: the take is still here, to be kept again or saved as a file", why.mend].filter(Boolean).join("; ");
  store.set({ problem: { what: `the take of “${title}” is not kept yet: ${why.what}`, mend, place: "", isLasting: true } });
}

/** @param {string} title @param {string} name */
async function choose(title, name) {
  const { seen, at } = argument.get();
  const isLookedAt = store.get().desk === "argue" && seen?.claims[at]?.title === title;
  if (isLookedAt) await setField("take", name);
  say(isLookedAt ? "The take is kept and chosen; earlier ones stay." : `The take of “${title}” is kept; choose it there.`);
  listTakes();
}

addEventListener("beforeunload", (event) => {
  if (takes.get().unkept.length) event.preventDefault();
});
channel.on("opened", () => takes.set({ names: [] }));
store.follow((now, before) => {
  if (now.isUp && !before.isUp && takes.get().unkept.length) keepTheRest();
});
