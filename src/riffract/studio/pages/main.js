import { ask, greet, redo, store, undo } from "./app.js";
import { commandFor, offer } from "./commands.js";
import { DESKS, deskAt } from "./desks.js";
import { html, render } from "./html.js";
import { Palette, openPalette } from "./parts/palette.js";
import { Shell } from "./parts/shell.js";
import { FormDialog } from "./parts/form_dialog.js";
import { Tour, beginTour } from "./parts/tour.js";

/** Shows the desk that the address names. */
function goTo() {
  store.set({ desk: deskAt(location.hash) });
  // Keys and readers go on at the desk that is shown now, not at the top of the page.
  requestAnimationFrame(() => {
    if (document.activeElement === document.body) document.getElementById("desk")?.focus();
  });
}

offer([
  { id: "palette", name: "Show all commands", keys: ["Mod+K", "?"], isQuiet: true, run: openPalette },
  { id: "undo", name: "Undo", keys: ["Mod+Z"], isOn: () => store.get().undo !== null, run: undo },
  { id: "redo", name: "Redo", keys: ["Mod+Shift+Z", "Mod+Y"], isOn: () => store.get().redo !== null, run: redo },
  ...DESKS.map((desk, index) => ({
    id: `go.${desk.id}`,
    name: `Go to ${desk.name}`,
    keys: [`Alt+${index + 1}`],
    run: () => location.assign(`#/${desk.id}`),
  })),
  { id: "leave", name: "Close the essay and go to the start page", isOn: () => store.get().folder !== null, run: () => ask("start.leave") },
  { id: "tour", name: "Show me around", isOn: () => store.get().folder !== null, run: beginTour },
  { id: "reload", name: "Ask the app again how things stand", run: greet },
]);

document.addEventListener("keydown", (press) => {
  const command = press.isComposing ? undefined : commandFor(press, store.get().desk);
  if (!command) return;
  press.preventDefault();
  command.run();
});
addEventListener("hashchange", goTo);
goTo();
render(html`<${Shell} /><${Palette} /><${FormDialog} /><${Tour} />`, document.body);
