import { ask, say } from "../../app.js";
import { useDesk } from "../../at_desk.js";
import { html, useState } from "../../html.js";
import { askFor } from "../../parts/form_dialog.js";
import { useStore } from "../../store.js";
import { BringIn } from "./recording/bring_in.js";
import { Doubts } from "./recording/doubts.js";
import { playOrStop, setSpeed, stop } from "./recording/listening.js";
import { PLAYED, fix, goTo, hear, lookAgain, loopOver, placeAt, recording, setMarkers, show, zoom } from "./recording/recording.js";
import { Strip } from "./recording/strip.js";

/** The recording above the passage: heard, seen, and held against what is written. */
export function Recording() {
  const state = useStore(recording, (now) => now);
  useDesk({ begin: lookAgain, commands: () => commands().map((command) => ({ group: "The recording", ...command })), end: stop });
  if (!state.isReady) return null;
  if (!state.file) {
    return html`<section class="recording empty" aria-label="Recording">
      <p>No recording yet. Drop one here, or <${BringIn} isFirst=${true} />. Without one, the passage is played by a rendering.</p>
    </section>`;
  }
  return html`<section class="recording" aria-label="Recording">
    <div class="bar">
      <button type="button" onClick=${playOrStop}>${state.isPlaying ? "Stop" : "Play the recording"}</button>
      <label>Speed
        <input type="range" min="25" max="100" step="5" value=${Math.round(state.speed * 100)}
          aria-valuetext=${`${Math.round(state.speed * 100)} per cent`}
          onInput=${(/** @type {any} */ e) => setSpeed(Number(e.target.value) / 100)} />
        <output>${Math.round(state.speed * 100)} %</output>
      </label>
      <output class="place">${[`${state.at.toFixed(2)} s`, placeAt(state.at)].filter(Boolean).join(" · ")}</output>
      ${state.loop && html`<button type="button" onClick=${loopNothing}>No loop</button>`}
      <button type="button" onClick=${() => zoom(0.5)} aria-label="Look nearer">+</button>
      <button type="button" onClick=${() => zoom(2)} aria-label="Look from further away">−</button>
      <button type="button" onClick=${() => show(0, state.seconds)}>All of it</button>
      <${Fix} />
      <button type="button" class="primary" onClick=${hear}>${state.heard && !state.heard.stale ? "Listen again" : "Find the passage in it"}</button>
      <${BringIn} />
    </div>
    <${Strip} />
    <${Doubts} />
  </section>`;
}

/** Fixes a bar's beat where one looks. */
function Fix() {
  const [bar, setBar] = useState(1);
  const [beat, setBeat] = useState(1);
  return html`<form class="fix" onSubmit=${(/** @type {Event} */ event) => {
    event.preventDefault();
    fix(bar, beat, recording.get().at);
  }}>
    <label>Bar <input type="number" min="1" value=${bar} onInput=${(/** @type {any} */ e) => setBar(Number(e.target.value))} /></label>
    <label>beat <input type="number" min="1" step="any" value=${beat} onInput=${(/** @type {any} */ e) => setBeat(Number(e.target.value))} /></label>
    <button type="submit">is here</button>
  </form>`;
}

/** @returns {import("../../commands.js").Command[]} */
function commands() {
  const needed = { isOn: () => recording.get().file !== null, lacks: "there is no recording yet" };
  const within = ".strip";
  const at = () => recording.get().at;
  const by = (/** @type {number} */ seconds) => () => goTo(at() + seconds);
  /** @param {0 | 1} side */
  const setLoop = (side) => () => {
    const { loop, seconds } = recording.get();
    const [start, end] = loop ?? [0, seconds];
    const next = /** @type {[number, number]} */ (side === 0 ? [at(), Math.max(end, at() + 0.05)] : [Math.min(start, at() - 0.05), at()]);
    loopOver(next, side === 0 ? "] sets its end" : PLAYED);
  };
  return [
    { id: "recording.play", desk: "notate", name: "Play the recording, or stop it", keys: ["Alt+L"], ...needed, run: playOrStop },
    { id: "recording.play.here", desk: "notate", within, isQuiet: true, name: "Play the recording", keys: ["Space"], ...needed, run: playOrStop },
    { id: "recording.on", desk: "notate", within, isQuiet: true, name: "A tenth of a second on", keys: ["ArrowRight"], run: by(0.1) },
    { id: "recording.back", desk: "notate", within, isQuiet: true, name: "A tenth of a second back", keys: ["ArrowLeft"], run: by(-0.1) },
    { id: "recording.on.far", desk: "notate", within, isQuiet: true, name: "One second on", keys: ["Shift+ArrowRight"], run: by(1) },
    { id: "recording.back.far", desk: "notate", within, isQuiet: true, name: "One second back", keys: ["Shift+ArrowLeft"], run: by(-1) },
    { id: "recording.nudge.on", desk: "notate", within, name: "Nudge the place in the recording on by 10 ms", keys: ["Alt+ArrowRight"], run: by(0.01) },
    { id: "recording.nudge.back", desk: "notate", within, name: "Nudge the place in the recording back by 10 ms", keys: ["Alt+ArrowLeft"], run: by(-0.01) },
    { id: "recording.start", desk: "notate", within, isQuiet: true, name: "Start of the recording", keys: ["Home"], run: () => goTo(0) },
    { id: "recording.end", desk: "notate", within, isQuiet: true, name: "End of the recording", keys: ["End"], run: () => goTo(recording.get().seconds) },
    { id: "recording.nearer", desk: "notate", within, name: "Look nearer at the recording", keys: ["+", "="], ...needed, run: () => zoom(0.5) },
    { id: "recording.further", desk: "notate", within, name: "Look at the recording from further away", keys: ["-"], ...needed, run: () => zoom(2) },
    { id: "recording.loop.from", desk: "notate", within, name: "Loop the recording from here", keys: ["["], ...needed, run: setLoop(0) },
    { id: "recording.loop.to", desk: "notate", within, name: "Loop the recording up to here", keys: ["]"], ...needed, run: setLoop(1) },
    { id: "recording.loop.none", desk: "notate", within, name: "Loop nothing", keys: ["Escape"], isOn: () => recording.get().loop !== null, lacks: "there is no loop", run: loopNothing },
    { id: "recording.marker", desk: "notate", name: "Name this place in the recording", keys: ["Alt+M"], ...needed, run: nameHere },
    { id: "recording.unmark", desk: "notate", name: "Take the nearest name in the recording away", isOn: () => recording.get().markers.length > 0, lacks: "no place has a name", run: forgetNearest },
    { id: "recording.hear", desk: "notate", name: "Find the passage in the recording", ...needed, run: hear },
    { id: "recording.leave", desk: "notate", name: "Go on without the recording", ...needed, run: () => ask("recording.leave") },
  ];
}

function loopNothing() {
  recording.set({ loop: null });
  say("nothing is looped");
}

async function nameHere() {
  const { markers, at } = recording.get();
  const asked = await askFor(
    "A name for this place in the recording",
    [{ name: "text", label: "What is here?", value: `place ${markers.length + 1}` }],
    "Name it",
  );
  const name = asked?.text.trim();
  if (name && (await setMarkers([...recording.get().markers, { name, seconds: at }]))) say(`${at.toFixed(2)} s is named ${name}`);
}

function forgetNearest() {
  const { markers, at } = recording.get();
  const nearest = [...markers].sort((a, b) => Math.abs(a.seconds - at) - Math.abs(b.seconds - at))[0];
  setMarkers(markers.filter((marker) => marker !== nearest));
}
