import { Component, html, useEffect, useLayoutEffect, useRef, useState } from "../../html.js";
import { compare, fraction, minus, numberOf, plus, textOf } from "../../fraction.js";
import { usePlayhead } from "../../player.js";
import { useStore } from "../../store.js";
import { DoubtMarks } from "./doubt_marks.js";
import { carriedBy, holds, later, moment, rowsOf } from "./places.js";
import { edit, moveTo, notation } from "./sheet.js";

/** The passage as strings in time, row by row. */
export function Picture() {
  const place = useRef(/** @type {HTMLDivElement | null} */ (null));
  const [width, setWidth] = useState(900);
  const sheet = useStore(notation, (state) => state.sheet);
  const isBroken = useStore(notation, (state) => state.isBroken);
  useEffect(() => {
    if (!place.current) return undefined;
    const watcher = new ResizeObserver(([entry]) => setWidth(Math.max(240, entry.contentRect.width)));
    watcher.observe(place.current);
    // It may be let go outside of the picture.
    document.addEventListener("pointerup", drop);
    return () => {
      watcher.disconnect();
      document.removeEventListener("pointerup", drop);
    };
  }, []);
  const rows = sheet ? rowsOf(sheet.bars, width - 46) : [];
  return html`<div ref=${place} class=${`sheet${isBroken ? " old" : ""}`} role="application" tabindex="0"
    aria-label="The passage as strings in time" aria-describedby="sheet-keys">
    <p id="sheet-keys" class="hidden-words">Arrow keys move by string and in time, digits set the fret, the letters w h q e s t the value. Question mark shows all commands.</p>
    ${sheet && rows.map((bars) => html`<${Row} key=${bars[0].number} bars=${bars} frame=${sheet.frame} />`)}
  </div>`;
}

/** @param {{bars: import("./sheet.js").Bar[], frame: import("./sheet.js").Frame}} props */
function Row({ bars, frame }) {
  return html`<div class="row">
    <div class="names" style=${{ height: `${frame.height}px` }} aria-hidden="true">
      <i style=${{ top: `${frame.top}px`, height: `${(frame.strings.length - 1) * frame.gap}px` }}></i>
      ${frame.strings.map((name, i) => html`<span style=${{ top: `${frame.top + i * frame.gap}px` }}>${name}</span>`)}
    </div>
    ${bars.map((bar) => html`<${StillBar} key=${bar.number} bar=${bar} frame=${frame} />`)}
  </div>`;
}

/** @typedef {{bar: import("./sheet.js").Bar, frame: import("./sheet.js").Frame}} BarProps */

/** A bar that is drawn anew only if it is another one: a key changes one bar of many. */
class StillBar extends Component {
  /** @param {BarProps} next */
  shouldComponentUpdate(next) {
    return next.bar !== this.props.bar || next.frame !== this.props.frame;
  }

  /** @param {BarProps} props @override */
  render(props) {
    return html`<${OneBar} ...${props} />`;
  }
}

/** @param {BarProps} props */
function OneBar({ bar, frame }) {
  const place = useRef(/** @type {SVGSVGElement | null} */ (null));
  const picture = useStore(notation, (state) => state.pictures[bar.key] ?? "");
  useLayoutEffect(() => {
    if (place.current && picture) place.current.innerHTML = picture;
  }, [picture]);
  return html`<div class=${`one-bar${bar.fault ? " faulty" : ""}`} data-bar=${bar.number} style=${{ width: `${bar.width}px` }}>
    <svg ref=${place} width=${bar.width} height=${frame.height} aria-hidden="true"></svg>
    <${Over} bar=${bar} frame=${frame} />
    <p class="above"><b>${bar.number}</b>${bar.metre && html` <span>${bar.metre}</span>`}${bar.marks.map((mark) => html` <i>${mark}</i>`)}</p>
    ${bar.fault &&
    html`<div class="fault" role="group" aria-label=${`Bar ${bar.number} ${bar.fault}`}>
      <span>${bar.fault}</span>
      ${bar.mends.map(
        (mend, index) => html`<button type="button" key=${mend.words}
          onClick=${() => edit("mend", { number: index, chosen: null, at: { bar: bar.number, offset: "0", string: 1 } })}>${mend.words}</button>`,
      )}
    </div>`}
  </div>`;
}

