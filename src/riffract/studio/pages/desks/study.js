import { html } from "../html.js";

/** The desk named Study. */
export function Study() {
  return html`<p>Study</p>`;
}
