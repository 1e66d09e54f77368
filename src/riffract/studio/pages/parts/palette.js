import { store } from "../app.js";
import { commandsAt, isOff, keysText } from "../commands.js";
import { createStore, useStore } from "../store.js";
import { html } from "../html.js";
import { useModal } from "./modal.js";

const palette = createStore(/** @type {{isOpen: boolean, wanted: string, at: number}} */ ({ isOpen: false, wanted: "", at: 0 }));

/** Shows all commands of the desk, to be chosen by typing. */
export function openPalette() {
  palette.set({ isOpen: true, wanted: "", at: 0 });
}

/**
 * Lists commands whose name has every word that was typed.
 * @param {readonly import("../commands.js").Command[]} commands
 * @param {string} wanted
 */
function matching(commands, wanted) {
  const words = wanted.toLowerCase().split(/\s+/).filter(Boolean);
  return commands.filter(
    (command) => !command.isQuiet && words.every((word) => command.name.toLowerCase().includes(word)),
  );
}

/** The dialog of commands. */
export function Palette() {
  const { isOpen, wanted, at } = useStore(palette, (state) => state);
  const desk = useStore(store, (state) => state.desk);
  const found = isOpen ? matching(commandsAt(desk), wanted) : [];
  const chosen = Math.min(at, found.length - 1);
  const close = () => palette.set({ isOpen: false });
  const modal = useModal(isOpen, close);
  /** @param {import("../commands.js").Command | undefined} command */
  const choose = (command) => {
    if (!command || isOff(command)) return;
    close();
    command.run();
  };
  /** @param {KeyboardEvent} press */
  const onKeyDown = (press) => {
    const steps = { ArrowDown: 1, ArrowUp: -1 }[press.key];
    if (steps) {
      press.preventDefault();
      palette.set({ at: Math.max(0, Math.min(found.length - 1, chosen + steps)) });
      document.getElementById(`command-${chosen + steps}`)?.scrollIntoView({ block: "nearest" });
    } else if (press.key === "Enter") {
      press.preventDefault();
      choose(found[chosen]);
    }
  };
  return html`<dialog ...${modal} class="palette" aria-label="Commands">
    ${isOpen &&
    html`<input type="text" role="combobox" aria-expanded="true" aria-controls="commands" autofocus
        aria-activedescendant=${found.length ? `command-${chosen}` : undefined}
        aria-label="What do you want to do?" placeholder="What do you want to do?"
        value=${wanted} onKeyDown=${onKeyDown}
        onInput=${(/** @type {any} */ event) => palette.set({ wanted: event.target.value, at: 0 })} />
      <ul id="commands" role="listbox" aria-label="Commands">
        ${found.map(
          (command, index) => html`<li id=${`command-${index}`} key=${command.id} role="option"
            aria-selected=${index === chosen}
            aria-disabled=${isOff(command) ? "true" : undefined}
            onClick=${() => choose(command)}>
            <span>${command.name}${isOff(command) && html` <small>– ${command.lacks ?? "not now"}</small>`}</span>
            <span class="keys">${(command.keys ?? []).map((keys) => html`<kbd>${keysText(keys)}</kbd>`)}</span>
          </li>`,
        )}
      </ul>
      ${!found.length && html`<p>No command has these words.</p>`}`}
  </dialog>`;
}
