import { store } from "../../../app.js";
import { goTo, recording } from "./recording.js";

/**
 * The recording itself, played from its own file: it may be long, slow without changing pitch, and
 * go round in a loop.
 */
const element = new Audio();
element.preservesPitch = true;
element.preload = "auto";
let frame = 0;

/** Plays from where one looks, or stops. */
export async function playOrStop() {
  const { isPlaying, sound, at, loop, speed } = recording.get();
  if (isPlaying) return stop();
  if (!sound) return;
  if (element.getAttribute("src") !== sound) element.src = sound;
  element.playbackRate = speed;
  element.currentTime = loop && (at < loop[0] || at >= loop[1]) ? loop[0] : at;
  // From silence, so that nothing starts with a burst.
  element.volume = 0;
  // Before it is heard, so that the next press, or another recording, ends what has not begun yet.
  recording.set({ isPlaying: true });
  try {
    await element.play();
  } catch (error) {
    // Who stops it before it has begun is told nothing.
    if (/** @type {Error} */ (error).name === "AbortError") return;
    stop();
    store.set({ problem: { what: `the recording cannot be played: ${error}`, mend: "bring it in as another kind of file", place: "" } });
    return;
  }
  follow();
}

/** Ends what is playing. */
export function stop() {
  cancelAnimationFrame(frame);
  element.pause();
  recording.set({ isPlaying: false });
}

/** @param {number} speed */
export function setSpeed(speed) {
  const slow = Math.max(0.25, Math.min(speed, 1));
  element.playbackRate = slow;
  recording.set({ speed: slow });
}

function follow() {
  const { loop, isPlaying } = recording.get();
  if (!isPlaying) return;
  element.volume = Math.min(1, element.volume + 0.2);
  if (loop && element.currentTime >= loop[1]) element.currentTime = loop[0];
  goTo(element.currentTime);
  if (element.ended) return stop();
  frame = requestAnimationFrame(follow);
}

recording.follow((now, before) => {
  if (now.sound !== before.sound && now.isPlaying) stop();
});
