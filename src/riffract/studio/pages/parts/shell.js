import { ask, redo, store, undo } from "../app.js";
import { keysText } from "../commands.js";
import { DESKS } from "../desks.js";
import { html, useEffect } from "../html.js";
import { useStore } from "../store.js";
import { openKeys } from "./keys_panel.js";
import { openPalette } from "./palette.js";
import { Start } from "./start.js";
import { Toolbar } from "./toolbar.js";

/** The frame around every desk: where one is, what can be taken back, what is going on. */
export function Shell() {
  const isReady = useStore(store, (state) => state.isReady);
  const folder = useStore(store, (state) => state.folder);
  if (!isReady) return html`<main class="waiting"><${Lost} /><p>Opening …</p></main>`;
  if (folder === null) return html`<${Lost} /><${Start} /><${Foot} />`;
  return html`<${Skips} /><${Head} /><${Lost} /><${Desk} /><${Foot} />`;
}

/** Ways past the head for those who go by Tab: to the desk, and to the passage where it is written. */
function Skips() {
  const desk = useStore(store, (state) => state.desk);
  const goal = desk === "notate" ? ".sheet" : desk === "study" ? ".finding[tabindex='0']" : null;
  const to = (/** @type {string} */ selector) => (/** @type {Event} */ event) => {
    event.preventDefault();
    /** @type {HTMLElement | null} */ (document.querySelector(selector))?.focus();
  };
  return html`<a class="skip" href="#desk" onClick=${to("#desk")}>Skip to the desk</a>
    ${goal && html`<a class="skip" href="#desk" onClick=${to(goal)}>Skip to the ${desk === "notate" ? "strings" : "findings"}</a>`}`;
}

function Head() {
  const desk = useStore(store, (state) => state.desk);
  const folder = useStore(store, (state) => state.folder);
  const toUndo = useStore(store, (state) => state.undo);
  const toRedo = useStore(store, (state) => state.redo);
  const title = useStore(store, (state) => state.title);
  // Pages of several essays are told apart by their titles.
  useEffect(() => {
    const shown = DESKS.find((one) => one.id === desk)?.name;
    document.title = `${title}: ${shown} – Riffract`;
    return () => {
      document.title = "Riffract";
    };
  }, [title, desk]);
  return html`<header class="head">
    <h1 title=${`${title} – ${folder}`}>${title}</h1>
    <nav aria-label="Desks">
      ${DESKS.map(
        (one) => html`<a href=${`#/${one.id}`} aria-current=${one.id === desk ? "page" : undefined}
          title=${one.purpose}>${one.name}</a>`,
      )}
    </nav>
    <${Toolbar} class="tools" name="Changes and commands">
      <button type="button" onClick=${undo} aria-disabled=${toUndo === null}
        title=${toUndo ? `Undo: ${toUndo} (${keysText("Mod+Z")})` : "Nothing to undo"}>Undo</button>
      <button type="button" onClick=${redo} aria-disabled=${toRedo === null}
        title=${toRedo ? `Redo: ${toRedo} (${keysText("Mod+Shift+Z")})` : "Nothing to redo"}>Redo</button>
      <button type="button" onClick=${openPalette} title=${`All commands (${keysText("Mod+K")})`}>Commands</button>
      <button type="button" onClick=${openKeys} title="All keys of this desk (?)">Keys</button>
    <//>
  </header>`;
}

function Desk() {
  const id = useStore(store, (state) => state.desk);
  const folder = useStore(store, (state) => state.folder);
  const desk = DESKS.find((one) => one.id === id) ?? DESKS[0];
  // Another desk begins at its own top, however far this one is scrolled.
  return html`<main id="desk" key=${`${desk.id} of ${folder}`} class=${`desk ${desk.id}`} tabindex="-1" aria-label=${desk.name}>
    <${desk.View} />
  </main>`;
}

function Lost() {
  const isUp = useStore(store, (state) => state.isUp);
  const isReady = useStore(store, (state) => state.isReady);
  if (isUp || !isReady) return null;
  return html`<p class="lost" role="alert">
    The app does not answer. What you did is saved. If it was closed, start it again with${" "}
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
