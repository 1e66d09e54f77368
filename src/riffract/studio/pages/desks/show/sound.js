import { ask, sayWhy, store } from "../../app.js";
import { audio, fetched, sound } from "../../sounding.js";
import { film } from "./film.js";

/** @type {{folder: string | null, revision: number, buffer: AudioBuffer} | null} */
let made = null;
/** @type {import("../../sounding.js").Sounding | null} */
let sounding = null;
let request = 0;

/** Plays the film from where it is looked at. */
export async function playFilm() {
  const { plan } = film.get();
  if (!plan) return;
  const mine = ++request;
  audio();
  film.set({ isWaiting: true });
  const buffer = await soundNow();
  if (mine !== request) return;
  film.set({ isWaiting: false });
  if (!buffer) return;
  const from = film.get().at >= plan.seconds - 0.05 ? 0 : film.get().at;
  sounding = sound(buffer, { from, ended: pauseFilm });
  film.set({ isPlaying: true, at: from });
}

/** Holds the film where it is. */
export function pauseFilm() {
  request += 1;
  sounding?.stop();
  sounding = null;
  film.set({ isPlaying: false, isWaiting: false });
}

/** Tells which moment of the film is heard now, in seconds; `null` while it stands still. */
export function heardSeconds() {
  return sounding ? sounding.seconds() : null;
}

/** Gives the film's sound as the essay is now; made anew only if the essay has changed. */
async function soundNow() {
  const { folder, revision } = store.get();
  if (made?.folder === folder && made.revision === revision) return made.buffer;
  const answer = await ask("show.sound");
  if (!answer) return null;
  const buffer = await fetched(answer.url).catch(sayWhy);
  if (!buffer) return null;
  // Another essay that was opened meanwhile may well have as many changes.
  made = { folder, revision: answer.revision, buffer };
  return buffer;
}

store.follow((now, before) => {
  if (now.folder !== before.folder) {
    made = null;
    pauseFilm();
  }
});
