import { store } from "../../app.js";
import { html, useEffect, useState } from "../../html.js";
import { createStore, useStore } from "../../store.js";
import { isFirstClick, useMicrophone } from "../../parts/microphone.js";
import { useModal } from "../../parts/modal.js";
import { Level } from "../notate/recording/bring_in.js";
import { argument, keyOf } from "./argument.js";
import { keepTake } from "./takes.js";

const prompter = createStore({ isOpen: false });

/** Words a minute of somebody who explains calmly; the person sets their own. */
const USUAL_PACE = 140;

/** Shows what is to be said, large, one line after the other. */
export function openPrompter() {
  prompter.set({ isOpen: true });
}

/**
 * Lists all that is said, claim by claim.
 * @param {readonly import("./argument.js").Claim[]} claims
 * @param {number} first the claim to begin with
 */
export function linesFrom(claims, first) {
  return claims.slice(first).flatMap((claim, i) => claim.lines.map((text) => ({ text, claim: first + i })));
}

/**
 * Tells how long a line takes at a pace.
 * @param {string} text
 * @param {number} pace words a minute
 */
export function secondsFor(text, pace) {
  return Math.max(1, (text.split(/\s+/).filter(Boolean).length * 60) / pace);
}

/** The prompter's dialog. */
export function Prompter() {
  const isOpen = useStore(prompter, (state) => state.isOpen);
  const seen = useStore(argument, (state) => state.seen);
  const first = useStore(argument, (state) => state.at);
  const [at, setAt] = useState(0);
  const [pace, setPace] = useState(USUAL_PACE);
  const [isRunning, setIsRunning] = useState(false);
  const claim = seen?.claims[first];
  const { folder } = store.get();
  const key = claim ? keyOf(claim, first) : first;
  const microphone = useMicrophone((sound, ending) => keepTake(claim?.title ?? "", key, sound, ending, folder));
  // A take is of one claim, so its lines are all that is shown meanwhile.
  const claims = seen && (microphone.isRunning ? seen.claims.slice(0, first + 1) : seen.claims);
  const lines = isOpen && claims ? linesFrom(claims, first) : [];
  const line = lines[Math.min(at, lines.length - 1)];
  useEffect(() => {
    if (isOpen) setAt(0);
  }, [isOpen]);
  useEffect(() => {
    if (!isRunning || !line) return undefined;
    const timer = setTimeout(() => {
      if (at + 1 < lines.length) setAt(at + 1);
      else setIsRunning(false);
    }, secondsFor(line.text, pace) * 1000);
    return () => clearTimeout(timer);
  }, [isRunning, at, pace, lines.length]);
  const begin = async () => {
    if (!(await microphone.begin())) return;
    setAt(0);
    setIsRunning(true);
  };
  const close = () => {
    setIsRunning(false);
    microphone.end();
    prompter.set({ isOpen: false });
  };
  const go = (/** @type {number} */ steps) => setAt(Math.max(0, Math.min(at + steps, lines.length - 1)));
  const modal = useModal(isOpen, close);
  /** @param {KeyboardEvent} press */
  const onKeyDown = (press) => {
    const isButton = press.target instanceof HTMLButtonElement || press.target instanceof HTMLInputElement;
    if (press.key === " " && !isButton) setIsRunning(!isRunning);
    else if (press.key === "ArrowDown" || press.key === "ArrowRight") go(1);
    else if (press.key === "ArrowUp" || press.key === "ArrowLeft") go(-1);
    else return;
    press.preventDefault();
  };
  return html`<dialog ...${modal} class="prompter" aria-label="Prompter" onKeyDown=${onKeyDown}>
    ${isOpen &&
    html`<p class="before" aria-hidden="true">${lines[at - 1]?.text}</p>
      <p class="now" aria-live="polite">${line ? line.text : "Nothing is said yet: write lines for your claims first."}</p>
      <p class="after" aria-hidden="true">${lines[at + 1]?.text}</p>
      <p class="tools">
        <button type="button" class="primary" onClick=${() => setIsRunning(!isRunning)}>${isRunning ? "Pause" : "Run"}</button>
        <button type="button" onClick=${() => go(-1)}>Back</button>
        <button type="button" onClick=${() => go(1)}>On</button>
        <label>Words a minute <input type="number" min="60" max="260" step="10" value=${pace}
          onInput=${(/** @type {any} */ e) => setPace(Math.max(60, Number(e.target.value) || USUAL_PACE))} /></label>
        <button type="button" class=${microphone.isRunning ? "recording" : ""} disabled=${!claim} onClick=${(/** @type {MouseEvent} */ click) => isFirstClick(click) && (microphone.isRunning ? microphone.end() : begin())}>
          ${microphone.isRunning ? "■ End the take" : `Record claim ${first + 1}`}</button>
        ${microphone.isRunning && html`<${Level} level=${microphone.level} />`}
        <span>claim ${(line?.claim ?? first) + 1} · line ${Math.min(at + 1, lines.length)} of ${lines.length}</span>
        <button type="button" onClick=${close}>Close</button>
      </p>`}
  </dialog>`;
}
