import { channel } from "../../app.js";
import { html, useEffect, useState } from "../../html.js";
import { useStore } from "../../store.js";
import { notation } from "./sheet.js";

/** The height of a line of the text, as its style has it. */
export const LINE_PX = 19;
/** Whoever goes on quickly is followed once they rest. */
const RESTS_MS = 120;
/** From the edge of the area to its first letter: border and padding. */
const LEFT_PX = 9;
const TOP_PX = 5;

/**
 * Shows where the cursor of the picture stands in the text; dotted between what is struck.
 * @param {{area: {current: HTMLTextAreaElement | null}, text: string | undefined, isMine: boolean}} props
 */
export function TextCursor({ area, text, isMine }) {
  const cursor = useStore(notation, (state) => state.cursor);
  const [place, setPlace] = useState(/** @type {{line: number, column: number, is_exact: boolean} | null} */ (null));
  const [scrolled, setScrolled] = useState({ left: 0, top: 0 });
  useEffect(() => {
    let isOver = false;
    const timer = setTimeout(async () => {
      // Nobody asked, so nobody is told if it cannot be found.
      const found = await channel.ask("notate.where", { at: cursor }).catch(() => null);
      if (isOver) return;
      setPlace(found);
      if (found && area.current) bringInSight(area.current, found);
    }, RESTS_MS);
    return () => {
      isOver = true;
      clearTimeout(timer);
    };
  }, [cursor, text]);
  useEffect(() => {
    const shown = area.current;
    if (!shown) return undefined;
    const follow = () => setScrolled({ left: shown.scrollLeft, top: shown.scrollTop });
    shown.addEventListener("scroll", follow);
    return () => shown.removeEventListener("scroll", follow);
  }, []);
  if (!place || isMine) return null;
  const left = `calc(${LEFT_PX - 2 - scrolled.left}px + ${place.column - 1}ch)`;
  const top = `${TOP_PX + (place.line - 1) * LINE_PX - scrolled.top}px`;
  return html`<div class=${`text-cursor${place.is_exact ? "" : " near"}`} style=${{ left, top }} aria-hidden="true"></div>`;
}

/**
 * Scrolls the text to a place, unless somebody is typing in it.
 * @param {HTMLTextAreaElement} area
 * @param {{line: number, column: number}} place
 */
function bringInSight(area, { line, column }) {
  if (document.activeElement === area) return;
  const top = (line - 1) * LINE_PX;
  if (top < area.scrollTop || top + 2 * LINE_PX > area.scrollTop + area.clientHeight) area.scrollTop = top - area.clientHeight / 2;
  const share = column / Math.max(...area.value.split("\n").map((one) => one.length), 1);
  const left = share * area.scrollWidth;
  if (left < area.scrollLeft + 20 || left > area.scrollLeft + area.clientWidth - 40) area.scrollLeft = left - area.clientWidth / 2;
}
