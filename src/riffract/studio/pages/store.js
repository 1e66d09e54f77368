import { useEffect, useRef, useState } from "./html.js";

/**
 * @template State
 * @typedef {object} Store
 * @property {() => State} get the state now; never changed in place
 * @property {(change: Partial<State>) => void} set takes over some fields and tells everybody
 * @property {(listener: (state: State, before: State) => void) => () => void} follow
 *   calls the listener at each change; gives a function that ends it
 */

/**
 * Holds one plain object that views are functions of.
 * @template {object} State
 * @param {State} first
 * @returns {Store<State>}
 */
export function createStore(first) {
  let state = first;
  /** @type {Set<(state: State, before: State) => void>} */
  const listeners = new Set();
  return {
    get: () => state,
    set(change) {
      const before = state;
      state = { ...state, ...change };
      for (const listener of [...listeners]) listener(state, before);
    },
    follow(listener) {
      listeners.add(listener);
      return () => listeners.delete(listener);
    },
  };
}

/**
 * Draws a component anew whenever the chosen part of a store is another one.
 * @template State, Part
 * @param {Store<State>} store
 * @param {(state: State) => Part} choose
 * @returns {Part}
 */
export function useStore(store, choose) {
  const [, drawAnew] = useState(0);
  const part = choose(store.get());
  // What is chosen may hang on what the component was given last, such as a bar's key.
  const now = useRef({ choose, part });
  now.current = { choose, part };
  useEffect(() => {
    const look = () => {
      if (now.current.choose(store.get()) !== now.current.part) drawAnew((count) => count + 1);
    };
    look();
    return store.follow(look);
  }, [store]);
  return part;
}
