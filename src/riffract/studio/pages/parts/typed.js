import { html, useEffect, useRef, useState } from "../html.js";

/** What a field's person is told was written instead of theirs is left as it is. */
export const LEFT = "left";

/**
 * A field whose words stay while they are typed, whatever is drawn anew around it meanwhile; they are handed over
 * when the field is left or by Enter, together with what was seen when typing began.
 * @param {{value: string, seen?: any, commit: (text: string, seen: any) => unknown, tag?: "input" | "textarea", [attribute: string]: any}} props
 *   `commit` gives `LEFT`, or a promise of it, if the words are let go
 */
export function Typed({ value, seen = value, commit, tag = "input", ...attributes }) {
  const [typed, setTyped] = useState(/** @type {{text: string, seen: any} | null} */ (null));
  const handedOver = useRef(/** @type {string | null} */ (null));
  useEffect(() => {
    const mine = handedOver.current;
    handedOver.current = null;
    // What was typed since then goes on from what is written now.
    if (mine !== null) setTyped((now) => (now === null || now.text === mine ? null : { text: now.text, seen }));
  }, [value]);
  return html`<${tag} ...${attributes} value=${typed?.text ?? value}
    onInput=${(/** @type {any} */ e) => setTyped({ text: e.target.value, seen: typed ? typed.seen : seen })}
    onBlur=${() => typed?.text === value && setTyped(null)}
    onChange=${async (/** @type {any} */ e) => {
      handedOver.current = e.target.value;
      if ((await commit(e.target.value, typed ? typed.seen : seen)) === LEFT) setTyped(null);
    }} />`;
}
