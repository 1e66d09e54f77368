// @ts-check
import { begun, clock, shownShare, unpacked } from "./moments.js";

/** @typedef {{ground: string, rising: [number, number, string][], parts: string[], frames: [number, number[]][]}} Moving */
/** @typedef {(seconds: number, isResting: boolean) => void} Show shows a moment */

/**
 * Takes what moves a picture into its drawing.
 * @param {SVGElement} drawing
 * @param {Moving} moving
 * @returns {Show}
 */
function mover(drawing, moving) {
  const rest = /** @type {Element} */ (drawing.querySelector("g.rest"));
  const played = /** @type {Element} */ (drawing.querySelector("g.played"));
  const groups = moving.rising.map(([, , elements]) => `<g class="rising">${elements}</g>`);
  played.innerHTML = `<g>${moving.ground}</g>${groups.join("")}<g class="moving"></g>`;
  const goes = /** @type {Element} */ (played.lastElementChild);
  const rising = [...played.querySelectorAll(":scope > g.rising")].map((element, number) => ({
    element,
    at: moving.rising[number][0],
    fade: moving.rising[number][1],
    share: 1,
  }));
  /** @type {readonly number[] | undefined} */
  let seen;
  return (seconds, isResting) => {
    rest.setAttribute("display", isResting ? "inline" : "none");
    played.setAttribute("display", isResting ? "none" : "inline");
    if (isResting) return;
    for (const one of rising) {
      const share = shownShare(seconds - one.at, one.fade);
      if (share !== one.share) one.element.setAttribute("opacity", share.toFixed(3));
      one.share = share;
    }
    const frame = (begun(moving.frames, seconds) ?? moving.frames[0])[1];
    if (frame !== seen) goes.innerHTML = frame.map((number) => moving.parts[number]).join("");
    seen = frame;
  };
}

/**
 * A picture that is unpacked when it is first to move; until then, and where that fails, it rests.
 * @param {Element} article
 * @param {"wide" | "upright"} shape
 * @returns {Show}
 */
function picture(article, shape) {
  const drawing = article.querySelector(`svg.${shape}`);
  const packed = article.querySelector(`script.${shape}`)?.textContent;
  /** @type {Show | undefined} */
  let move;
  let isAsked = false;
  /** @type {Parameters<Show>} */
  let latest = [0, true];
  return (...moment) => {
    latest = moment;
    if (move) move(...moment);
    else if (!moment[1] && !isAsked && drawing && packed) {
      isAsked = true;
      unpacked(packed).then(
        (moving) => {
          move = mover(/** @type {SVGElement} */ (drawing), moving);
          move(...latest);
        },
        (error) => console.warn("this picture stands still:", error),
      );
    }
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
 * @param {HTMLInputElement} moves whether pictures may move
 * @param {MediaQueryList} isUpright which of the two pictures is seen
 */
function player(article, moves, isUpright) {
  const audio = article.querySelector("audio");
  const controls = /** @type {HTMLElement | null} */ (article.querySelector(".player"));
  if (!audio || !controls) return;
  const button = /** @type {HTMLButtonElement} */ (controls.querySelector("button"));
  const slider = /** @type {HTMLInputElement} */ (controls.querySelector("input"));
  const told = /** @type {Element} */ (controls.querySelector(".clock"));
  /** @type {[number, string][]} */
  const places = JSON.parse(slider.dataset.places ?? "[]");
  const length = Number(slider.max);
  const wide = picture(article, "wide");
  const upright = picture(article, "upright");
  const mark = lines(article);
  let isResting = true;

  const show = () => {
    const seconds = Math.min(audio.currentTime, length);
    const place = begun(places, seconds)?.[1];
    slider.valueAsNumber = seconds;
    slider.setAttribute("aria-valuetext", place ? `${place}, ${clock(seconds)}` : clock(seconds));
    told.textContent = `${clock(seconds)} / ${clock(length)}`;
    (isUpright.matches ? upright : wide)(seconds, isResting || !moves.checked);
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
  isUpright.addEventListener("change", show);
  audio.removeAttribute("controls");
  audio.hidden = true;
  controls.hidden = false;
  show();
}

const moves = /** @type {HTMLInputElement} */ (document.getElementById("moves"));
const stillness = matchMedia("(prefers-reduced-motion: reduce)");
// as in the page's style
const isUpright = matchMedia("(max-width: 40rem)");
const obey = () => {
  moves.checked = !stillness.matches;
  moves.dispatchEvent(new Event("change"));
};
for (const article of document.querySelectorAll("article")) player(article, moves, isUpright);
stillness.addEventListener("change", obey);
obey();
moves.closest("p")?.removeAttribute("hidden");

// Paper cannot unfold anything.
/** @type {HTMLDetailsElement[]} */
let unfolded = [];
addEventListener("beforeprint", () => {
  unfolded = [...document.querySelectorAll("details")].filter((one) => !one.open);
  for (const one of unfolded) one.open = true;
});
addEventListener("afterprint", () => {
  for (const one of unfolded) one.open = false;
});