/**
 * Cursor, selection and playhead of a bar, and what the pointer does in it.
 * @param {BarProps} props
 */
function Over({ bar, frame }) {
  const cursor = useStore(notation, (state) => (state.cursor.bar === bar.number ? state.cursor : null));
  const selection = useStore(notation, (state) => state.selection);
  const carry = useStore(notation, (state) => state.carried);
  const selected = overlap(bar, selection);
  const strings = selection?.strings ?? [];
  const carried = selection && carry ? overlap(bar, later(selection, carry.by)) : null;
  const down = (carry?.strings ?? 0) * frame.gap;
  const x = (/** @type {number} */ offset) => bar.left + offset * bar.px_per_quarter;
  const y = (/** @type {number} */ string) => frame.top + (string - 1) * frame.gap;
  const [top, bottom] = strings.length ? [y(Math.min(...strings)), y(Math.max(...strings))] : [y(1), y(frame.strings.length)];
  return html`<svg class="over" width=${bar.width} height=${frame.height} aria-hidden="true"
      onPointerDown=${(/** @type {PointerEvent} */ event) => pick(event, bar)}
      onPointerMove=${(/** @type {PointerEvent} */ event) => event.buttons === 1 && drag(event)}>
    ${selected && html`<rect class="selected" x=${x(selected[0]) - 2} y=${top - 11} width=${Math.max(6, (selected[1] - selected[0]) * bar.px_per_quarter)} height=${bottom - top + 22} />`}
    <${DoubtMarks} bar=${bar} frame=${frame} />
    ${carried && html`<rect class="carried" x=${x(carried[0]) - 2} y=${top + down - 11} width=${Math.max(6, (carried[1] - carried[0]) * bar.px_per_quarter)} height=${bottom - top + 22} />`}
    ${cursor && html`<rect class="cursor" x=${x(numberOf(fraction(cursor.offset))) - 3} y=${y(cursor.string) - 11.5} width="26" height="23" rx="3" />`}
    <${Playhead} bar=${bar} frame=${frame} />
  </svg>`;
}

/** @param {BarProps} props */
function Playhead({ bar, frame }) {
  const start = numberOf(fraction(bar.start));
  const now = usePlayhead(start, start + numberOf(fraction(bar.length)));
  if (now === null) return null;
  const x = bar.left + (now - start) * bar.px_per_quarter;
  return html`<line class="playhead" x1=${x} x2=${x} y1=${frame.top - 12} y2=${frame.height - 24} />`;
}

/**
 * The part of a selection that lies in a bar, in quarters from its start.
 * @param {import("./sheet.js").Bar} bar
 * @param {import("./sheet.js").Selection | null} selection
 * @returns {[number, number] | null}
 */
function overlap(bar, selection) {
  if (!selection) return null;
  const start = fraction(bar.start);
  const end = plus(start, fraction(bar.length));
  const [from, to] = [fraction(selection.start), fraction(selection.end)];
  if (compare(to, start) <= 0 || compare(from, end) >= 0) return null;
  const left = compare(from, start) > 0 ? minus(from, start) : fraction("0");
  const right = compare(to, end) < 0 ? minus(to, start) : fraction(bar.length);
  return [numberOf(left), numberOf(right)];
}

/** @type {{cursor: import("./sheet.js").Cursor, x: number, y: number, carries: boolean} | null} */
let held = null;

/**
 * A click places the cursor; with Shift the selection reaches to it. What is selected is taken hold of.
 * @param {PointerEvent} event
 * @param {import("./sheet.js").Bar} bar
 */
