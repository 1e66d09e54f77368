import { html, useLayoutEffect } from "../html.js";
import { createStore, useStore } from "../store.js";
import { useModal } from "./modal.js";

/**
 * @typedef {{name: string, label: string, value?: string | number, type?: "text" | "number" | "checkbox" | "select",
 *   options?: [string, string][], hint?: string, min?: number, max?: number, step?: number | "any"}} Field
 * @typedef {{title: string, fields: readonly Field[], action: string, answer: (values: Record<string, string> | null) => void}} Form
 */

const form = createStore(/** @type {{now: Form | null}} */ ({ now: null }));

/**
 * Asks the person for something.
 * @param {string} title
 * @param {readonly Field[]} fields
 * @param {string} [action] what the button says
 * @returns {Promise<Record<string, string> | null>} by name; `null` if they thought better of it
 */
export function askFor(title, fields, action = "Do it") {
  form.get().now?.answer(null);
  return new Promise((answer) => form.set({ now: { title, fields, action, answer } }));
}

/** The dialog that asks. */
export function FormDialog() {
  const now = useStore(form, (state) => state.now);
  /** @param {Record<string, string> | null} values */
  const end = (values) => {
    const asked = form.get().now;
    form.set({ now: null });
    asked?.answer(values);
  };
  const modal = useModal(now !== null, () => end(null));
  useLayoutEffect(() => {
    // What is proposed gives way to what is typed.
    if (now) modal.ref.current?.querySelector("input")?.select();
  }, [now]);
  /** @param {any} event */
  const submit = (event) => {
    event.preventDefault();
    const data = new FormData(event.target);
    end(Object.fromEntries((now?.fields ?? []).map(({ name }) => [name, String(data.get(name) ?? "")])));
  };
  return html`<dialog ...${modal} class="form-dialog" aria-labelledby="form-title">
    ${now &&
    html`<form onSubmit=${submit}>
      <h2 id="form-title">${now.title}</h2>
      ${now.fields.map((field, index) => html`<${OneField} key=${field.name} field=${field} isFirst=${index === 0} />`)}
      <p class="tools"><button type="button" onClick=${() => end(null)}>Leave it</button> <button type="submit" class="primary">${now.action}</button></p>
    </form>`}
  </dialog>`;
}

/** @param {{field: Field, isFirst: boolean}} props */
function OneField({ field, isFirst }) {
  const { name, label, value = "", type = "text", options = [], hint, min, max, step } = field;
  if (type === "checkbox") return html`<label class="check"><input type="checkbox" name=${name} value="yes" checked=${Boolean(value)} /> ${label}</label>`;
  if (type === "select") {
    return html`<label>${label}<select name=${name} autofocus=${isFirst}>${options.map(([key, text]) => html`<option value=${key} selected=${key === value}>${text}</option>`)}</select></label>`;
  }
  return html`<label>${label}
    <input name=${name} type=${type} value=${value} min=${min} max=${max} step=${step} autofocus=${isFirst} autocomplete="off" spellcheck=${false} />
    ${hint && html`<small>${hint}</small>`}
  </label>`;
}
