import { html } from "../html.js";

/** The desk named Notate. */
export function Notate() {
  return html`<p>Notate</p>`;
}
