import { html, useState } from "../../html.js";

/**
 * A button that begins something which takes a moment, and says so meanwhile.
 * @param {{name: string, begin: () => Promise<void>}} props
 */
export function Begin({ name, begin }) {
  const [isBusy, setIsBusy] = useState(false);
  const onClick = async () => {
    setIsBusy(true);
    await begin();
    setIsBusy(false);
  };
  return html`<button type="button" disabled=${isBusy} onClick=${onClick}>${isBusy ? "Measuring …" : name}</button>`;
}
