/**
 * @typedef {{what: string, mend: string, place: string, isLasting?: boolean, isLeft?: boolean}} Problem
 * one that lasts is told at whatever desk one is, until it is understood; what is left was stopped by the person, or went with the wire, which the head of the page tells
 */

/** What was asked for cannot be done; the problem says why, and how to mend it. */
export class Refused extends Error {
  /** @param {Problem} problem */
  constructor(problem) {
    super(problem.what);
    this.problem = problem;
  }
}

/**
 * @typedef {object} Channel
 * @property {(action: string, wanted?: object) => Promise<any>} ask
 *   asks the app for something; rejects with `Refused` if it cannot be done
 * @property {(event: string, listener: (facts: any) => void) => () => void} on
 *   calls the listener whenever the app tells of an event; `up` and `down` tell of the wire itself
 */

const FIRST_WAIT_MS = 200;
const LONGEST_WAIT_MS = 4000;

/**
 * Keeps a wire to the app open, and opens it anew when it breaks.
 * @param {string} address of the socket
 * @returns {Channel}
 */
export function openChannel(address) {
  /** @type {Map<number, {resolve: (answer: any) => void, reject: (why: Error) => void}>} */
  const waiting = new Map();
  /** @type {Map<string, Set<(facts: any) => void>>} */
  const listeners = new Map();
  /** @type {string[]} */
  let unsent = [];
  /** @type {WebSocket | null} */
  let socket = null;
  let count = 0;
  let waitMs = FIRST_WAIT_MS;

  /** @param {string} event @param {any} facts */
  const tell = (event, facts) => {
    for (const listener of [...(listeners.get(event) ?? [])]) listener(facts);
  };

  const connect = () => {
    const opening = new WebSocket(address);
    opening.onopen = () => {
      socket = opening;
      waitMs = FIRST_WAIT_MS;
      for (const message of unsent) opening.send(message);
      unsent = [];
      tell("up", {});
    };
    opening.onmessage = (message) => {
      const said = JSON.parse(message.data);
      if (said.event) return tell(said.event, said);
      const asked = waiting.get(said.id);
      waiting.delete(said.id);
      if (said.problem) asked?.reject(new Refused(said.problem));
      else asked?.resolve(said.answer);
    };
    opening.onclose = () => {
      socket = null;
      for (const asked of waiting.values()) {
        asked.reject(new Refused({ what: "what was asked last got no answer", mend: "see whether it is done when the app is back", place: "", isLeft: true }));
      }
      waiting.clear();
      // Whoever asked was told that it cannot be done, so it must not be done later.
      unsent = [];
      tell("down", {});
      setTimeout(connect, waitMs);
      waitMs = Math.min(waitMs * 2, LONGEST_WAIT_MS);
    };
  };
  connect();

  return {
    ask(action, wanted = {}) {
      const id = ++count;
      const message = JSON.stringify({ id, do: action, with: wanted });
      return new Promise((resolve, reject) => {
        waiting.set(id, { resolve, reject });
        if (socket?.readyState === WebSocket.OPEN) socket.send(message);
        else unsent.push(message);
      });
    },
    on(event, listener) {
      const heard = listeners.get(event) ?? new Set();
      listeners.set(event, heard.add(listener));
      return () => heard.delete(listener);
    },
  };
}
