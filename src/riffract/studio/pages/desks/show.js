import { useDesk } from "../at_desk.js";
import { html } from "../html.js";
import { film, layOut } from "./show/film.js";
import { Format } from "./show/format.js";
import { GoingOut } from "./show/going_out.js";
import { Screen, Transport, step, stepShot, toggle } from "./show/screen.js";
import { pauseFilm } from "./show/sound.js";

/** The desk on which the film is looked at and made. */
export function Show() {
  useDesk({ begin: layOut, commands, end: pauseFilm });
  return html`<div class="watch"><${Screen} /><${Transport} /></div>
    <aside aria-label="Making"><${Format} /><${GoingOut} /></aside>`;
}

/** @returns {import("../commands.js").Command[]} */
function commands() {
  const aSecond = () => film.get().plan?.frames_a_second ?? 0;
  return [
    { id: "show.play", desk: "show", name: "Play or hold the film", keys: ["Space"], run: toggle },
    { id: "show.frame.on", desk: "show", name: "One frame on", keys: ["ArrowRight"], run: () => step(1) },
    { id: "show.frame.back", desk: "show", name: "One frame back", keys: ["ArrowLeft"], run: () => step(-1) },
    { id: "show.second.on", desk: "show", name: "One second on", keys: ["Shift+ArrowRight"], run: () => step(aSecond()) },
    { id: "show.second.back", desk: "show", name: "One second back", keys: ["Shift+ArrowLeft"], run: () => step(-aSecond()) },
    { id: "show.shot.on", desk: "show", name: "Next shot", keys: ["PageDown"], run: () => stepShot(1) },
    { id: "show.shot.back", desk: "show", name: "Start of the shot, or the shot before", keys: ["PageUp"], run: () => stepShot(-1) },
  ];
}
