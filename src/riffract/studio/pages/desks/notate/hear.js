import { html } from "../../html.js";
import { play, playOrStop, player } from "../../player.js";
import { createStore, useStore } from "../../store.js";
import { noteSounds, setNoteSounds } from "./note_sounds.js";
import { hereToHear } from "./picture.js";
import { recording } from "./recording/recording.js";

/** @typedef {{sound: "rendering" | "recording" | "both" | "sides", speed: number, is_looped: boolean, click: boolean}} Hearing */

const hearing = createStore(/** @type {Hearing} */ ({ sound: "rendering", speed: 1, is_looped: false, click: false }));

/** Hears the selection, or from the cursor on. */
export function hearHere() {
  playOrStop({ ...hereToHear(), ...hearing.get() });
}

/** How the passage is heard from here. */
export function Hear() {
  const { sound, speed, is_looped, click } = useStore(hearing, (state) => state);
  const isSounding = useStore(player, (state) => state.isPlaying || state.isWaiting);
  const isWaiting = useStore(player, (state) => state.isWaiting);
  const hasRecording = useStore(recording, (state) => state.file !== null);
  const notesSound = useStore(noteSounds, (state) => state.isOn);
  return html`<section class="hear" aria-label="Hearing from here">
    <button type="button" class="primary" onClick=${hearHere}>${isWaiting ? "Making the sound …" : isSounding ? "Stop" : "Hear from here"}</button>
    <label>Sound
      <select value=${sound} onChange=${(/** @type {any} */ e) => hearing.set({ sound: e.target.value })}>
        <option value="rendering">rendering</option>
        <option value="recording" disabled=${!hasRecording}>recording</option>
        <option value="both" disabled=${!hasRecording}>one after the other</option>
        <option value="sides" disabled=${!hasRecording}>recording left, rendering right</option>
      </select>
    </label>
    <label>Speed
      <select value=${speed} onChange=${(/** @type {any} */ e) => hearing.set({ speed: Number(e.target.value) })}>
        ${[0.25, 0.35, 0.5, 0.6, 0.7, 0.8, 0.9, 1].map((one) => html`<option value=${one}>${Math.round(one * 100)} %</option>`)}
      </select>
    </label>
    <label><input type="checkbox" checked=${is_looped} onChange=${(/** @type {any} */ e) => hearing.set({ is_looped: e.target.checked })} /> over and over</label>
    <label><input type="checkbox" checked=${click} onChange=${(/** @type {any} */ e) => hearing.set({ click: e.target.checked })} /> click</label>
    <label><input type="checkbox" checked=${notesSound} onChange=${(/** @type {any} */ e) => setNoteSounds(e.target.checked)} /> notes sound as they are written</label>
  </section>`;
}

/** @returns {import("../../commands.js").Command[]} */
export function commandsOfHearing() {
  /** @param {Partial<Hearing>} change */
  const change = (change) => () => {
    hearing.set(change);
    if (player.get().isPlaying) play({ ...hereToHear(), ...hearing.get() });
  };
  return [
    { id: "notate.hear", desk: "notate", group: "Hearing", within: ".sheet", isAtRest: true, name: "Hear from here, or stop", keys: ["Space"], run: hearHere },
    { id: "notate.slow", desk: "notate", name: "Hear it at half speed", run: change({ speed: 0.5 }) },
    { id: "notate.fast", desk: "notate", name: "Hear it at full speed", run: change({ speed: 1 }) },
    { id: "notate.loop", desk: "notate", name: "Hear it over and over, or once", run: () => change({ is_looped: !hearing.get().is_looped })() },
    { id: "notate.click", desk: "notate", name: "Hear it with a click, or without", run: () => change({ click: !hearing.get().click })() },
    { id: "notate.sounds", desk: "notate", name: "Notes sound as they are written, or not", run: () => setNoteSounds(!noteSounds.get().isOn) },
  ];
}
