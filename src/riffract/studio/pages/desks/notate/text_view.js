import { channel, say, sayWhy, store } from "../../app.js";
import { html, useEffect, useRef, useState } from "../../html.js";
import { useStore } from "../../store.js";
import { inside } from "./places.js";
import { notation } from "./sheet.js";
import { LINE_PX, TextCursor } from "./text_cursor.js";

const SENT_AFTER_MS = 300;
/** So often other changes may come in between; what is refused oftener is refused for another reason. */
const MOST_TRIES = 10;
/** Whoever goes on quickly is followed once they rest. */
const FOLLOWED_AFTER_MS = 120;

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
  const following = useRef(0);
  const text = mine ?? texts[file] ?? "";
  useEffect(() => {
    // What was typed has arrived, or somebody else has changed the text.
    if (mine !== null && mine === texts[file]) setMine(null);
  }, [texts[file]]);
  /** @param {string} typed @param {string | null} folder the essay it was typed in @param {number} [tries] */
  const send = async (typed, folder, tries = 0) => {
    const { isUp, revision, folder: now } = store.get();
    if (now !== folder) return setMine(null);
    const again = (/** @type {number} */ made) => (timer.current = setTimeout(() => send(typed, folder, made), SENT_AFTER_MS));
    if (!isUp) return again(tries);
    try {
      await channel.ask("text.set", { file, text: typed, revision, label: "text typed", joins: "text" });
    } catch (refused) {
      if (tries >= MOST_TRIES) return sayWhy(refused);
      say("The text has changed elsewhere meanwhile; what you typed last is put on top of it once more.");
      again(tries + 1);
    }
  };
  /** @param {any} event */
  const type = (event) => {
    const typed = event.target.value;
    setMine(typed);
    clearTimeout(timer.current);
    const { folder } = store.get();
    timer.current = setTimeout(() => send(typed, folder), SENT_AFTER_MS);
  };
  // Where one goes in the text, the cursor of the picture goes along.
  const follow = () => {
    clearTimeout(following.current);
    following.current = setTimeout(() => area.current && mine === null && goAlong(area.current), FOLLOWED_AFTER_MS);
  };
  /** @param {number} line @param {number} column */
  const jump = (line, column) => {
    const lines = text.split("\n");
    const at = lines.slice(0, line - 1).reduce((sum, one) => sum + one.length + 1, 0) + Math.max(column - 1, 0);
    area.current?.focus();
    area.current?.setSelectionRange(at, at + 1);
    if (area.current) area.current.scrollTop = (line - 4) * LINE_PX;
  };
  if (!file) return html`<section class="text-view"><p>The music is in another format. The first change on the picture writes it down as tab.</p></section>`;
  return html`<section class="text-view" aria-label="The passage as text">
    <div class="area">
      <textarea ref=${area} aria-label=${file} spellcheck=${false} autocomplete="off" wrap="off" value=${text}
        onInput=${type} onClick=${follow} onKeyUp=${follow}></textarea>
      <${TextCursor} area=${area} text=${texts[file]} isMine=${mine !== null} />
    </div>
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

/** Brings the cursor of the picture to where one stands in the text. @param {HTMLTextAreaElement} area */
async function goAlong(area) {
  const before = area.value.slice(0, area.selectionStart).split("\n");
  const there = { line: before.length, column: before[before.length - 1].length + 1 };
  // Words beside the music lead nowhere, and nobody asked.
  const cursor = await channel.ask("notate.there", there).catch(() => null);
  const { sheet } = notation.get();
  if (cursor && sheet) notation.set({ cursor: inside(sheet, cursor), selection: null, anchor: null });
}
