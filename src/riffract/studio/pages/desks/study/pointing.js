import { useStore } from "../../store.js";
import { allOf, shownOf, study } from "./findings.js";

/** A pointer that crosses the list on its way shows nothing; one that rests so long does. */
const REST_MS = 60;

let timer = 0;

/** Shows a finding while the pointer rests on it. @param {string} id */
export function point(id) {
  clearTimeout(timer);
  timer = setTimeout(() => study.set({ pointed: id }), study.get().pointed ? 0 : REST_MS);
}

/** Shows the chosen finding again. */
export function pointAway() {
  clearTimeout(timer);
  if (study.get().pointed) study.set({ pointed: "" });
}

/** Chooses a finding: it stays, wherever the pointer goes. @param {string} id */
export function choose(id) {
  clearTimeout(timer);
  study.set({ chosen: id, pointed: "" });
}

/** The finding that is shown: the one that is pointed at, else the chosen one. */
export function useShown() {
  return useStore(study, shownNow);
}

/** @param {import("./findings.js").State} [state] */
export function shownNow({ seen, pointed, chosen } = study.get()) {
  const all = seen ? allOf(seen) : [];
  return all.find((one) => one.id === pointed) ?? all.find((one) => one.id === chosen);
}

/** Lists what the list shows, in its order. @param {import("./findings.js").State} state */
function listed({ seen, least, words }) {
  return (seen?.questions ?? []).flatMap((question) => shownOf(question, least, words));
}

/** The finding that Tab goes to: the chosen one, or the first if that is not listed. @param {import("./findings.js").State} state */
export function tabStop(state) {
  const all = listed(state);
  return (all.find((one) => one.id === state.chosen) ?? all[0])?.id;
}

/** Chooses the finding before or after the chosen one; the keys follow if they are in the list. @param {1 | -1} direction */
export function step(direction) {
  const all = listed(study.get());
  const at = all.findIndex((one) => one.id === study.get().chosen);
  const next = all[Math.max(0, Math.min(at + direction, all.length - 1))];
  if (!next) return;
  choose(next.id);
  const button = /** @type {HTMLElement | null} */ (document.querySelector(`[data-finding="${next.id}"]`));
  if (document.activeElement?.closest(".findings li")) button?.focus();
  else button?.scrollIntoView({ block: "nearest" });
}
