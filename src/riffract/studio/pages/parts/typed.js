import { html, useEffect, useRef, useState } from "../html.js";

/**
 * A field for one line whose words stay while they are typed, whatever is drawn anew around it
 * meanwhile; they are handed over when the field is left or by Enter.
 * @param {{value: string, commit: (text: string) => unknown, [attribute: string]: any}} props
 */
export function Typed({ value, commit, ...attributes }) {
  const [typed, setTyped] = useState(/** @type {string | null} */ (null));
  const isHandedOver = useRef(false);
  useEffect(() => {
    if (isHandedOver.current) setTyped(null);
    isHandedOver.current = false;
  }, [value]);
  return html`<input ...${attributes} value=${typed ?? value}
    onInput=${(/** @type {any} */ e) => setTyped(e.target.value)}
    onChange=${(/** @type {any} */ e) => {
      isHandedOver.current = true;
      commit(e.target.value);
    }} />`;
}
