import { say } from "../app.js";
import { offer } from "../commands.js";
import { html, useEffect, useState } from "../html.js";
import { stop } from "../player.js";
import { createStore, useStore } from "../store.js";
import { bringMusic, paste } from "./notate/bring.js";
import { Hear, commandsOfHearing } from "./notate/hear.js";
import { commandsOfWriting } from "./notate/keys.js";
import { Picture, useCursorInSight } from "./notate/picture.js";
import { Recording } from "./notate/recording.js";
import { lookAgain, notation } from "./notate/sheet.js";
import { TextView } from "./notate/text_view.js";
import { Tools } from "./notate/tools.js";

const view = createStore({ hasText: localStorage.getItem("riffract.text") === "yes" });

/** The desk on which the passage is written down and held against the recording. */
export function Notate() {
  const sheet = useStore(notation, (state) => state.sheet);
  const hasText = useStore(view, (state) => state.hasText);
  useCursorInSight();
  useEffect(() => {
    lookAgain();
    const query = matchMedia("(prefers-color-scheme: light)");
    query.addEventListener("change", lookAgain);
    const withdraw = offer([
      ...commandsOfWriting(),
      ...commandsOfHearing(),
      { id: "notate.sheet", desk: "notate", name: "Go to the strings", keys: ["Alt+G"], run: () => /** @type {HTMLElement | null} */ (document.querySelector(".sheet"))?.focus() },
      { id: "notate.text", desk: "notate", name: "Show or hide the text of the passage", keys: ["Alt+X"], run: toggleText },
    ]);
    return () => {
      withdraw();
      stop();
      query.removeEventListener("change", lookAgain);
    };
  }, []);
  /** @param {DragEvent} event */
  const drop = (event) => {
    const file = event.dataTransfer?.files[0];
    if (!file) return;
    event.preventDefault();
    bringMusic(file, file.name);
  };
  return html`<${Recording} />
    <${Tools} toggleText=${toggleText} hasText=${hasText} />
    <div class=${`both${hasText ? " with-text" : ""}`} onDragOver=${(/** @type {Event} */ event) => event.preventDefault()} onDrop=${drop} onPaste=${(/** @type {ClipboardEvent} */ event) => {
      if (!(event.target instanceof HTMLTextAreaElement)) paste(event);
    }}>
      <${Picture} />
      ${hasText && html`<${TextView} />`}
      ${sheet && !sheet.bars.some((bar) => bar.notes.length) && html`<${Empty} />`}
    </div>
    <${Hear} />`;
}

function toggleText() {
  const hasText = !view.get().hasText;
  view.set({ hasText });
  localStorage.setItem("riffract.text", hasText ? "yes" : "no");
  say(hasText ? "The text is shown beside the picture." : "The text is hidden.");
}

function Empty() {
  return html`<p class="hint">Nothing is written yet. Click on a string or press the arrow keys, choose a value (q for a quarter, e for an eighth),
    and type a fret number. A tab from a mail can be pasted; a MusicXML or MIDI file can be dropped here.</p>`;
}
