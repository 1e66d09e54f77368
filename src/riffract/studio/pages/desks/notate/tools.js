import { html, useRef } from "../../html.js";
import { keysText } from "../../commands.js";
import { Toolbar } from "../../parts/toolbar.js";
import { useStore } from "../../store.js";
import { bringMusic } from "./bring.js";
import { commandsOfWriting } from "./keys.js";
import { valueParts } from "./places.js";
import { notation } from "./sheet.js";

const VALUES = ["w", "h", "q", "e", "s", "t"];
const SHOWN = ["notate.dot", "notate.tuplet", "notate.tie", "notate.palm_mute", "notate.ring", "notate.hammer_on", "notate.pull_off", "notate.slide", "notate.bend", "notate.vibrato", "notate.dead", "notate.harmonic"];
const NAMES = /** @type {Record<string, string>} */ ({
  "notate.dot": "dot", "notate.tuplet": "tuplet", "notate.tie": "tie", "notate.palm_mute": "mute", "notate.ring": "ring",
  "notate.hammer_on": "hammer", "notate.pull_off": "pull", "notate.slide": "slide", "notate.bend": "bend", "notate.vibrato": "vibrato",
  "notate.dead": "dead", "notate.harmonic": "harmonic", "notate.bar.insert": "bar before", "notate.bar.append": "bar behind",
});
const MORE = ["notate.metre", "notate.tempo", "notate.section", "notate.tuning", "notate.bar.insert", "notate.bar.append"];

/** Does something on the strings, where one then goes on. @param {import("../../commands.js").Command} command */
function doThere(command) {
  command.run();
  /** @type {HTMLElement | null} */ (document.querySelector(".sheet"))?.focus();
}

/**
 * What can be done by hand, with the key that does the same.
 * @param {{toggleText: () => void, hasText: boolean}} props
 */
export function Tools({ toggleText, hasText }) {
  const value = useStore(notation, (state) => state.value);
  const input = useRef(/** @type {HTMLInputElement | null} */ (null));
  const all = commandsOfWriting();
  const find = (/** @type {string} */ id) => all.find((command) => command.id === id);
  const { dots, ratio } = valueParts(value);
  const pressed = /** @type {Record<string, boolean>} */ ({ "notate.dot": dots !== "", "notate.tuplet": ratio !== null });
  /** @param {string} id @param {string} name */
  const button = (id, name) => {
    const command = find(id);
    if (!command) return null;
    const key = command.keys?.[0];
    return html`<button type="button" key=${id} aria-pressed=${pressed[id]} title=${`${command.name}${key ? ` (${keysText(key)})` : ""}`} onClick=${() => doThere(command)}>${name}${key && html` <kbd>${keysText(key)}</kbd>`}</button>`;
  };
  return html`<${Toolbar} class="tools-of-writing" name="Writing">
    <span role="group" aria-label="Value">
      ${VALUES.map((letter) => {
        const command = find(`notate.value.${letter}`);
        return html`<button type="button" key=${letter} title=${command?.name} aria-pressed=${valueParts(value).letter === letter} aria-label=${command?.name}
          onClick=${() => command && doThere(command)}>${letter}</button>`;
      })}
    </span>
    <span role="group" aria-label="Signs">${SHOWN.map((id) => button(id, NAMES[id]))}</span>
    <span role="group" aria-label="Bars and instrument">${MORE.map((id) => button(id, NAMES[id] ?? find(id)?.name.replace(" …", "").toLowerCase() ?? ""))}
      <button type="button" aria-pressed=${hasText} onClick=${toggleText}>text</button>
      <button type="button" onClick=${() => input.current?.click()} title="Tab, MusicXML or MIDI; it takes the place of the passage, and undo gives that back">bring music in</button>
      <input ref=${input} type="file" class="hidden-words" tabindex="-1" aria-label="A file of music" accept=".tab,.txt,.musicxml,.xml,.mxl,.mid,.midi"
        onChange=${(/** @type {any} */ event) => {
          const file = event.target.files[0];
          if (file) bringMusic(file, file.name);
          event.target.value = "";
        }} />
    </span>
  <//>`;
}
