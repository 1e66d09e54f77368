import { keysText } from "../../../commands.js";
import { html, useEffect, useRef, useState } from "../../../html.js";
import { useLook } from "../../../look.js";
import { useStore } from "../../../store.js";
import { PLAYED, fix, goTo, loopOver, placeAt, recording, setAnchors, show, zoom } from "./recording.js";

const OUTLINE_PX = 48;
const SPECTRUM_PX = 84;

/** The recording as an outline and as a spectrum, with what is known of it laid over. */
export function Strip() {
  const place = useRef(/** @type {HTMLDivElement | null} */ (null));
  const [width, setWidth] = useState(800);
  const state = useStore(recording, (now) => now);
  useEffect(() => {
    if (!place.current) return undefined;
    const watcher = new ResizeObserver(([entry]) => setWidth(Math.max(200, Math.round(entry.contentRect.width))));
    watcher.observe(place.current);
    return () => watcher.disconnect();
  }, []);
  const { from, span, at, seconds } = state;
  const x = (/** @type {number} */ moment) => ((moment - from) / span) * width;
  const picks = usePicks(place, width);
  return html`<div class="strip" ref=${place} role="slider" tabindex="0" aria-label="Place in the recording" aria-describedby="strip-keys"
    aria-valuemin="0" aria-valuemax=${seconds} aria-valuenow=${at.toFixed(2)}
    aria-valuetext=${`${at.toFixed(2)} seconds, ${placeAt(at)}`}
    onPointerDown=${picks.down} onPointerMove=${picks.move} onPointerUp=${picks.up} onPointerCancel=${picks.letGo} onWheel=${picks.wheel}>
    <${Picture} kind="outline" file=${state.file} from=${from} span=${span} width=${width} height=${OUTLINE_PX} />
    <${Picture} kind="spectrum" file=${state.file} from=${from} span=${span} width=${width} height=${SPECTRUM_PX} />
    <svg class="over" width=${width} height=${OUTLINE_PX + SPECTRUM_PX} aria-hidden="true">
      ${state.loop && html`<rect class="loop" x=${x(state.loop[0])} y="0" width=${x(state.loop[1]) - x(state.loop[0])} height="100%" />`}
      ${picks.drawn && html`<rect class="loop" x=${x(picks.drawn[0])} y="0" width=${x(picks.drawn[1]) - x(picks.drawn[0])} height="100%" />`}
      ${(state.heard?.attacks ?? [])
        .filter((attack) => attack.seconds >= from && attack.seconds <= from + span)
        .slice(0, 1500)
        .map(
          (attack) => html`<g class=${attack.is_heard ? "attack" : "attack guessed"}>
            <rect x=${x(attack.seconds - attack.uncertainty)} y=${OUTLINE_PX - 6} width=${Math.max(1, x(attack.seconds + attack.uncertainty) - x(attack.seconds - attack.uncertainty))} height="6" />
            <line x1=${x(attack.seconds)} x2=${x(attack.seconds)} y1=${OUTLINE_PX - 18} y2=${OUTLINE_PX} />
          </g>`,
        )}
      ${(state.heard?.bars ?? [])
        .filter(([, start]) => start >= from && start <= from + span)
        .map(
          ([number, start]) => html`<g class="bar"><line x1=${x(start)} x2=${x(start)} y1="0" y2="100%" />
            <text x=${x(start) + 4} y="13">${number}</text></g>`,
        )}
      ${state.markers.map(
        (marker) => html`<g class="marker"><line x1=${x(marker.seconds)} x2=${x(marker.seconds)} y1="0" y2="100%" />
          <text x=${x(marker.seconds) + 4} y=${OUTLINE_PX + 16}>${marker.name}</text></g>`,
      )}
      <line class="now" x1=${x(at)} x2=${x(at)} y1="0" y2="100%" />
    </svg>
    <p id="strip-keys" class="strip-keys">← → go by 0.1 s, with Shift by 1 s, with Alt by 10 ms; [ and ] loop from and up to here; ${keysText("Alt+M")} names the place; + − look nearer; ? lists all keys.</p>
    ${state.anchors.map((anchor, index) => html`<${Handle} key=${`${anchor.bar}-${anchor.beat}`} anchor=${anchor} index=${index} x=${x} width=${width} />`)}
  </div>`;
}

/**
 * What the pointer does: a click goes there, a drag loops, a wheel scrolls and, with Ctrl, zooms.
 * @param {{current: HTMLDivElement | null}} place
 * @param {number} width
 */
