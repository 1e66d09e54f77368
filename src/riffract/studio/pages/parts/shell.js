import { ask, redo, store, undo } from "../app.js";
import { keysText } from "../commands.js";
import { DESKS } from "../desks.js";
import { html, useEffect } from "../html.js";
import { useStore } from "../store.js";
import { openPalette } from "./palette.js";
import { Start } from "./start.js";

/** The frame around every desk: where one is, what can be taken back, what is going on. */
export function Shell() {
  const isReady = useStore(store, (state) => state.isReady);
  const folder = useStore(store, (state) => state.folder);
  if (!isReady) return html`<main class="waiting"><${Lost} /><p>Opening …</p></main>`;
  if (folder === null) return html`<${Lost} /><${Start} /><${Foot} />`;
  return html`<a class="skip" href="#desk">Skip to the desk</a><${Head} /><${Lost} /><${Desk} /><${Foot} />`;
}

function Head() {
  const desk = useStore(store, (state) => state.desk);
  const folder = useStore(store, (state) => state.folder);
  const toUndo = useStore(store, (state) => state.undo);
  const toRedo = useStore(store, (state) => state.redo);
  const name = folder?.split(/[\\/]/).pop();
  // Pages of several essays are told apart by their titles.
  useEffect(() => {
    const shown = DESKS.find((one) => one.id === desk)?.name;
    document.title = `${name}: ${shown} – Riffract`;
    return () => {
      document.title = "Riffract";
    };
  }, [name, desk]);
  return html`<header class="head">
    <h1 title=${folder}>${name}</h1>
    <nav aria-label="Desks">
      ${DESKS.map(
        (one) => html`<a href=${`#/${one.id}`} aria-current=${one.id === desk ? "page" : undefined}
          title=${one.purpose}>${one.name}</a>`,
      )}
    </nav>
    <div class="tools">
      <button type="button" onClick=${undo} disabled=${toUndo === null}
        title=${toUndo ? `Undo: ${toUndo} (${keysText("Mod+Z")})` : "Nothing to undo"}>Undo</button>
      <button type="button" onClick=${redo} disabled=${toRedo === null}
        title=${toRedo ? `Redo: ${toRedo} (${keysText("Mod+Shift+Z")})` : "Nothing to redo"}>Redo</button>
      <button type="button" onClick=${openPalette} title=${`All commands (${keysText("Mod+K")})`}>Commands</button>
    </div>
  </header>`;
}

function Desk() {
  const id = useStore(store, (state) => state.desk);
  const desk = DESKS.find((one) => one.id === id) ?? DESKS[0];
  return html`<main id="desk" class=${`desk ${desk.id}`} tabindex="-1" aria-label=${desk.name}>
    <${desk.View} key=${desk.id} />
  </main>`;
}

function Lost() {
  const isUp = useStore(store, (state) => state.isUp);
  const isReady = useStore(store, (state) => state.isReady);
  if (isUp || !isReady) return null;
  return html`<p class="lost" role="alert">
    The app does not answer. What you did is saved. If it was closed, start it again with
    <code>riffract open</code>; this page then goes on by itself or is replaced by a new one.
  </p>`;
}

function Foot() {
  const said = useStore(store, (state) => state.said);
  const problem = useStore(store, (state) => state.problem);
  const tasks = useStore(store, (state) => state.tasks);
  const running = Object.values(tasks).filter((task) => task.state === "running");
  return html`<footer class="foot">
    <p role="status" class="said">${problem ? "" : said}</p>
    ${problem &&
    html`<p role="alert" class="problem">
      ${problem.place && html`<b>${problem.place}: </b>`}${problem.what}${problem.mend && html` – ${problem.mend}`}
      <button type="button" onClick=${() => store.set({ problem: null })}>Understood</button>
    </p>`}
    ${running.map(
      (task) => html`<div class="task" key=${task.id}>
        <span>${task.title}${task.doing && `: ${task.doing}`}</span>
        <progress max="1" value=${task.share} aria-label=${task.title}></progress>
        <span>${timeLeft(task.seconds_left)}</span>
        <button type="button" onClick=${() => ask("task.stop", { id: task.id })}>Stop</button>
      </div>`,
    )}
  </footer>`;
}

/**
 * Says how long something takes yet.
 * @param {number | null} seconds
 */
export function timeLeft(seconds) {
  if (seconds === null) return "";
  if (seconds < 60) return `${Math.ceil(seconds)} s left`;
  return `${Math.ceil(seconds / 60)} min left`;
}
