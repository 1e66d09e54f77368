import { ask, channel, store } from "../../app.js";
import { createStore } from "../../store.js";

/**
 * @typedef {{name: string, scene: string, title: string, start: number, length: number,
 *   description: string, lines: [number, number, string][]}} Shot
 * @typedef {{revision: number, shots: Shot[], seconds: number, width: number, height: number,
 *   frames_a_second: number, look: string, looks: string[], problems: string[]}} Plan
 * @typedef {{plan: Plan | null, isLayingOut: boolean, hasFailed: boolean, at: number, isPlaying: boolean,
 *   isWaiting: boolean}} Film
 */

/** The film as it is laid out now, and where it is looked at; `at` in seconds. */
export const film = createStore(
  /** @type {Film} */ ({ plan: null, isLayingOut: false, hasFailed: false, at: 0, isPlaying: false, isWaiting: false }),
);

/**
 * Finds the shot at a moment.
 * @param {Plan} plan
 * @param {number} seconds
 */
export function shotAt(plan, seconds) {
  let number = 0;
  for (let i = 0; i < plan.shots.length; i += 1) if (plan.shots[i].start <= seconds + 1e-6) number = i;
  return number;
}

/**
 * Finds what is said at a moment; empty if nothing is.
 * @param {Plan} plan
 * @param {number} seconds
 */
export function saidAt(plan, seconds) {
  const shot = plan.shots[shotAt(plan, seconds)];
  return shot?.lines.find(([start, end]) => start <= seconds && seconds < end)?.[2] ?? "";
}

/**
 * Writes a moment as minutes, seconds and tenths.
 * @param {number} seconds
 */
export function timeText(seconds) {
  const tenths = Math.floor(Math.max(seconds, 0) * 10 + 1e-6);
  const minutes = Math.floor(tenths / 600);
  const rest = (tenths % 600) / 10;
  return `${minutes}:${rest.toFixed(1).padStart(4, "0")}`;
}

/** Lays the film out as the essay is now. */
export async function layOut() {
  if (film.get().isLayingOut) return;
  film.set({ isLayingOut: true });
  const plan = await ask("show.plan");
  film.set({ isLayingOut: false, hasFailed: !plan });
  if (!plan) return;
  film.set({ plan, at: Math.min(film.get().at, plan.seconds) });
  if (plan.revision !== store.get().revision) layOut();
}

channel.on("document", () => {
  if (store.get().desk === "show") layOut();
});
channel.on("opened", () => film.set({ plan: null, at: 0 }));
