import { goOnAt } from "../../focus.js";
import { html, useState } from "../../html.js";

/**
 * A button that begins something which takes a moment, and says so meanwhile.
 * @param {{name: string, begin: () => Promise<void>, goal: string}} props where one goes on once it is there
 */
export function Begin({ name, begin, goal }) {
  const [isBusy, setIsBusy] = useState(false);
  const onClick = async () => {
    if (isBusy) return;
    setIsBusy(true);
    await begin();
    setIsBusy(false);
    goOnAt(goal);
  };
  return html`<button type="button" aria-disabled=${isBusy} onClick=${onClick}>${isBusy ? "Measuring …" : name}</button>`;
}
