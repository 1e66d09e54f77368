import { ask, store } from "../app.js";
import { html, useState } from "../html.js";
import { useStore } from "../store.js";
import { beginTour } from "./tour.js";

/** The start page: go on with an essay, start one, or look at the built-in one. */
export function Start() {
  const recent = useStore(store, (state) => state.recent);
  const home = useStore(store, (state) => state.home);
  const [title, setTitle] = useState("");
  const [place, setPlace] = useState("");
  const folder = place || `${home}/Riffract/${slug(title) || "my-riff"}`;
  return html`<main id="desk" class="start" tabindex="-1" aria-label="Start">
    <h1>Riffract</h1>
    <p class="claim">One riff, written down, understood, and shown.</p>
    <div>
      ${recent.length > 0 && html`<${GoOn} recent=${recent} />`}
      <section aria-labelledby="look">
        <h2 id="look">${recent.length ? "Look at the built-in essay" : "New here? Look at the built-in essay"}</h2>
        <p>A whole essay, from the riff to the film, to look at and to change as you like.</p>
        <button type="button" onClick=${() => openDemo(home)}>Open the demo and be shown around</button>
      </section>
    </div>
    <div>
      <section aria-labelledby="begin">
        <h2 id="begin">Begin a new essay</h2>
        <form onSubmit=${(/** @type {Event} */ event) => {
          event.preventDefault();
          ask("start.new", { folder, title });
        }}>
          <label>What is the riff called?
            <input value=${title} onInput=${(/** @type {any} */ e) => setTitle(e.target.value)} placeholder="My riff" />
          </label>
          <label>Folder for its files
            <input value=${folder} onInput=${(/** @type {any} */ e) => setPlace(e.target.value)} spellcheck=${false} />
          </label>
          <button type="submit" class="primary">Begin</button>
        </form>
      </section>
      <section aria-labelledby="open-folder">
        <h2 id="open-folder">Open a folder</h2>
        <form onSubmit=${(/** @type {any} */ event) => {
          event.preventDefault();
          ask("start.open", { folder: new FormData(event.target).get("folder") });
        }}>
          <label>Folder of an essay <input name="folder" required spellcheck=${false} /></label>
          <button type="submit">Open</button>
        </form>
      </section>
    </div>
  </main>`;
}

/** @param {{recent: readonly {folder: string, title: string}[]}} props */
function GoOn({ recent }) {
  return html`<section aria-labelledby="go-on">
    <h2 id="go-on">Go on with</h2>
    <ul class="recent">
      ${recent.map(
        (essay) => html`<li key=${essay.folder}>
          <button type="button" onClick=${() => ask("start.open", { folder: essay.folder })}>
            <b>${essay.title}</b><span>${essay.folder}</span>
          </button>
        </li>`,
      )}
    </ul>
  </section>`;
}

/**
 * Opens the built-in essay, and leads around in it.
 * @param {string} home
 */
async function openDemo(home) {
  if ((await ask("start.demo", { folder: `${home}/Riffract/demo` })) !== undefined) beginTour();
}

/**
 * Makes a folder's name of a title.
 * @param {string} title
 */
function slug(title) {
  return title
    .normalize("NFKD")
    .replace(/[\u0300-\u036f]/g, "") // accents of Latin letters
    .toLowerCase()
    .replace(/[^\p{L}\p{M}\p{N}]+/gu, "-")
    .replace(/^-+|-+$/g, "")
    .slice(0, 60);
}