function usePicks(place, width) {
  const [drawn, setDrawn] = useState(/** @type {[number, number] | null} */ (null));
  const start = useRef(/** @type {number | null} */ (null));
  const secondsAt = (/** @type {MouseEvent} */ event) => {
    const { from, span } = recording.get();
    const left = place.current?.getBoundingClientRect().left ?? 0;
    return from + ((event.clientX - left) / width) * span;
  };
  const letGo = () => {
    start.current = null;
    setDrawn(null);
  };
  return {
    drawn,
    /** @param {PointerEvent} event */
    down(event) {
      if (event.button !== 0 || /** @type {Element} */ (event.target).closest(".anchor")) return;
      start.current = secondsAt(event);
      place.current?.setPointerCapture(event.pointerId);
    },
    /** @param {PointerEvent} event */
    move(event) {
      if (start.current === null) return;
      const now = secondsAt(event);
      const { span } = recording.get();
      if (Math.abs(now - start.current) > (span / width) * 4) setDrawn([Math.min(start.current, now), Math.max(start.current, now)]);
    },
    /** @param {PointerEvent} event */
    up(event) {
      if (start.current === null) return;
      if (drawn) {
        goTo(drawn[0]);
        loopOver(drawn, PLAYED);
      } else goTo(secondsAt(event));
      letGo();
    },
    /** A gesture of the system took the pointer: nothing was meant. */
    letGo,
    /** @param {WheelEvent} event */
    wheel(event) {
      event.preventDefault();
      const { from, span } = recording.get();
      if (event.ctrlKey) zoom(event.deltaY > 0 ? 1.25 : 0.8, secondsAt(event));
      else show(from + ((event.deltaX || event.deltaY) / width) * span, span);
    },
  };
}

/** @param {{kind: string, file: string | null, from: number, span: number, width: number, height: number}} props */
function Picture({ kind, file, from, span, width, height }) {
  const [shown, setShown] = useState(/** @type {{url: string, from: number, span: number} | null} */ (null));
  const look = useLook();
  useEffect(() => {
    if (!file) return undefined;
    // While one scrolls, only where one comes to rest is drawn anew.
    const timer = setTimeout(() => {
      const scale = Math.min(devicePixelRatio, 2);
      const query = new URLSearchParams({
        kind,
        start: from.toFixed(4),
        end: (from + span).toFixed(4),
        width: String(Math.round(width * scale)),
        height: String(Math.round(height * scale)),
        look,
        file,
      });
      const url = `/recording/strip?${query}`;
      const picture = new Image();
      picture.onload = () => setShown({ url, from, span });
      picture.src = url;
    }, 40);
    return () => clearTimeout(timer);
  }, [kind, file, from, span, width, height, look]);
  if (!shown) return html`<div class="blank" style=${{ height: `${height}px` }}></div>`;
  const left = ((shown.from - from) / span) * width;
  const wide = (shown.span / span) * width;
  return html`<div class="picture" style=${{ height: `${height}px` }}>
    <img src=${shown.url} alt="" draggable=${false} style=${{ left: `${left}px`, width: `${wide}px`, height: `${height}px` }} />
  </div>`;
}

/**
 * An anchor's handle: dragged by the pointer, moved by 10 ms with the arrow keys, deleted with Delete.
 * @param {{anchor: import("./recording.js").Anchor, index: number, x: (seconds: number) => number, width: number}} props
 */
function Handle({ anchor, index, x, width }) {
  const [dragged, setDragged] = useState(/** @type {number | null} */ (null));
  const beat = anchor.beat ?? 1;
  const seconds = dragged ?? anchor.seconds;
  const name = `bar ${anchor.bar}, beat ${beat}`;
  const others = () => recording.get().anchors.filter((_, i) => i !== index);
  /** @param {PointerEvent} event */
  const toSeconds = (event) => {
    const strip = /** @type {Element} */ (event.currentTarget).closest(".strip");
    const { from, span } = recording.get();
    return from + ((event.clientX - (strip?.getBoundingClientRect().left ?? 0)) / width) * span;
  };
  return html`<button type="button" class="anchor" style=${{ left: `${x(seconds)}px` }}
    aria-label=${`${name}, fixed at ${anchor.seconds.toFixed(2)} seconds`}
    title=${`${name}: drag, or arrow keys by 10 ms; Delete takes it away`}
    onPointerDown=${(/** @type {PointerEvent} */ event) => {
      event.stopPropagation();
      /** @type {Element} */ (event.currentTarget).setPointerCapture(event.pointerId);
      setDragged(anchor.seconds);
    }}
    onPointerMove=${(/** @type {PointerEvent} */ event) => dragged !== null && setDragged(toSeconds(event))}
    onPointerUp=${() => {
      if (dragged !== null && Math.abs(dragged - anchor.seconds) > 0.002) fix(anchor.bar, beat, dragged);
      else goTo(anchor.seconds);
      setDragged(null);
    }}
    onPointerCancel=${() => setDragged(null)}
    onKeyDown=${(/** @type {KeyboardEvent} */ event) => {
      const step = { ArrowLeft: -0.01, ArrowRight: 0.01 }[event.key];
      if (step) fix(anchor.bar, beat, Math.max(0, anchor.seconds + step));
      else if (event.key === "Delete" || event.key === "Backspace") {
        // The handle goes; whoever took it away stays at the recording.
        /** @type {HTMLElement | null} */ (/** @type {Element} */ (event.currentTarget).closest(".strip"))?.focus();
        setAnchors(others(), `${name} is free again`);
      }
      else return;
      event.preventDefault();
      event.stopPropagation();
    }}>${anchor.bar}${beat === 1 ? "" : `:${beat}`}</button>`;
}
