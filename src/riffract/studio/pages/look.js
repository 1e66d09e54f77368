import { useEffect, useState } from "./html.js";

/** @typedef {"paper" | "dark"} Look */

const query = matchMedia("(prefers-color-scheme: light)");

/** The look whose colours fit the page now. @returns {Look} */
export const look = () => (query.matches ? "paper" : "dark");

/**
 * Calls a listener whenever the page gets other colours; gives a function that ends it.
 * @param {() => void} listener
 */
export function followLook(listener) {
  query.addEventListener("change", listener);
  return () => query.removeEventListener("change", listener);
}

/** The look of now; a component that uses it is drawn anew when it becomes another one. */
export function useLook() {
  const [now, setNow] = useState(look());
  useEffect(() => followLook(() => setNow(look())), []);
  return now;
}
