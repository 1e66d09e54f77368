import { ask, channel, say, store } from "../../app.js";
import { createStore } from "../../store.js";
import { argument, keyOf, setField } from "./argument.js";

/**
 * @typedef {{title: string, key: string | number, sound: Blob, ending: string, url: string, folder: string | null}} Unkept
 *   a take of the claim with that title in the essay of that folder; `key` tells it from others, `url` saves it as a file
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
 * @param {string | number} key of the claim, which may have got another title meanwhile
 * @param {Blob} sound
 * @param {string} ending of a file of its kind
 * @param {string | null} folder of the essay that it was spoken for, which may have been left meanwhile
 */
export function keepTake(title, key, sound, ending, folder) {
  return bring({ title, key, sound, ending, url: URL.createObjectURL(sound), folder });
}

/** Brings what could not be kept before to the app once more. */
export async function keepTheRest() {
  const { unkept } = takes.get();
  takes.set({ unkept: [] });
  for (const one of unkept) await bring(one);
}

/** @param {Unkept} take */
async function bring(take) {
  const { title, sound, ending, folder } = take;
  let why = { what: "the app does not answer", mend: "" };
  try {
    const answer = await fetch(`/takes/new/${encodeURIComponent(title)}/${ending}?${new URLSearchParams({ essay: folder ?? "" })}`, { method: "PUT", body: sound });
    const told = await answer.json();
    if (answer.ok) {
      URL.revokeObjectURL(take.url);
      return choose(take, told.take);
    }
    why = told;
  } catch {
    // Said below, whatever came between.
  }
  takes.set({ unkept: [...takes.get().unkept, take] });
  const mend = ["leave this page open: the take is still here, to be kept again or saved as a file", why.mend].filter(Boolean).join("; ");
  store.set({ problem: { what: `the take of “${title}” is not kept yet: ${why.what}`, mend, place: "", isLasting: true } });
}

/** @param {Unkept} take @param {string} name */
async function choose({ title, key, folder }, name) {
  const { seen, at } = argument.get();
  const isHere = store.get().folder === folder;
  const isLookedAt = isHere && store.get().desk === "argue" && seen?.claims[at] && keyOf(seen.claims[at], at) === key;
  if (isLookedAt) await setField("take", name);
  say(isLookedAt ? "The take is kept and chosen; earlier ones stay." : `The take of “${title}” is kept${isHere ? "" : " in the essay that it was spoken for"}; choose it there.`);
  listTakes();
}

addEventListener("beforeunload", (event) => {
  if (takes.get().unkept.length) event.preventDefault();
});
channel.on("opened", () => takes.set({ names: [] }));
store.follow((now, before) => {
  if (now.isUp && !before.isUp && takes.get().unkept.length) keepTheRest();
});
