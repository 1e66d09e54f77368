import { html } from "../html.js";

/** The desk named Argue. */
export function Argue() {
  return html`<p>Argue</p>`;
}