function pick(event, bar) {
  const { sheet } = notation.get();
  if (event.button !== 0 || !sheet) return;
  const cursor = cursorAt(event, bar, sheet);
  const { selection } = notation.get();
  const carries = !event.shiftKey && selection !== null && holds(sheet, selection, cursor);
  held = { cursor, x: event.clientX, y: event.clientY, carries };
  if (!carries) moveTo(cursor, event.shiftKey);
}

/** A drag selects from where it began to where it is, or carries what is selected. @param {PointerEvent} event */
function drag(event) {
  const { sheet } = notation.get();
  if (!held || !sheet || Math.hypot(event.clientX - held.x, event.clientY - held.y) < 6) return;
  const place = /** @type {Element | null} */ (document.elementFromPoint(event.clientX, event.clientY))?.closest("[data-bar]");
  const number = Number(place?.getAttribute("data-bar"));
  const bar = sheet.bars[number - 1];
  if (!bar || !place) return;
  const cursor = cursorAt(event, bar, sheet, place);
  if (held.carries) {
    notation.set({ carried: carriedBy(sheet, held.cursor, cursor) });
    return;
  }
  notation.set({ anchor: held.cursor });
  moveTo(cursor, true);
}

/** What was carried stays where it is let go, as one step; a click that carried nothing places the cursor. */
function drop() {
  const { carried } = notation.get();
  if (held?.carries && !carried) moveTo(held.cursor);
  held = null;
  notation.set({ carried: null });
  if (carried && carried.by !== "0") edit("shift", { text: carried.by });
  else if (carried && carried.strings) edit("strings", { number: carried.strings });
}

/**
 * Finds the place that the pointer means: the nearest place or step of the grid, and the nearest string.
 * @param {PointerEvent} event
 * @param {import("./sheet.js").Bar} bar
 * @param {import("./sheet.js").Sheet} sheet
 * @param {Element} [place]
 * @returns {import("./sheet.js").Cursor}
 */
function cursorAt(event, bar, sheet, place = /** @type {Element} */ (event.currentTarget)) {
  const box = place.getBoundingClientRect();
  const x = event.clientX - box.left - 8;
  const steps = grid(bar);
  const nearest = steps.reduce((best, one) => (Math.abs(one.x - x) < Math.abs(best.x - x) ? one : best));
  const string = Math.round((event.clientY - box.top - sheet.top) / sheet.gap) + 1;
  return { bar: bar.number, offset: nearest.offset, string: Math.max(1, Math.min(string, sheet.strings.length)) };
}

/**
 * Places of a bar that can be clicked: where something starts or stops, and every unit of its metre.
 * @param {import("./sheet.js").Bar} bar
 */
function grid(bar) {
  const unit = fraction(bar.unit);
  const end = fraction(bar.length);
  const steps = [...bar.places];
  for (let at = fraction("0"); compare(at, end) < 0; at = plus(at, unit)) {
    steps.push({ offset: textOf(at), x: bar.left + numberOf(at) * bar.px_per_quarter });
  }
  const inner = steps.filter((step) => compare(fraction(step.offset), end) < 0);
  return inner.length ? inner : steps;
}

/** Brings the cursor's bar into sight. */
export function useCursorInSight() {
  const bar = useStore(notation, (state) => state.cursor.bar);
  useEffect(() => {
    document.querySelector(`[data-bar="${bar}"]`)?.scrollIntoView({ block: "nearest", inline: "nearest" });
  }, [bar]);
}

/** Tells which stretch is heard from here: the selection, or from the cursor to the end. */
export function hereToHear() {
  const { sheet, selection, cursor } = notation.get();
  if (selection) return { start: selection.start, end: selection.end };
  if (!sheet) return {};
  const at = moment(sheet, cursor);
  const last = sheet.bars[sheet.bars.length - 1];
  const end = plus(fraction(last.start), fraction(last.length));
  return compare(at, end) >= 0 ? {} : { start: textOf(at) };
}
