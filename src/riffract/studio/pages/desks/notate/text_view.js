import { channel, say, store } from "../../app.js";
import { html, useEffect, useRef, useState } from "../../html.js";
import { useStore } from "../../store.js";
import { notation } from "./sheet.js";

const SENT_AFTER_MS = 300;

/** Names the file of the music, as far as the page knows. @param {Record<string, string>} texts */
export function musicFile(texts) {
  const named = /^\s*passage\s*=\s*"([^"]+)"/m.exec(texts["essay.toml"] ?? "")?.[1] ?? "passage.tab";
  return /\.(tab|txt)$/.test(named) ? named : "";
}

/** The same passage as text; both follow each other. */
export function TextView() {
  const texts = useStore(store, (state) => state.texts);
  const problems = useStore(notation, (state) => state.problems);
  const file = musicFile(texts);
  const area = useRef(/** @type {HTMLTextAreaElement | null} */ (null));
  const [mine, setMine] = useState(/** @type {string | null} */ (null));
  const timer = useRef(0);
  const text = mine ?? texts[file] ?? "";
  useEffect(() => {
    // What was typed has arrived, or somebody else has changed the text.
    if (mine !== null && mine === texts[file]) setMine(null);
  }, [texts[file]]);
  /** @param {string} typed */
  const send = async (typed) => {
    try {
      await channel.ask("text.set", { file, text: typed, revision: store.get().revision, label: "text typed", joins: "text" });
    } catch {
      say("The text has changed elsewhere meanwhile; what you typed last is put on top of it once more.");
      timer.current = setTimeout(() => send(typed), SENT_AFTER_MS);
    }
  };
  /** @param {any} event */
  const type = (event) => {
    const typed = event.target.value;
    setMine(typed);
    clearTimeout(timer.current);
    timer.current = setTimeout(() => send(typed), SENT_AFTER_MS);
  };
  /** @param {number} line @param {number} column */
  const jump = (line, column) => {
    const lines = text.split("\n");
    const at = lines.slice(0, line - 1).reduce((sum, one) => sum + one.length + 1, 0) + Math.max(column - 1, 0);
    area.current?.focus();
    area.current?.setSelectionRange(at, at + 1);
    if (area.current) area.current.scrollTop = (line - 4) * 19;
  };
  if (!file) return html`<section class="text-view"><p>The music is in another format. The first change on the picture writes it down as tab.</p></section>`;
  return html`<section class="text-view" aria-label="The passage as text">
    <textarea ref=${area} aria-label=${file} spellcheck=${false} autocomplete="off" wrap="off" value=${text} onInput=${type}></textarea>
    ${problems.length > 0 &&
    html`<ul class="problems" aria-label="What is wrong with the text">
      ${problems.map(
        (problem) => html`<li key=${`${problem.line}-${problem.column}-${problem.what}`} class=${problem.severity}>
          <button type="button" onClick=${() => jump(problem.line, problem.column)}>Line ${problem.line}</button>
          <span>${problem.place && html`<b>${problem.place}: </b>`}${problem.what} – ${problem.mend}</span>
        </li>`,
      )}
    </ul>`}
  </section>`;
}
