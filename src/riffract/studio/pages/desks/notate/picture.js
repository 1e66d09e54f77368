import { Component, html, useEffect, useLayoutEffect, useRef, useState } from "../../html.js";
import { compare, fraction, minus, numberOf, plus, textOf } from "../../fraction.js";
import { inOrder } from "../../in_order.js";
import { usePlayhead } from "../../player.js";
import { useStore } from "../../store.js";
import { DoubtMarks } from "./doubt_marks.js";
import { ExpectedNumber } from "./expected.js";
import { drag, drop, letGo, pick } from "./dragging.js";
import { Ghost } from "./ghost.js";
import { moment, overlap, rowsOf } from "./places.js";
import { edit, notation } from "./sheet.js";
import { fretsAtCursor } from "./sheet_menu.js";

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
    document.addEventListener("pointercancel", letGo);
    return () => {
      watcher.disconnect();
      document.removeEventListener("pointerup", drop);
      document.removeEventListener("pointercancel", letGo);
    };
  }, []);
  const rows = sheet ? rowsOf(sheet.bars, width - 46) : [];
  return html`<div ref=${place} class=${`sheet${isBroken ? " old" : ""}`} role="application" tabindex="0"
    aria-label="The passage as strings in time" aria-describedby="sheet-keys"
    onFocus=${(/** @type {FocusEvent} */ event) => /** @type {Element} */ (event.target).matches(":focus-visible") && bringInSight(notation.get().cursor.bar)}>
    <p id="sheet-keys" class="hidden-words">Arrow keys move by string and in time, digits set the fret, the letters w h q e s t the value. Question mark shows all keys, Shift + F10 what can be done here.</p>
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
        (mend) => html`<button type="button" key=${mend.words}
          onClick=${() => {
            // The button goes with the fault; whoever pressed it goes on writing.
            /** @type {HTMLElement | null} */ (document.querySelector(".sheet"))?.focus();
            inOrder(() => edit("mend", { text: mend.words, chosen: null, at: { bar: bar.number, offset: "0", string: notation.get().cursor.string } }));
          }}>${mend.words}</button>`,
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
  const expected = useStore(notation, (state) => (state.expected?.cursor.bar === bar.number ? state.expected : null));
  const selected = overlap(bar, selection);
  const strings = selection?.strings ?? [];
  const x = (/** @type {number} */ offset) => bar.left + offset * bar.px_per_quarter;
  const y = (/** @type {number} */ string) => frame.top + (string - 1) * frame.gap;
  const [top, bottom] = strings.length ? [y(Math.min(...strings)), y(Math.max(...strings))] : [y(1), y(frame.strings.length)];
  return html`<svg class="over" width=${bar.width} height=${frame.height} aria-hidden="true"
      onPointerDown=${(/** @type {PointerEvent} */ event) => pick(event)}
      onPointerMove=${(/** @type {PointerEvent} */ event) => event.buttons === 1 && drag(event)}
      onDblClick=${fretsAtCursor}>
    ${selected && html`<rect class="selected" x=${x(selected[0]) - 2} y=${top - 11} width=${Math.max(6, (selected[1] - selected[0]) * bar.px_per_quarter)} height=${bottom - top + 22} />`}
    ${expected && html`<${ExpectedNumber} expected=${expected} bar=${bar} frame=${frame} />`}
    <${DoubtMarks} bar=${bar} frame=${frame} />
    ${selection && carry && html`<${Ghost} bar=${bar} frame=${frame} selection=${selection} carry=${carry} />`}
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

/** Brings the cursor's bar into sight. */
export function useCursorInSight() {
  const bar = useStore(notation, (state) => state.cursor.bar);
  useEffect(() => bringInSight(bar), [bar]);
}

/** @param {number} bar */
function bringInSight(bar) {
  document.querySelector(`[data-bar="${bar}"]`)?.scrollIntoView({ block: "nearest", inline: "nearest" });
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
