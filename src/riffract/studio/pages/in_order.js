/**
 * Makes a way to do things one after the other: each begins once the one before has ended, well or not.
 * Somebody who types faster than the app answers then writes what they meant, and where.
 *
 * What is asked for while nothing is going on is done at once, so that moving about costs no wait.
 * @param {() => number} now the time in ms
 */
export function createOrder(now = () => performance.now()) {
  /** @type {Promise<unknown> | null} */
  let going = null;

  /**
   * @param {(askedMs: number) => unknown} run is told when it was asked for, which may be a while ago
   * @returns {unknown} what it gives, or a promise of that
   */
  return (run) => {
    const askedMs = now();
    const result = going ? going.then(() => run(askedMs)) : run(askedMs);
    if (!(result instanceof Promise)) return result;
    const rest = () => {
      if (going === ended) going = null;
    };
    const ended = result.then(rest, rest);
    going = ended;
    return result;
  };
}

/** The order of all that is written: keys, and undo and redo among them. */
export const inOrder = createOrder();
