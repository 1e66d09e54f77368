import { ask } from "../../app.js";
import { html, useState } from "../../html.js";
import { useStore } from "../../store.js";
import { timeText } from "../show/film.js";
import { add, argument, move, tell } from "./argument.js";

/** The claims in order, with how long they take. */
export function Order() {
  const seen = useStore(argument, (state) => state.seen);
  const at = useStore(argument, (state) => state.at);
  const [carried, setCarried] = useState(-1);
  const [over, setOver] = useState(-1);
  const endDrag = () => {
    setCarried(-1);
    setOver(-1);
  };
  /** @param {number} index */
  const looks = (index) => {
    if (index === carried) return "carried";
    if (carried < 0 || index !== over) return "";
    return index < carried ? "lands-above" : "lands-below";
  };
  if (!seen) return html`<section class="order"><p>Looking at the claims …</p></section>`;
  return html`<section class="order" aria-labelledby="order">
    <h2 id="order">The argument</h2>
    <${Length} seen=${seen} />
    ${seen.is_proposed &&
    html`<p class="hint">Nobody has chosen claims yet. These are proposed from the solid findings; change one, or${" "}
      <button type="button" onClick=${() => ask("argue.take")}>Take them as they are</button></p>`}
    ${!seen.claims.length &&
    html`<p class="hint">Nothing is claimed yet. Choose a finding on the right, or write down what you hear.</p>`}
    <ol>
      ${seen.claims.map(
        (claim, index) => html`<li key=${claim.name || `${index}-${claim.title}`} class=${looks(index)}
          draggable="true"
          onDragStart=${(/** @type {DragEvent} */ event) => {
            // Some browsers carry nothing that holds no text.
            event.dataTransfer?.setData("text/plain", claim.title);
            setCarried(index);
          }}
          onDragEnd=${endDrag}
          onDragOver=${(/** @type {DragEvent} */ event) => {
            event.preventDefault();
            setOver(index);
          }}
          onDrop=${(/** @type {DragEvent} */ event) => {
            event.preventDefault();
            if (carried >= 0) move(carried, index);
            endDrag();
          }}>
          <span class="grip" aria-hidden="true" title="Drag the claim to another place">⠿</span>
          <button type="button" class="claim" aria-current=${index === at ? "true" : undefined}
            onClick=${() => argument.set({ at: index })}>
            <b>${index + 1}</b>
            <span>${claim.title}</span>
            <small>${claim.scene} · ${timeText(claim.seconds)}${claim.verdict ? ` · ${claim.verdict}` : seen.is_proposed ? "" : " · my own"}</small>
          </button>
          <span class="moves">
            <button type="button" aria-label=${`Claim ${index + 1} one place up`} aria-disabled=${index === 0}
              onClick=${() => move(index, index - 1)}>↑</button>
            <button type="button" aria-label=${`Claim ${index + 1} one place down`}
              aria-disabled=${index === seen.claims.length - 1} onClick=${() => move(index, index + 1)}>↓</button>
          </span>
        </li>`,
      )}
    </ol>
  </section>`;
}

/** @param {{seen: import("./argument.js").Argument}} props */
function Length({ seen }) {
  const aim = seen.target_seconds;
  const over = aim === null ? 0 : seen.seconds - aim;
  return html`<p class="length">
    <b>${timeText(seen.seconds)}</b> in all.
    <label>Aim, in seconds
      <input type="number" min="5" max="3600" step="5" value=${aim ?? ""} placeholder="none"
        onChange=${async (/** @type {any} */ e) => tell(await ask("argue.target", { seconds: e.target.value === "" ? null : Number(e.target.value) }))} />
    </label>
    ${aim !== null &&
    html`<meter min="0" optimum="0" max=${Math.max(aim, seen.seconds)} high=${aim} value=${seen.seconds}
      aria-label="Length against the aim"></meter>
      <span>${over > 0.5 ? `${timeText(over)} too long` : over < -0.5 ? `${timeText(-over)} to spare` : "as long as aimed at"}</span>`}
  </p>`;
}

/** Findings that can become claims, and room for what only the analyst hears. */
export function ToChoose() {
  const seen = useStore(argument, (state) => state.seen);
  const [words, setWords] = useState("");
  if (!seen) return null;
  const wanted = words.toLowerCase().split(/\s+/).filter(Boolean);
  const shown = seen.findings.filter((finding) => {
    const text = `${finding.kind} ${finding.sentence} ${finding.verdict}`.toLowerCase();
    return wanted.every((word) => text.includes(word));
  });
  return html`<section class="to-choose" aria-labelledby="to-choose">
    <h2 id="to-choose">To choose from</h2>
    <p><button type="button" onClick=${() => add("")}>Add what I hear myself</button></p>
    <label>Find <input type="search" value=${words} onInput=${(/** @type {any} */ e) => setWords(e.target.value)} /></label>
    <ul>
      ${shown.map(
        (finding) => html`<li key=${finding.id}>
          <p><small>${finding.kind} · ${finding.verdict}${finding.is_claimed ? " · claimed" : ""}</small><br />${finding.sentence}</p>
          <button type="button" aria-label=${`Claim: ${finding.sentence}`} onClick=${() => add(finding.id)}>${finding.is_claimed ? "Claim again" : "Claim it"}</button>
        </li>`,
      )}
      ${!shown.length && html`<li><p>${wanted.length ? "No finding has these words." : "Nothing was found yet that could be claimed: write more of the passage on the Notate desk, or add what you hear."}</p></li>`}
    </ul>
  </section>`;
}
