import { isOff, keysText } from "../commands.js";
import { html, useEffect, useLayoutEffect, useRef } from "../html.js";
import { createStore, useStore } from "../store.js";

/** @typedef {import("../commands.js").Command} Command */
/** @typedef {{name: string, x: number, y: number, groups: Command[][], columns: number, back: HTMLElement | null}} Opened */

const menu = createStore(/** @type {{now: Opened | null}} */ ({ now: null }));

/**
 * Shows a menu of what can be done here.
 * @param {string} name what it is about, for those who listen
 * @param {{x: number, y: number}} at in px of the window
 * @param {Command[][]} groups
 * @param {number} [columns] side by side
 */
export function openMenu(name, { x, y }, groups, columns = 1) {
  const back = menu.get().now?.back ?? /** @type {HTMLElement | null} */ (document.activeElement);
  menu.set({ now: { name, x, y, groups: groups.filter((group) => group.length), columns, back } });
}

/** Closes it; the focus goes back where it was. */
function close() {
  const { now } = menu.get();
  menu.set({ now: null });
  now?.back?.focus();
}

/** The menu, as the Authoring Practices of ARIA describe one. */
export function Menu() {
  const now = useStore(menu, (state) => state.now);
  const place = useRef(/** @type {HTMLElement | null} */ (null));
  useLayoutEffect(() => {
    if (!now || !place.current) return;
    keepInside(place.current, now);
    items(place.current)[0]?.focus();
  }, [now]);
  useEffect(() => {
    if (!now) return undefined;
    const ending = new AbortController();
    const { signal } = ending;
    const outside = (/** @type {Event} */ event) => place.current?.contains(/** @type {Node} */ (event.target)) || menu.set({ now: null });
    document.addEventListener("pointerdown", outside, { signal, capture: true });
    addEventListener("resize", close, { signal });
    addEventListener("hashchange", () => menu.set({ now: null }), { signal });
    return () => ending.abort();
  }, [now]);
  if (!now) return null;
  return html`<div ref=${place} class=${`menu${now.columns > 1 ? " wide" : ""}`} style=${{ "--columns": now.columns }} data-columns=${now.columns} role="menu" aria-label=${now.name} tabindex="-1" onKeyDown=${onKey}
    onContextMenu=${(/** @type {Event} */ event) => event.preventDefault()}>
    ${now.groups.map(
      (group, index) => html`${index > 0 && html`<hr key=${`rule ${index}`} role="separator" />`}
        ${group.map((command) => html`<${Item} key=${command.id} command=${command} />`)}`,
    )}
  </div>`;
}

/** @param {{command: Command}} props */
function Item({ command }) {
  const key = command.keys?.[0];
  const off = isOff(command);
  return html`<div role="menuitem" tabindex="-1" aria-disabled=${off ? "true" : undefined} aria-keyshortcuts=${key?.replace("Mod", "Control")}
    onPointerMove=${(/** @type {any} */ event) => event.currentTarget.focus()}
    onClick=${() => {
      if (off) return;
      close();
      command.run();
    }}><span>${command.name}</span>${key && html`<kbd aria-hidden="true">${keysText(key)}</kbd>`}</div>`;
}

/** @param {HTMLElement} place @returns {HTMLElement[]} */
const items = (place) => [...place.querySelectorAll('[role="menuitem"]')].map((one) => /** @type {HTMLElement} */ (one));

/** @param {KeyboardEvent} press */
function onKey(press) {
  const all = items(/** @type {HTMLElement} */ (press.currentTarget));
  const at = all.indexOf(/** @type {HTMLElement} */ (document.activeElement));
  const columns = Number(/** @type {HTMLElement} */ (press.currentTarget).dataset.columns);
  /** @type {Record<string, () => void>} */
  const ways = {
    ArrowDown: () => all[(at + columns) % all.length]?.focus(),
    ArrowUp: () => all[(at - columns + all.length) % all.length]?.focus(),
    ArrowRight: () => columns > 1 && all[(at + 1) % all.length]?.focus(),
    ArrowLeft: () => columns > 1 && all[(at - 1 + all.length) % all.length]?.focus(),
    Home: () => all[0]?.focus(),
    End: () => all[all.length - 1]?.focus(),
    Enter: () => all[at]?.click(),
    " ": () => all[at]?.click(),
    Escape: close,
    Tab: close,
  };
  // No key of the desk works behind an open menu.
  press.stopPropagation();
  const way = ways[press.key] ?? (press.key.length === 1 ? () => after(all, at, press.key)?.focus() : undefined);
  if (!way) return;
  press.preventDefault();
  way();
}

/**
 * The next item that starts with a letter.
 * @param {readonly HTMLElement[]} all
 * @param {number} at
 * @param {string} letter
 */
function after(all, at, letter) {
  const inTurn = [...all.slice(at + 1), ...all.slice(0, at + 1)];
  return inTurn.find((one) => one.textContent?.trim().toLowerCase().startsWith(letter.toLowerCase()));
}

/** Moves the menu so that all of it is seen. @param {HTMLElement} place @param {{x: number, y: number}} wanted */
function keepInside(place, { x, y }) {
  const { width, height } = place.getBoundingClientRect();
  place.style.left = `${Math.max(4, Math.min(x, innerWidth - width - 4))}px`;
  place.style.top = `${Math.max(4, Math.min(y, innerHeight - height - 4))}px`;
}
