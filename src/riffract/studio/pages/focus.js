/** Where the focus was put because what had it is gone. @type {Element | null} */
let stray = null;
/** What has the focus, and all that it lies in, from the inside out. @type {Element[]} */
let way = [];

/**
 * Keeps those who go by keys, or listen, where they are: when what had the focus goes, the focus goes to what it lay
 * in instead of to the top of the page.
 */
export function keepFocus() {
  document.addEventListener("focusin", ({ target }) => {
    stray = null;
    way = [];
    for (let one = /** @type {Element | null} */ (target); one; one = one.parentElement) way.push(one);
  });
  new MutationObserver(() => {
    if (!isLost() || way[0]?.isConnected !== false) return;
    const place = /** @type {HTMLElement | undefined} */ (way.find((one) => one.isConnected && one !== document.body && one instanceof HTMLElement));
    if (!place || place === document.documentElement) return;
    if (!place.hasAttribute("tabindex")) place.tabIndex = -1;
    place.focus({ preventScroll: true });
    stray = place;
  }).observe(document.body, { childList: true, subtree: true });
}

/**
 * Goes on at a place once it is drawn, unless the person is somewhere else.
 * @param {string} selector
 */
export function goOnAt(selector) {
  requestAnimationFrame(() => {
    if (isLost() || document.activeElement === stray) focusOn(selector);
  });
}

/**
 * Goes to a place once it is drawn.
 * @param {string} selector
 */
export function goTo(selector) {
  requestAnimationFrame(() => focusOn(selector));
}

/** @param {string} selector */
function focusOn(selector) {
  /** @type {HTMLElement | null} */ (document.querySelector(selector))?.focus();
}

const isLost = () => document.activeElement === null || document.activeElement === document.body;
