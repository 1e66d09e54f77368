import { html } from "../html.js";
import { Recording } from "./notate/recording.js";

/** The desk named Notate. */
export function Notate() {
  return html`<${Recording} />`;
}
