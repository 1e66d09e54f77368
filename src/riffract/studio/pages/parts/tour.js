import { say, store } from "../app.js";
import { keysText } from "../commands.js";
import { html, useEffect, useRef } from "../html.js";
import { createStore, useStore } from "../store.js";

/**
 * A stop of the way around: where it is, and what is to be seen and done there.
 * @typedef {{desk: string, title: string, text: string}} Stop
 */

/** @type {readonly Stop[]} */
const STOPS = [
  {
    desk: "notate",
    title: "Write it down",
    text: "The riff lies here as strings in time. Move with the arrow keys, type fret numbers, and choose values by their letters. A recording goes above it: the app finds the riff in it and tells which notes it does not bear out.",
  },
  {
    desk: "study",
    title: "Find out how it is built",
    text: "Every question that an analyst asks, answered by what is in the notes, each with its evidence, its rivals, and how often chance would do as well. Nothing is hidden because it is weak; it is only said so.",
  },
  {
    desk: "argue",
    title: "Say it in order",
    text: "You choose what is claimed, in which order and words, what is heard with it and in which picture it is shown. The clock tells how long it takes to listen and to read.",
  },
  {
    desk: "show",
    title: "Make the film",
    text: "This is the film as it will be. Step through it, play it, change its shape; then make it, with handout, captions and stills, while you go on working.",
  },
  {
    desk: "show",
    title: "Everywhere",
    text: `Each change is kept at once and can be undone, over all desks, tomorrow too. Press ? for all keys of a desk, ${keysText("Mod+K")} for all commands.`,
  },
];

const tour = createStore({ at: -1 });

/** Begins the way around. */
export function beginTour() {
  goTo(0);
}

/** @param {number} at */
function goTo(at) {
  const stop = STOPS[at];
  tour.set({ at: stop ? at : -1 });
  if (stop) location.hash = `#/${stop.desk}`;
  else say("That was the way around; “Show me around” among the commands begins it again.");
}

/** The card that leads around; the desk behind it can be used meanwhile. */
export function Tour() {
  const at = useStore(tour, (state) => state.at);
  const folder = useStore(store, (state) => state.folder);
  const card = useRef(/** @type {HTMLElement | null} */ (null));
  useEffect(() => card.current?.focus(), [at]);
  const stop = STOPS[at];
  if (!stop || folder === null) return null;
  const isLast = at === STOPS.length - 1;
  return html`<section class="tour" role="dialog" aria-labelledby="tour" tabindex="-1" ref=${card}
    onKeyDown=${(/** @type {KeyboardEvent} */ event) => event.key === "Escape" && goTo(-1)}>
    <h2 id="tour">${stop.title}</h2>
    <p>${stop.text}</p>
    <p class="steps">
      <button type="button" onClick=${() => goTo(-1)}>Leave it</button>
      <span>${at + 1} of ${STOPS.length}</span>
      <button type="button" aria-disabled=${at === 0} onClick=${() => at > 0 && goTo(at - 1)}>Back</button>
      <button type="button" class="primary" onClick=${() => goTo(isLast ? -1 : at + 1)}>${isLast ? "Begin" : "On"}</button>
    </p>
  </section>`;
}
