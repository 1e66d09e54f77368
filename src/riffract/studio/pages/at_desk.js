import { offer } from "./commands.js";
import { useEffect } from "./html.js";

/**
 * What a desk does while it is shown.
 * @param {object} life
 * @param {() => unknown} life.begin when it is shown
 * @param {() => readonly import("./commands.js").Command[]} life.commands that can be given there
 * @param {() => unknown} life.end when it is left
 */
export function useDesk({ begin, commands, end }) {
  useEffect(() => {
    begin();
    const withdraw = offer(commands());
    return () => {
      withdraw();
      end();
    };
  }, []);
}
