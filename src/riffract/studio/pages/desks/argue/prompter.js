import { html, useEffect, useRef, useState } from "../../html.js";
import { createStore, useStore } from "../../store.js";
import { argument } from "./argument.js";

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
  const dialog = useRef(/** @type {HTMLDialogElement | null} */ (null));
  const lines = isOpen && seen ? linesFrom(seen.claims, first) : [];
  const line = lines[Math.min(at, lines.length - 1)];
  useEffect(() => {
    if (isOpen) {
      setAt(0);
      dialog.current?.showModal();
    } else dialog.current?.close();
  }, [isOpen]);
  useEffect(() => {
    if (!isRunning || !line) return undefined;
    const timer = setTimeout(() => {
      if (at + 1 < lines.length) setAt(at + 1);
      else setIsRunning(false);
    }, secondsFor(line.text, pace) * 1000);
    return () => clearTimeout(timer);
  }, [isRunning, at, pace, lines.length]);
  const close = () => {
    setIsRunning(false);
    prompter.set({ isOpen: false });
  };
  /** @param {KeyboardEvent} press */
  const onKeyDown = (press) => {
    const isButton = press.target instanceof HTMLButtonElement || press.target instanceof HTMLInputElement;
    if (press.key === " " && !isButton) setIsRunning(!isRunning);
    else if (press.key === "ArrowDown" || press.key === "ArrowRight") setAt(Math.min(at + 1, lines.length - 1));
    else if (press.key === "ArrowUp" || press.key === "ArrowLeft") setAt(Math.max(at - 1, 0));
    else return;
    press.preventDefault();
  };
  return html`<dialog ref=${dialog} class="prompter" aria-label="Prompter" onClose=${close} onKeyDown=${onKeyDown}>
    ${isOpen &&
    html`<p class="before" aria-hidden="true">${lines[at - 1]?.text}</p>
      <p class="now" aria-live="polite">${line ? line.text : "Nothing is said yet: write lines for your claims first."}</p>
      <p class="after" aria-hidden="true">${lines[at + 1]?.text}</p>
      <p class="tools">
        <button type="button" class="primary" onClick=${() => setIsRunning(!isRunning)}>${isRunning ? "Pause" : "Run"}</button>
        <button type="button" onClick=${() => setAt(Math.max(at - 1, 0))}>Back</button>
        <button type="button" onClick=${() => setAt(Math.min(at + 1, lines.length - 1))}>On</button>
        <label>Words a minute <input type="number" min="60" max="260" step="10" value=${pace}
          onInput=${(/** @type {any} */ e) => setPace(Math.max(60, Number(e.target.value) || USUAL_PACE))} /></label>
        <span>claim ${(line?.claim ?? first) + 1} · line ${Math.min(at + 1, lines.length)} of ${lines.length}</span>
        <button type="button" onClick=${close}>Close</button>
      </p>`}
  </dialog>`;
}
