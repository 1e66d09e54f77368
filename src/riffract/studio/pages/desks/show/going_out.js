import { ask, channel, say, store } from "../../app.js";
import { html, useEffect, useState } from "../../html.js";
import { useStore } from "../../store.js";

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
});

/** What goes out: chosen, made in the background, listed. */
export function GoingOut() {
  const [parts, setParts] = useState(/** @type {{name: string, usual: boolean}[]} */ ([]));
  const [chosen, setChosen] = useState(/** @type {Set<string>} */ (new Set()));
  const [made, setMade] = useState(/** @type {{name: string, bytes: number, seconds: number}[]} */ ([]));
  const [told, setTold] = useState(/** @type {string[]} */ ([]));
  const tasks = useStore(store, (state) => state.tasks);
  const isMaking = Object.values(tasks).some((task) => task.kind === "publish" && task.state === "running");
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
  const make = async () => {
    setTold([]);
    const answer = await ask("show.export", { parts: [...chosen] });
    if (!answer) return;
    setTold([...answer.problems, ...answer.checks]);
    say(answer.failed ? "Not all of it could be made." : `${answer.files.length} files made.`);
  };
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
    <p>
      <button type="button" class="primary" disabled=${isMaking || !chosen.size} onClick=${make}>
        ${isMaking ? "Being made …" : "Make it"}</button>
      <button type="button" onClick=${() => ask("show.reveal")}>Open the folder</button>
    </p>
    <p class="quiet">Ask before you publish music or recordings of others; their rights are theirs.</p>
    ${told.length > 0 && html`<ul class="told">${told.map((line) => html`<li>${line}</li>`)}</ul>`}
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

/**
 * Writes a size as people do.
 * @param {number} bytes
 */
export function sizeText(bytes) {
  if (bytes < 1000) return `${bytes} B`;
  if (bytes < 1e6) return `${Math.round(bytes / 1000)} kB`;
  return `${(bytes / 1e6).toFixed(1)} MB`;
}
