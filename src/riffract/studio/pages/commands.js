/**
 * @typedef {object} Command
 * @property {string} id `desk.verb`
 * @property {string} name what it does, as the palette shows it
 * @property {string[]} [keys] such as `Mod+Z`, `Shift+ArrowUp`, `7`, `?`; `Mod` is ⌘ on a Mac, Ctrl elsewhere
 * @property {string} [desk] the desk it belongs to; without one it works everywhere
 * @property {string} [group] what it is listed under
 * @property {string} [within] a CSS selector: its keys work only while the focus is inside
 * @property {string} [over] a CSS selector of buttons on which its keys come before what a button does of its own
 * @property {boolean} [isAtRest] whether they work as well while nothing on the desk has the focus
 * @property {boolean} [isOfBrowser] whether its keys are shown only: the browser turns them into an event of its own
 * @property {boolean} [isQuiet] whether the palette leaves it out, as it does single digits
 * @property {() => boolean} [isOn] whether it can be done now
 * @property {string} [lacks] what is told if not, such as `there is no recording yet`
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

/** Whether something cannot be done now. @param {Command} command */
export const isOff = (command) => command.isOn !== undefined && !command.isOn();

/**
 * Lists what can be done at a desk, in the order in which it was offered.
 * @param {string} desk
 */
export function commandsAt(desk) {
  return [...known.values()].filter((c) => !c.desk || c.desk === desk);
}

/**
 * @typedef {Pick<KeyboardEvent, "key" | "code" | "ctrlKey" | "metaKey" | "altKey" | "shiftKey"> &
 *   Partial<Pick<KeyboardEvent, "getModifierState">>} Press
 */

/**
 * Names the keys that a press may stand for, such as `Mod+Shift+Z`, the likeliest first: what is printed on a key
 * is not what it gives on all keyboards.
 * @param {Press} press
 * @param {boolean} [onMac]
 * @returns {string[]}
 */
export function keysOf(press, onMac = isMac) {
  // What AltGr makes is a sign like any other; some systems tell of it as of Ctrl and Alt.
  const isAltGraph = !onMac && press.getModifierState?.("AltGraph") === true;
  const isAlt = press.altKey && !isAltGraph;
  /** @type {string[]} */
  const held = [];
  if ((onMac ? press.metaKey : press.ctrlKey) && !isAltGraph) held.push("Mod");
  if (isAlt) held.push("Alt");
  const names = keysThemselves(press, isAlt).map((key) => named(held, key, press.shiftKey));
  // Option makes signs as AltGr does elsewhere, such as [ on a German keyboard.
  if (onMac && isAlt && !press.metaKey && /^[!-/:-@[-`{-~]$/.test(press.key)) names.push(press.key);
  return names;
}

/** @param {readonly string[]} held @param {string} key @param {boolean} isShift */
function named(held, key, isShift) {
  const isSign = key.length === 1;
  // Capitals without Shift are the Caps Lock's.
  const sign = held.length > 0 ? key.toUpperCase() : isShift ? key : key.toLowerCase();
  // The shift that makes a sign is part of the sign, except with letters held with another key.
  const shift = isShift && (!isSign || held.length > 0) ? ["Shift"] : [];
  return [...held, ...shift, key === " " ? "Space" : isSign ? sign : key].join("+");
}

/**
 * Gives what a key may be: the sign that it makes, and the letter or number that stands there on a Latin keyboard.
 * @param {Press} press
 * @param {boolean} isAlt
 * @returns {string[]}
 */
function keysThemselves({ key, code }, isAlt) {
  if (key.length !== 1 && key !== "Dead") return [key];
  const there = code === "Space" ? " " : /^Key(.)$/.exec(code)?.[1].toLowerCase() ?? (isAlt ? /^Digit(.)$/.exec(code)?.[1] : undefined);
  const isLatin = /^[ -~]$/.test(key);
  if (there === undefined || (isLatin && !(isAlt && /[^a-z0-9]/i.test(key)))) return [key];
  return isLatin ? [key, there] : [there];
}

/**
 * Writes keys as people know them from their keyboards.
 * @param {string} keys
 */
export function keysText(keys) {
  /** @type {Record<string, string>} */
  const names = isMac
    ? { Mod: "⌘", Alt: "⌥", Shift: "⇧", ArrowUp: "↑", ArrowDown: "↓", ArrowLeft: "←", ArrowRight: "→", Escape: "⎋" }
    : { Mod: "Ctrl", Escape: "Esc", ContextMenu: "Menu", ArrowUp: "↑", ArrowDown: "↓", ArrowLeft: "←", ArrowRight: "→" };
  return keys
    .split(/(?<=.)\+/)
    .map((key) => names[key] ?? key)
    .join(isMac ? "" : " + ");
}

/**
 * Finds the command that a key press asks for; one that cannot be done now only if there is no other.
 * @param {KeyboardEvent} press
 * @param {string} desk
 * @returns {Command | undefined}
 */
export function commandFor(press, desk) {
  const focused = /** @type {Element} */ (press.target);
  if (focused.closest("dialog[open]")) return undefined;
  const names = keysOf(press).filter((name) => /^(Mod|Alt)\+/.test(name) || !types(focused));
  const isAtRest = focused === document.body || focused.id === "desk";
  const isItsOwn = names.some((name) => uses(focused, name));
  const meant = commandsAt(desk).filter(
    (one) =>
      !one.isOfBrowser &&
      one.keys?.some((keys) => names.includes(keys)) &&
      (!one.within || focused.closest(one.within) || (isAtRest && one.isAtRest)) &&
      (!isItsOwn || (one.over !== undefined && focused.matches(one.over))),
  );
  return meant.find((one) => !isOff(one)) ?? meant[0];
}

/**
 * Says whether an element takes what is typed for itself.
 * @param {Element} element
 */
function types(element) {
  if (element instanceof HTMLTextAreaElement || element instanceof HTMLSelectElement) return true;
  if (element instanceof HTMLInputElement) {
    return !["checkbox", "radio", "button", "range"].includes(element.type);
  }
  return element instanceof HTMLElement && element.isContentEditable;
}

/** Sliders take these for themselves. */
const SLIDING = /^(Shift\+)?(Arrow(Up|Down|Left|Right)|Home|End)$/;

/**
 * Says whether a control does something of its own at a key, as Space ticks a box.
 * @param {Element} element
 * @param {string} key
 */
function uses(element, key) {
  if (element.matches("button, summary, a[href]")) return key === "Enter" || (key === "Space" && !element.matches("a"));
  if (element instanceof HTMLMediaElement) return key === "Space" || SLIDING.test(key);
  if (!(element instanceof HTMLInputElement)) return false;
  return element.type === "range" ? SLIDING.test(key) : key === "Space" || key === "Enter";
}
