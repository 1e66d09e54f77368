import { ask, channel, say, store } from "../../app.js";
import { html, useEffect, useRef, useState } from "../../html.js";
import { createStore, useStore } from "../../store.js";

/** What can be made, in words. */
const PART_NAMES = /** @type {Record<string, string>} */ ({
  film: "Film with sound, chapters and captions",
  stills: "Stills of every shot",
  handout: "Handout to check the claims by",
  captions: "Captions as files",
  script: "Script, and the same for a prompter",
  chapters: "Chapters as text",
  description: "Description for where it is published",
  passage: "The music: tab, MusicXML, MIDI",
  timeline: "Timeline for an editing program",
  page: "Web page that works without a network",
  findings: "Findings as data",
  loops: "Short loops of each shot",
  overlay: "Shots with a clear ground, for an editing program",
  stems: "Sound in stems, for an editing program",
});

/** @typedef {{name: string, measured: string, limit: string, is_passed: boolean}} Check a question to the film */

/** What came of it last: it is there as well for those who were at another desk meanwhile. */
const outcome = createStore(/** @type {{isAsked: boolean, told: string[], checks: Check[]}} */ ({ isAsked: false, told: [], checks: [] }));

/** @param {readonly string[]} parts */
async function make(parts) {
  const { folder } = store.get();
  outcome.set({ isAsked: true, told: [], checks: [] });
  const made = await ask("show.export", { parts });
  if (store.get().folder !== folder) return;
  outcome.set({ isAsked: false });
  if (!made) return;
  outcome.set({ told: made.problems, checks: made.checks });
  say(made.failed ? "Not all of it could be made." : `${made.files.length} files made.`);
}

channel.on("opened", () => outcome.set({ isAsked: false, told: [], checks: [] }));

/** What goes out: chosen, made in the background, listed. */
export function GoingOut() {
  const [parts, setParts] = useState(/** @type {{name: string, usual: boolean}[]} */ ([]));
  const [chosen, setChosen] = useState(/** @type {Set<string>} */ (new Set()));
  const [made, setMade] = useState(/** @type {{name: string, bytes: number, seconds: number}[]} */ ([]));
  const { isAsked, told, checks } = useStore(outcome, (state) => state);
  const tasks = useStore(store, (state) => state.tasks);
  const isMaking = isAsked || Object.values(tasks).some((task) => task.kind === "publish" && task.state === "running");
  const canMake = !isMaking && chosen.size > 0;
  const list = () => ask("show.made").then((files) => files && setMade(files));
  useEffect(() => {
    ask("show.parts").then((answer) => {
      if (!answer) return;
      setParts(answer);
      setChosen(new Set(answer.filter((/** @type {any} */ p) => p.usual).map((/** @type {any} */ p) => p.name)));
    });
    list();
    return channel.on("made", list);
  }, []);
  const answer = useRef(/** @type {HTMLElement | null} */ (null));
  useEffect(() => {
    if (told.length || checks.length) answer.current?.scrollIntoView({ block: "start" });
  }, [told, checks]);
  /** @param {string} name */
  const toggle = (name) => {
    const next = new Set(chosen);
    if (!next.delete(name)) next.add(name);
    setChosen(next);
  };
  return html`<section class="going-out" aria-labelledby="going-out">
    <h2 id="going-out">What goes out</h2>
    <fieldset disabled=${isMaking}>
      <legend class="hidden-words">Parts to make</legend>
      ${parts.map(
        ({ name }) => html`<label key=${name}>
          <input type="checkbox" checked=${chosen.has(name)} onChange=${() => toggle(name)} />
          ${PART_NAMES[name] ?? name}
        </label>`,
      )}
    </fieldset>
    <p class="tools">
      <button type="button" class="primary" aria-disabled=${!canMake} onClick=${() => canMake && make([...chosen])}>
        ${isMaking ? "Being made …" : "Make it"}</button>
      <button type="button" onClick=${() => ask("show.reveal")}>Open the folder</button>
    </p>
    <p class="quiet">Ask before you publish music or recordings of others; their rights are theirs.</p>
    <div ref=${answer}>
      ${told.length > 0 && html`<h3>Worth a look</h3><ul class="told">${told.map((line) => html`<li>${line}</li>`)}</ul>`}
      ${checks.length > 0 && html`<${Checks} checks=${checks} />`}
    </div>
    <h3>Made so far</h3>
    ${made.length
      ? html`<ul class="made">
          ${made.map(
            (file) => html`<li key=${file.name}>
              <a href=${`/made/${file.name.split("/").map(encodeURIComponent).join("/")}`} target="_blank" rel="noopener">${file.name}</a>
              <span>${sizeText(file.bytes)}</span>
            </li>`,
          )}
        </ul>`
      : html`<p class="quiet">Nothing yet. Choose what you need and make it; the film takes about as long as it plays.</p>`}
  </section>`;
}

/** @param {{checks: Check[]}} props */
function Checks({ checks }) {
  const failed = checks.filter((check) => !check.is_passed).length;
  return html`<details class="checks" open=${failed > 0}>
    <summary>${failed ? `${failed} of ${checks.length} checks of the film failed` : `The film passes all ${checks.length} checks`}</summary>
    <dl>${checks.map(
      (check) => html`<div><dt>${check.is_passed ? "✓" : "✗ fails:"} ${check.name}</dt>
        <dd>${check.measured} <span class="quiet">(allowed: ${check.limit})</span></dd></div>`,
    )}</dl>
  </details>`;
}

/**
 * Writes a size as people do.
 * @param {number} bytes
 */
export function sizeText(bytes) {
  if (bytes < 1000) return `${bytes} B`;
  if (bytes < 1e6) return `${Math.round(bytes / 1000)} kB`;
  return `${(bytes / 1e6).toFixed(1)} MB`;
}
