import { openChannel } from "./channel.js";
import { createStore } from "./store.js";

/**
 * @typedef {{id: number, kind: string, title: string, state: "running" | "done" | "stopped" | "failed",
 *   doing: string, share: number, seconds_left: number | null, message: string}} Task
 */

/**
 * What the app's pages know.
 * @typedef {object} State
 * @property {boolean} isUp whether the app answers
 * @property {boolean} isReady whether it has said how things stand
 * @property {string | null} folder of the essay that is open
 * @property {{folder: string, name: string}[]} recent essays that were open lately
 * @property {string} home the person's own folder
 * @property {number} revision counts the changes of the essay
 * @property {Record<string, string>} texts the essay's files by name
 * @property {string | null} undo what undo would take back
 * @property {string | null} redo what redo would do again
 * @property {Record<number, Task>} tasks long work
 * @property {string} desk the desk that is shown
 * @property {string} said what happened last, in words
 * @property {import("./channel.js").Problem | null} problem what could not be done last
 */

export const store = createStore(/** @type {State} */ ({
  isUp: false,
  isReady: false,
  folder: null,
  recent: [],
  home: "",
  revision: 0,
  texts: {},
  undo: null,
  redo: null,
  tasks: {},
  desk: "notate",
  said: "",
  problem: null,
}));

export const channel = openChannel(`ws://${location.host}/channel`);

/**
 * Asks the app for something, and shows the person why if it cannot be done.
 * @param {string} action
 * @param {object} [wanted]
 * @returns {Promise<any>} `undefined` if it cannot be done
 */
export async function ask(action, wanted) {
  try {
    return await channel.ask(action, wanted);
  } catch (error) {
    const problem = /** @type {import("./channel.js").Refused} */ (error).problem;
    if (!problem) throw error;
    store.set({ problem });
    return undefined;
  }
}

/**
 * Says what happened, for those who look at the foot of the page and for those who listen.
 * @param {string} text
 */
export function say(text) {
  store.set({ said: text, problem: null });
}

export async function undo() {
  const answer = await ask("undo");
  say(answer?.label ? `taken back: ${answer.label}` : "nothing to take back");
}

export async function redo() {
  const answer = await ask("redo");
  say(answer?.label ? `done again: ${answer.label}` : "nothing to do again");
}

/** Asks how things stand. */
export async function greet() {
  const facts = await ask("hello");
  if (!facts) return;
  const tasks = Object.fromEntries(facts.tasks.map((/** @type {Task} */ task) => [task.id, task]));
  store.set({ ...facts, tasks, isReady: true });
}

channel.on("up", () => {
  store.set({ isUp: true });
  greet();
});
channel.on("down", () => store.set({ isUp: false }));
channel.on("opened", greet);
channel.on("document", ({ revision, texts, undo, redo }) => {
  if (revision >= store.get().revision) store.set({ revision, texts, undo, redo });
});
channel.on("task", ({ event, ...task }) => {
  store.set({ tasks: { ...store.get().tasks, [task.id]: task } });
  // A problem that is told stays until it is understood.
  if (task.state !== "running") store.set({ said: `${task.title}: ${task.message || task.state}` });
});
channel.on("outside", ({ changed, clashing }) => {
  const kept = Object.entries(clashing).map(
    ([file, other]) => `${file} was changed here and by another program in the same lines: yours goes on, theirs is kept as ${other}`,
  );
  const taken = changed.length ? [`${changed.join(", ")}: changed by another program, taken over (undo takes it back)`] : [];
  say([...taken, ...kept].join(". "));
});
channel.on("unsaved", ({ why }) => {
  store.set({ problem: { what: `the files cannot be saved: ${why}`, mend: "check the disk; nothing is lost while the app is open", place: "" } });
});
