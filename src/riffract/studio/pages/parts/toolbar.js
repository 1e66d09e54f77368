import { html, useLayoutEffect, useRef } from "../html.js";

/**
 * A row of tools that is one stop for Tab; the arrow keys go about in it.
 *
 * Source: the toolbar pattern of the ARIA Authoring Practices (W3C).
 * @param {{name: string, class?: string, children?: any}} props
 */
export function Toolbar({ name, class: looks = "", children }) {
  const place = useRef(/** @type {HTMLElement | null} */ (null));
  // What can be done changes with each drawing, so the stop is found anew.
  useLayoutEffect(() => {
    if (place.current) leaveOneStop(toolsIn(place.current));
  });
  return html`<div ref=${place} class=${looks} role="toolbar" aria-label=${name} onKeyDown=${onKey} onFocusCapture=${onFocus}>${children}</div>`;
}

/** @param {HTMLElement} place @returns {HTMLElement[]} those that can be used now */
function toolsIn(place) {
  const all = /** @type {NodeListOf<HTMLElement>} */ (place.querySelectorAll("button, select, a[href], input:not([type='file'])"));
  return [...all].filter((one) => !(/** @type {HTMLButtonElement} */ (one).disabled));
}

/** @param {readonly HTMLElement[]} tools @param {HTMLElement} [wanted] */
function leaveOneStop(tools, wanted) {
  const stop = wanted ?? tools.find((one) => one === document.activeElement) ?? tools.find((one) => one.tabIndex === 0) ?? tools[0];
  for (const one of tools) one.tabIndex = one === stop ? 0 : -1;
}

/** @param {FocusEvent} event */
function onFocus(event) {
  leaveOneStop(toolsIn(/** @type {HTMLElement} */ (event.currentTarget)), /** @type {HTMLElement} */ (event.target));
}

/** @param {KeyboardEvent} press */
function onKey(press) {
  const focused = /** @type {HTMLElement} */ (press.target);
  // Arrows in a list or a line of text are its own.
  if (/^(SELECT|INPUT)$/.test(focused.tagName) || press.ctrlKey || press.altKey || press.metaKey) return;
  const tools = toolsIn(/** @type {HTMLElement} */ (press.currentTarget));
  const at = tools.indexOf(focused);
  const goal = { ArrowRight: at + 1, ArrowLeft: at - 1, Home: 0, End: tools.length - 1 }[press.key];
  if (goal === undefined) return;
  press.preventDefault();
  press.stopPropagation();
  tools[(goal + tools.length) % tools.length]?.focus();
}
