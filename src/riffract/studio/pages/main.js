import { ask, greet, redo, say, store, undo } from "./app.js";
import { commandFor, isOff, offer } from "./commands.js";
import { DESKS, deskAt } from "./desks.js";
import { goOnAt, keepFocus } from "./focus.js";
import { html, render } from "./html.js";
import { Menu } from "./parts/menu.js";
import { KeysPanel, openKeys } from "./parts/keys_panel.js";
import { Palette, openPalette } from "./parts/palette.js";
import { Shell } from "./parts/shell.js";
import { FormDialog } from "./parts/form_dialog.js";
import { Tour, beginTour } from "./parts/tour.js";

/** Shows the desk that the address names. */
function goTo() {
  // What was said last was about the desk that one leaves.
  const { problem } = store.get();
  store.set({ desk: deskAt(location.hash), said: "", problem: problem?.isLasting ? problem : null });
  // Keys and readers go on at the desk that is shown now, not at the top of the page.
  goOnAt("#desk");
}

/** Whether an essay is open; what can be undone may hang on keys that are not answered yet. */
const isOpen = () => store.get().folder !== null;
const NO_ESSAY = "no essay is open";

offer([
  { id: "palette", name: "Show all commands", keys: ["Mod+K"], isQuiet: true, run: openPalette },
  { id: "keys", name: "Show all keys of the desk", keys: ["?"], isOn: isOpen, lacks: NO_ESSAY, run: openKeys },
  { id: "undo", name: "Undo", keys: ["Mod+Z"], isOn: isOpen, lacks: NO_ESSAY, run: undo },
  { id: "redo", name: "Redo", keys: ["Mod+Shift+Z", "Mod+Y"], isOn: isOpen, lacks: NO_ESSAY, run: redo },
  ...DESKS.map((desk, index) => ({
    id: `go.${desk.id}`,
    name: `Go to ${desk.name}`,
    keys: [`Alt+${index + 1}`],
    run: () => location.assign(`#/${desk.id}`),
  })),
  { id: "leave", name: "Close the essay and go to the start page", isOn: isOpen, lacks: NO_ESSAY, run: () => ask("start.leave") },
  { id: "tour", name: "Show me around", isOn: isOpen, lacks: NO_ESSAY, run: beginTour },
  { id: "reload", name: "Ask the app again how things stand", run: greet },
]);

document.addEventListener("keydown", (press) => {
  if (press.isComposing || press.defaultPrevented) return;
  const command = commandFor(press, store.get().desk);
  if (!command) return sayIfNothing(press);
  press.preventDefault();
  if (isOff(command)) return say(`${command.name}: ${command.lacks ?? "that cannot be done now"}.`);
  const focused = /** @type {Element} */ (press.target);
  // Who types with the focus nowhere goes on where it belongs, and sees the cursor there.
  if (command.within && !focused.closest(command.within)) /** @type {HTMLElement | null} */ (document.querySelector(command.within))?.focus();
  command.run();
});

/** Says that a key does nothing, where keys are commands. @param {KeyboardEvent} press */
function sayIfNothing({ key, ctrlKey, metaKey, target }) {
  if (key.length !== 1 || ctrlKey || metaKey || !(/** @type {Element} */ (target).closest("[role='application']"))) return;
  say(`${key} does nothing here; ? lists the keys.`);
}

// A file that is dropped where nobody takes it would be opened in place of the app.
document.addEventListener("dragover", (event) => event.dataTransfer?.types.includes("Files") && event.preventDefault());
addEventListener("drop", (event) => {
  if (event.defaultPrevented || !event.dataTransfer?.types.includes("Files")) return;
  event.preventDefault();
  say("Files are taken on the Notate desk.");
});
addEventListener("hashchange", goTo);
store.follow((now, before) => {
  // A page that is loaded begins at its top; another essay in the same page begins at its desk.
  if (before.isReady && now.folder !== before.folder) goOnAt("#desk");
});
keepFocus();
goTo();
render(html`<${Shell} /><${Palette} /><${KeysPanel} /><${Menu} /><${FormDialog} /><${Tour} />`, document.body);
