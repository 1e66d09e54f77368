/**
 * @typedef {object} Command
 * @property {string} id `desk.verb`
 * @property {string} name what it does, as the palette shows it
 * @property {string[]} [keys] such as `Mod+Z`, `Shift+ArrowUp`, `7`, `?`; `Mod` is ⌘ on a Mac, Ctrl elsewhere
 * @property {string} [desk] the desk it belongs to; without one it works everywhere
 * @property {string} [within] a CSS selector: its keys work only while the focus is inside
 * @property {boolean} [isQuiet] whether the palette leaves it out, as it does single digits
 * @property {() => boolean} [isOn] whether it can be done now
 * @property {() => unknown} run
 */

const isMac = /Mac|iPhone|iPad/.test(globalThis.navigator?.platform ?? "");

/** @type {Map<string, Command>} */
const known = new Map();

/**
 * Makes commands known; gives a function that takes them back.
 * @param {readonly Command[]} commands
 */
export function offer(commands) {
  for (const command of commands) known.set(command.id, command);
  return () => {
    for (const command of commands) {
      if (known.get(command.id) === command) known.delete(command.id);
    }
  };
}

/**
 * Lists what can be done at a desk, in the order in which it was offered.
 * @param {string} desk
 */
export function commandsAt(desk) {
  return [...known.values()].filter((c) => !c.desk || c.desk === desk);
}

/**
 * Names the keys that a press stands for, such as `Mod+Shift+Z`.
 * @param {Pick<KeyboardEvent, "key" | "ctrlKey" | "metaKey" | "altKey" | "shiftKey">} press
 */
export function keysOf(press) {
  const parts = [];
  if (isMac ? press.metaKey : press.ctrlKey) parts.push("Mod");
  if (press.altKey) parts.push("Alt");
  const isSign = press.key.length === 1;
  // The shift that makes a sign is part of the sign, except with letters held with another key.
  if (press.shiftKey && (!isSign || parts.length > 0)) parts.push("Shift");
  const key = press.key === " " ? "Space" : isSign && parts.length > 0 ? press.key.toUpperCase() : press.key;
  return [...parts, key].join("+");
}

/**
 * Writes keys as people know them from their keyboards.
 * @param {string} keys
 */
export function keysText(keys) {
  /** @type {Record<string, string>} */
  const names = isMac
    ? { Mod: "⌘", Alt: "⌥", Shift: "⇧", ArrowUp: "↑", ArrowDown: "↓", ArrowLeft: "←", ArrowRight: "→" }
    : { Mod: "Ctrl", ArrowUp: "↑", ArrowDown: "↓", ArrowLeft: "←", ArrowRight: "→" };
  return keys
    .split(/(?<=.)\+/)
    .map((key) => names[key] ?? key)
    .join(isMac ? "" : " + ");
}

/**
 * Finds the command that a key press asks for.
 * @param {KeyboardEvent} press
 * @param {string} desk
 * @returns {Command | undefined}
 */
export function commandFor(press, desk) {
  const focused = /** @type {Element} */ (press.target);
  const keys = keysOf(press);
  const isPlain = !/^(Mod|Alt)\+/.test(keys);
  if (isPlain && types(focused)) return undefined;
  return commandsAt(desk).find(
    (command) =>
      command.keys?.includes(keys) &&
      (!command.within || focused.closest(command.within)) &&
      (!command.isOn || command.isOn()),
  );
}

/**
 * Says whether an element takes what is typed for itself.
 * @param {Element} element
 */
function types(element) {
  if (element.closest("dialog[open]")) return true;
  if (element instanceof HTMLTextAreaElement || element instanceof HTMLSelectElement) return true;
  if (element instanceof HTMLInputElement) {
    return !["checkbox", "radio", "button", "range"].includes(element.type);
  }
  return element instanceof HTMLElement && element.isContentEditable;
}
