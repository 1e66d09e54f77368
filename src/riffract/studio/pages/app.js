import { Refused, openChannel } from "./channel.js";
import { inOrder } from "./in_order.js";
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
 * @property {string} title of that essay
 * @property {{folder: string, title: string}[]} recent essays that were open lately
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
  title: "",
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
    return sayWhy(error);
  }
}

/**
 * Shows the person why something could not be done.
 * @param {unknown} error
 * @returns {undefined}
 */
export function sayWhy(error) {
  /** @type {import("./channel.js").Problem} */
  const problem = error instanceof Refused ? error.problem : { what: `something went wrong in this page: ${error}`, mend: "load it again; what you did is saved", place: "" };
  if (problem.isLeft) say([problem.what, problem.mend].filter(Boolean).join(" – "));
  else store.set({ problem });
}

// What nobody has foreseen is shown all the same.
addEventListener("unhandledrejection", ({ reason }) => sayWhy(reason));
addEventListener("error", ({ error }) => error && sayWhy(error));

let saidSoFar = 0;

/**
 * Says what happened, for those who look at the foot of the page and for those who listen.
 * @param {string} text
 */
export function say(text) {
  saidSoFar += 1;
  store.set({ said: text, problem: null });
}

/**
 * Gives a way to say how something went that takes its time, unless something newer has been said by then.
 * @returns {(text: string) => void}
 */
export function sayLater() {
  const then = saidSoFar;
  return (text) => {
    if (then === saidSoFar) say(text);
  };
}

/** Takes back what was done last, once all keys before are answered. */
export function undo() {
  return inOrder(async () => {
    const answer = await ask("undo");
    if (answer) say(answer.label ? `taken back: ${answer.label}` : "nothing to take back");
  });
}

/** Does again what was taken back last, once all keys before are answered. */
export function redo() {
  return inOrder(async () => {
    const answer = await ask("redo");
    if (answer) say(answer.label ? `done again: ${answer.label}` : "nothing to do again");
  });
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
channel.on("opened", () => {
  store.set({ said: "", problem: null });
  greet();
});
channel.on("document", ({ revision, title, texts, undo, redo }) => {
  if (revision >= store.get().revision) store.set({ revision, title, texts, undo, redo });
});
/** Ours: what is done sooner than that would only flicker. */
const TASK_SHOWN_AFTER_MS = 400;
/** @type {Map<number, Task>} begun lately and not shown yet */
const young = new Map();

/** @param {Task} task */
const showTask = (task) => store.set({ tasks: { ...store.get().tasks, [task.id]: task } });

/** Shows a task that goes on for a while. @param {number} id */
function showIfItLasts(id) {
  const task = young.get(id);
  if (young.delete(id) && task) showTask(task);
}

channel.on("task", ({ event, ...task }) => {
  const isNew = task.state === "running" && !(task.id in store.get().tasks);
  if (isNew && !young.has(task.id)) setTimeout(showIfItLasts, TASK_SHOWN_AFTER_MS, task.id);
  if (isNew) young.set(task.id, task);
  else showTask(task);
  if (task.state !== "running") young.delete(task.id);
  // A problem that is told stays until it is understood. That work is simply done is seen where it was wanted.
  if (task.message) store.set({ said: `${task.title}: ${task.message}` });
});
channel.on("outside", ({ changed, clashing }) => {
  const kept = Object.entries(clashing).map(
    ([file, other]) => `${file} was changed here and by another program in the same lines: yours goes on, theirs is kept as ${other}`,
  );
  const taken = changed.length ? [`${changed.join(", ")}: changed by another program, taken over (undo takes it back)`] : [];
  say([...taken, ...kept].join(". "));
});
channel.on("unsaved", ({ why }) => {
  store.set({ problem: { what: `the files cannot be saved: ${why}`, mend: "check the disk; nothing is lost while the app is open", place: "", isLasting: true } });
});
