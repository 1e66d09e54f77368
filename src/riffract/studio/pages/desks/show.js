import { html } from "../html.js";

/** The desk named Show. */
export function Show() {
  return html`<p>Show</p>`;
}
