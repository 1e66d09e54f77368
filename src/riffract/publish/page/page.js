// @ts-check
"use strict";

/** @typedef {{parts: string[], frames: [number, number[]][], places: [number, string][]}} Moving */

/**
 * The last entry that has begun, by halving.
 * @template {readonly [number, unknown]} Entry
 * @param {readonly Entry[]} entries by time
 * @param {number} seconds
 * @returns {Entry | undefined} none before the first
 */
function begun(entries, seconds) {
  let low = 0;
  let high = entries.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (entries[middle][0] <= seconds) low = middle + 1;
    else high = middle;
  }
  return entries[low - 1];
}

/**
 * How far something has come up, as in the film: fast at first.
 * @param {number} since seconds
 * @param {number} fade seconds
 */
function shownShare(since, fade) {
  if (fade <= 0) return since >= 0 ? 1 : 0;
  const left = 1 - Math.min(Math.max(since / fade, 0), 1);
  return 1 - left ** 3;
}

/** @param {number} seconds */
function clock(seconds) {
  const tenths = Math.round(seconds * 10);
  const rest = tenths % 600;
  return `${Math.floor(tenths / 600)}:${String(Math.floor(rest / 10)).padStart(2, "0")}.${rest % 10}`;
}

/**
 * Moves a picture.
 * @param {Element} article
 * @param {Moving} moving
 * @returns {(seconds: number, isResting: boolean) => void} shows a moment
 */
function picture(article, moving) {
  const rising = [...article.querySelectorAll("g.rising")].map((element) => ({
    element,
    at: Number(element.getAttribute("data-at")),
    fade: Number(element.getAttribute("data-fade")),
    share: 1,
  }));
  const goes = /** @type {Element} */ (article.querySelector("g.moving"));
  const played = /** @type {Element} */ (article.querySelector("g.played"));
  const rest = article.querySelector("g.rest");
  let seen = moving.frames[moving.frames.length - 1];
  return (seconds, isResting) => {
    rest?.setAttribute("display", isResting ? "inline" : "none");
    played.setAttribute("display", rest && isResting ? "none" : "inline");
    for (const one of rising) {
      const share = shownShare(seconds - one.at, one.fade);
      if (share !== one.share) one.element.setAttribute("opacity", share.toFixed(3));
      one.share = share;
    }
    const frame = begun(moving.frames, seconds) ?? moving.frames[0];
    if (frame !== seen) goes.innerHTML = frame[1].map((number) => moving.parts[number]).join("");
    seen = frame;
  };
}

/**
 * Marks the line that is said now.
 * @param {Element} article
 * @returns {(seconds: number) => void}
 */
function lines(article) {
  const all = [...article.querySelectorAll(".lines li")];
  return (seconds) => {
    for (const line of all) {
      const from = Number(line.getAttribute("data-from"));
      const to = Number(line.getAttribute("data-to"));
      if (from <= seconds && seconds < to) line.setAttribute("aria-current", "true");
      else line.removeAttribute("aria-current");
    }
  };
}

/**
 * Puts a claim's own controls in the place of the browser's.
 * @param {Element} article
 * @param {Moving} moving
 * @param {HTMLInputElement} moves whether pictures may move
 */
function player(article, moving, moves) {
  const audio = article.querySelector("audio");
  const controls = /** @type {HTMLElement | null} */ (article.querySelector(".player"));
  if (!audio || !controls) return;
  const button = /** @type {HTMLButtonElement} */ (controls.querySelector("button"));
  const slider = /** @type {HTMLInputElement} */ (controls.querySelector("input"));
  const told = /** @type {Element} */ (controls.querySelector(".clock"));
  const length = Number(slider.max);
  const move = picture(article, moving);
  const mark = lines(article);
  let isResting = true;

  const show = () => {
    const seconds = Math.min(audio.currentTime, length);
    const place = begun(moving.places, seconds)?.[1];
    slider.valueAsNumber = seconds;
    slider.setAttribute("aria-valuetext", place ? `${place}, ${clock(seconds)}` : clock(seconds));
    told.textContent = `${clock(seconds)} / ${clock(length)}`;
    const isStill = isResting || !moves.checked;
    move(isStill ? length : seconds, isStill);
    mark(isResting ? -1 : seconds);
  };
  const follow = () => {
    show();
    if (!audio.paused) requestAnimationFrame(follow);
  };

  button.addEventListener("click", () => (audio.paused ? audio.play() : audio.pause()));
  slider.addEventListener("input", () => {
    isResting = false;
    audio.currentTime = slider.valueAsNumber;
    show();
  });
  audio.addEventListener("play", () => {
    isResting = false;
    for (const other of document.querySelectorAll("audio")) if (other !== audio) other.pause();
    button.textContent = button.dataset.pause ?? "";
    follow();
  });
  audio.addEventListener("pause", () => {
    button.textContent = button.dataset.play ?? "";
    show();
  });
  audio.addEventListener("ended", () => {
    isResting = true;
    audio.currentTime = 0;
    show();
  });
  moves.addEventListener("change", show);
  audio.removeAttribute("controls");
  audio.hidden = true;
  controls.hidden = false;
  show();
}

const data = document.getElementById("moving");
const moves = /** @type {HTMLInputElement} */ (document.getElementById("moves"));
const stillness = matchMedia("(prefers-reduced-motion: reduce)");
const obey = () => {
  moves.checked = !stillness.matches;
  moves.dispatchEvent(new Event("change"));
};
/** @type {Record<string, Moving>} */
const all = JSON.parse(data?.textContent ?? "{}");
for (const article of document.querySelectorAll("article")) player(article, all[article.id], moves);
stillness.addEventListener("change", obey);
obey();
moves.closest("p")?.removeAttribute("hidden");
