import { say } from "../app.js";
import { useDesk } from "../at_desk.js";
import { keysText } from "../commands.js";
import { html, useEffect, useState } from "../html.js";
import { followLook } from "../look.js";
import { stop } from "../player.js";
import { createStore, useStore } from "../store.js";
import { bringMusic, paste } from "./notate/bring.js";
import { Hear, commandsOfHearing } from "./notate/hear.js";
import { commandsOfWriting } from "./notate/keys.js";
import { Picture, useCursorInSight } from "./notate/picture.js";
import { Recording } from "./notate/recording.js";
import { bringIn } from "./notate/recording/recording.js";
import { lookAgain, notation } from "./notate/sheet.js";
import { fretsAtCursor, menuAtCursor, menuAtPointer } from "./notate/sheet_menu.js";
import { TextView } from "./notate/text_view.js";
import { Tools } from "./notate/tools.js";

const view = createStore({ hasText: localStorage.getItem("riffract.text") === "yes" });

/** The desk on which the passage is written down and held against the recording. */
export function Notate() {
  const sheet = useStore(notation, (state) => state.sheet);
  const hasText = useStore(view, (state) => state.hasText);
  useCursorInSight();
  useDesk({ begin: lookAgain, commands, end: stop });
  useEffect(() => followLook(lookAgain), []);
  useEffect(() => {
    document.addEventListener("paste", pasteHere);
    document.addEventListener("drop", dropHere);
    return () => {
      document.removeEventListener("paste", pasteHere);
      document.removeEventListener("drop", dropHere);
    };
  }, []);
  return html`<${Recording} />
    <${Tools} toggleText=${toggleText} hasText=${hasText} />
    <div class=${`both${hasText ? " with-text" : ""}`} onContextMenu=${menuAtPointer}>
      <${Picture} />
      ${hasText && html`<${TextView} />`}
      ${sheet && !sheet.bars.some((bar) => bar.notes.length) && html`<${Empty} />`}
    </div>
    <${Hear} />`;
}

/** Takes what is pasted anywhere but where one types. @param {ClipboardEvent} event */
function pasteHere(event) {
  const focused = /** @type {Element} */ (event.target);
  if (!focused.closest("dialog[open], input, textarea")) paste(event);
}

/** Takes a file that is dropped anywhere: sound for the recording, all else for the music. @param {DragEvent} event */
function dropHere(event) {
  const file = event.dataTransfer?.files[0];
  if (!file) return;
  event.preventDefault();
  if (/^(audio|video)\//.test(file.type) && !/midi?$/.test(file.type)) bringIn(file, file.name);
  else bringMusic(file, file.name);
}

/** @returns {import("../commands.js").Command[]} */
function commands() {
  return [
    ...commandsOfHearing(),
    ...commandsOfWriting(),
    { id: "notate.sheet", desk: "notate", name: "Go to the strings", keys: ["Alt+G"], run: () => /** @type {HTMLElement | null} */ (document.querySelector(".sheet"))?.focus() },
    { id: "notate.menu", desk: "notate", within: ".sheet", isAtRest: true, name: "What can be done here …", keys: ["Shift+F10", "ContextMenu"], run: menuAtCursor },
    { id: "notate.fret.choose", desk: "notate", group: "Notes", within: ".sheet", isAtRest: true, name: "A fret here …", keys: ["Enter"], run: fretsAtCursor },
    { id: "notate.text", desk: "notate", name: "Show or hide the text of the passage", keys: ["Alt+X"], run: toggleText },
  ];
}

function toggleText() {
  const hasText = !view.get().hasText;
  view.set({ hasText });
  localStorage.setItem("riffract.text", hasText ? "yes" : "no");
  say(hasText ? "The text is shown beside the picture." : "The text is hidden.");
}

function Empty() {
  const key = (/** @type {string} */ keys) => html`<kbd>${keysText(keys)}</kbd>`;
  return html`<p class="hint">Nothing is written yet. Set the metre (${key("Alt+T")}) and the tuning (${key("Alt+U")}) first. Then go to a string by a
    click or the arrow keys, choose a value (${key("q")} a quarter, ${key("e")} an eighth), type a fret, and go on by ${key("ArrowRight")}: new bars come by themselves.
    By mouse alone, a double click gives the frets to choose from, a right click all else.
    A tab from a mail can be pasted; a MusicXML or MIDI file can be dropped here. ${key("?")} lists all keys.</p>`;
}
