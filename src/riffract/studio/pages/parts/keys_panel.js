import { store } from "../app.js";
import { commandsAt, keysText } from "../commands.js";
import { DESKS } from "../desks.js";
import { html } from "../html.js";
import { useModal } from "./modal.js";
import { createStore, useStore } from "../store.js";

/** @typedef {import("../commands.js").Command} Command */

const panel = createStore({ isOpen: false, wanted: "" });

/** Shows all keys of the desk. */
export function openKeys() {
  panel.set({ isOpen: true, wanted: "" });
}

/**
 * Lists commands that have keys, by what they are listed under; those with a group of their own come first, those
 * that work everywhere last.
 * @param {readonly Command[]} commands
 * @param {string} wanted words that are looked for, in names and keys
 * @param {(command: Command) => string} groupOf
 * @returns {[string, Command[]][]}
 */
function keyGroups(commands, wanted, groupOf) {
  const words = wanted.toLowerCase().split(/\s+/).filter(Boolean);
  /** @type {Map<string, Command[]>} */
  const groups = new Map();
  const rank = (/** @type {Command} */ { desk, group }) => (group ? 0 : desk ? 1 : 2);
  for (const command of [...commands].sort((a, b) => rank(a) - rank(b))) {
    const keys = command.keys ?? [];
    const text = `${command.name} ${groupOf(command)} ${keys.join(" ")} ${keys.map(keysText).join(" ")}`.toLowerCase();
    if (!keys.length || !words.every((word) => text.includes(word))) continue;
    groups.set(groupOf(command), [...(groups.get(groupOf(command)) ?? []), command]);
  }
  return [...groups];
}

/** The dialog of keys. */
export function KeysPanel() {
  const { isOpen, wanted } = useStore(panel, (state) => state);
  const desk = useStore(store, (state) => state.desk);
  const close = () => panel.set({ isOpen: false });
  const modal = useModal(isOpen, close);
  const name = DESKS.find((one) => one.id === desk)?.name ?? "";
  const groups = isOpen ? keyGroups(commandsAt(desk), wanted, (one) => one.group ?? (one.desk ? name : "Everywhere")) : [];
  return html`<dialog ...${modal} class="keys-panel" aria-labelledby="keys-title">
    ${isOpen &&
    html`<div class="title">
        <h2 id="keys-title">Keys of ${name}</h2>
        <label>Find <input type="text" autofocus value=${wanted} onInput=${(/** @type {any} */ e) => panel.set({ wanted: e.target.value })} /></label>
        <button type="button" onClick=${close}>Close</button>
      </div>
      <div class="groups" tabindex="0" role="group" aria-label="Keys">
        <div class="columns">${groups.map(([group, commands]) => html`<${Group} key=${group} name=${group} commands=${commands} />`)}</div>
        ${!groups.length && html`<p>No key has these words.</p>`}
      </div>`}
  </dialog>`;
}

/** @param {{name: string, commands: readonly Command[]}} props */
function Group({ name, commands }) {
  return html`<section><h3>${name}</h3>
    <dl>${commands.map(
      (command) => html`<div key=${command.id}><dt>${(command.keys ?? []).map((keys) => html`<kbd>${keysText(keys)}</kbd> `)}</dt><dd>${command.name}</dd></div>`,
    )}</dl>
  </section>`;
}
