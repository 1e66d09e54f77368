import { channel } from "../../app.js";
import { html, useEffect, useRef } from "../../html.js";
import { useStore } from "../../store.js";
import { film, layOut, saidAt, shotAt, timeText } from "./film.js";
import { heardSeconds, pauseFilm, playFilm } from "./sound.js";

const WIDEST_PX = 1280;
const LEAST_PX = 160;

/** The film's picture at the moment that is looked at, or heard. */
export function Screen() {
  const canvas = useRef(/** @type {HTMLCanvasElement | null} */ (null));
  const plan = useStore(film, (state) => state.plan);
  useEffect(() => (canvas.current && plan ? keepShown(canvas.current, plan) : undefined), [plan]);
  const hasFailed = useStore(film, (state) => state.hasFailed && !state.isLayingOut);
  if (!plan && hasFailed) {
    return html`<div class="screen empty"><div><p>The film cannot be laid out as the essay is now.</p>
      <p><button type="button" onClick=${layOut}>Try again</button></p></div></div>`;
  }
  if (!plan) return html`<div class="screen empty"><p>Laying the film out …</p></div>`;
  return html`<div class="screen">
    <p class="behind">Drawing …</p>
    <canvas ref=${canvas} role="img" aria-labelledby="screen-words"></canvas>
    <${Words} plan=${plan} />
  </div>`;
}

/** @param {{plan: import("./film.js").Plan}} props */
function Words({ plan }) {
  const number = useStore(film, (state) => shotAt(plan, state.at));
  const said = useStore(film, (state) => saidAt(plan, state.at));
  const shot = plan.shots[number];
  return html`<p id="screen-words" class="hidden-words">${shot.title}. ${shot.description}</p>
    <p class="said-now">${said}</p>`;
}

/**
 * Fetches and shows frames, the newest that is wanted first, as fast as they come.
 * @param {HTMLCanvasElement} canvas
 * @param {import("./film.js").Plan} plan
 */
function keepShown(canvas, plan) {
  const brush = canvas.getContext("2d");
  let isOver = false;
  let shown = NaN;
  let isFetching = false;
  let timer = 0;

  const frameSeconds = 1 / plan.frames_a_second;
  const look = async () => {
    if (isOver) return;
    const heard = heardSeconds();
    if (heard !== null) {
      film.set({ at: Math.min(heard, plan.seconds) });
      if (heard >= plan.seconds) pauseFilm();
      timer = requestAnimationFrame(look);
    }
    const wanted = Math.floor(film.get().at / frameSeconds + 1e-6) * frameSeconds;
    if (isFetching || wanted === shown) return;
    isFetching = true;
    const width = widthFor(canvas, plan);
    try {
      const answer = await fetch(`/show/frame?at=${wanted.toFixed(5)}&width=${width}&jumps=yes`);
      if (!answer.ok) return;
      const picture = await createImageBitmap(await answer.blob());
      if (!isOver) {
        if (canvas.width !== picture.width || canvas.height !== picture.height) {
          canvas.width = picture.width;
          canvas.height = picture.height;
        }
        brush?.drawImage(picture, 0, 0);
        canvas.dataset.shown = wanted.toFixed(5);
        shown = wanted;
      }
      picture.close();
    } catch {
      // While the app is away the page says so; the picture is asked for again once it is back.
    } finally {
      isFetching = false;
    }
    if (!isOver && heardSeconds() === null && film.get().at !== wanted) look();
  };
  const end = film.follow((now, before) => {
    if (now.at !== before.at && !now.isPlaying) look();
    if (now.isPlaying && !before.isPlaying) {
      cancelAnimationFrame(timer);
      look();
    }
  });
  const lookAnew = () => {
    shown = NaN;
    look();
  };
  const endWaiting = channel.on("up", lookAnew);
  const resized = new ResizeObserver(() => widthFor(canvas, plan) !== canvas.width && lookAnew());
  resized.observe(canvas);
  look();
  return () => {
    isOver = true;
    cancelAnimationFrame(timer);
    resized.disconnect();
    endWaiting();
    end();
  };
}

/**
 * How wide a frame is that fills its place, px.
 * @param {HTMLCanvasElement} canvas
 * @param {import("./film.js").Plan} plan
 */
function widthFor(canvas, plan) {
  const fitting = Math.min(canvas.clientWidth, (canvas.clientHeight * plan.width) / plan.height);
  return Math.max(LEAST_PX, Math.min(Math.round(fitting * devicePixelRatio) || WIDEST_PX, WIDEST_PX));
}

/** Where the film is looked at, and what moves it. */
export function Transport() {
  const plan = useStore(film, (state) => state.plan);
  const at = useStore(film, (state) => state.at);
  const isPlaying = useStore(film, (state) => state.isPlaying);
  const isWaiting = useStore(film, (state) => state.isWaiting);
  if (!plan) return null;
  const number = shotAt(plan, at);
  const shot = plan.shots[number];
  return html`<div class="transport">
    <button type="button" class="primary" onClick=${toggle}>${isPlaying ? "Pause" : isWaiting ? "Making the sound …" : "Play"}</button>
    <button type="button" onClick=${() => step(-1)} title="One frame back (←)">−1 frame</button>
    <button type="button" onClick=${() => step(1)} title="One frame on (→)">+1 frame</button>
    <input type="range" min="0" max=${plan.seconds} step=${1 / plan.frames_a_second} value=${at}
      aria-label="Moment of the film"
      aria-valuetext=${`${timeText(at)} of ${timeText(plan.seconds)}, frame ${Math.round(at * plan.frames_a_second)}, shot ${number + 1}: ${shot.title}`}
      onInput=${(/** @type {any} */ event) => lookAt(Number(event.target.value))} />
    <output>${timeText(at)} / ${timeText(plan.seconds)} · frame ${Math.round(at * plan.frames_a_second)}</output>
    <ol class="shots" aria-label="Shots">
      ${plan.shots.map(
        (one, index) => html`<li key=${one.name}>
          <button type="button" aria-current=${index === number ? "true" : undefined} title=${one.title}
            onClick=${() => lookAt(one.start)}><b>${index + 1}</b> ${one.scene}</button>
        </li>`,
      )}
    </ol>
  </div>`;
}

/** Plays, or holds. */
export function toggle() {
  const { isPlaying, isWaiting } = film.get();
  if (isPlaying || isWaiting) pauseFilm();
  else playFilm();
}

/**
 * Looks at a moment; a film that plays holds there.
 * @param {number} seconds
 */
export function lookAt(seconds) {
  const { plan } = film.get();
  if (!plan) return;
  pauseFilm();
  film.set({ at: Math.max(0, Math.min(seconds, plan.seconds)) });
}

/**
 * Goes some frames on, or back.
 * @param {number} frames
 */
export function step(frames) {
  const { plan, at } = film.get();
  if (!plan) return;
  const now = Math.round(at * plan.frames_a_second);
  lookAt((now + frames) / plan.frames_a_second);
}

/**
 * Goes to the start of a shot: the next, or this one, or the one before.
 * @param {number} direction
 */
export function stepShot(direction) {
  const { plan, at } = film.get();
  if (!plan) return;
  const number = shotAt(plan, at);
  const back = at - plan.shots[number].start > 1 ? 0 : -1;
  const goal = number + (direction > 0 ? 1 : back);
  lookAt(plan.shots[Math.max(0, Math.min(goal, plan.shots.length - 1))].start);
}
