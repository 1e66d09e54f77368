"""How soon the app answers in a real browser: a key on a passage of 300 notes, its load, a scrub.

Run from the repository: python -m bench.app [folder for the essay]

A key counts from the moment that the browser stamps on it: to the first moment after the frame in
which its number is seen, and to that in which the bar's picture has changed. Scrubbing counts from
the slider's change to the frame drawn.
Other work on the machine counts too: the load is printed beside the numbers.
"""

import sys
from collections.abc import Callable, Sequence
from os import getloadavg
from pathlib import Path
from tempfile import TemporaryDirectory
from time import perf_counter, process_time
from typing import Final

from bench.draft import NOTES, NOTES_A_BAR, fret_at, passage_text
from bench.timing import machine
from playwright.sync_api import Page, sync_playwright
from tests.conftest import CHROMIUM, SWITCHES
from tests.studio.opened import opened

KEYS: Final = 40
FRAMES: Final = 40
LOADS: Final = 3
MOST_KEY_MS: Final = 50
MOST_SCRUB_MS: Final = 50
MOST_LOAD_MS: Final = 1000

WARM_UP: Final = 4
"""Answers that are not counted: the first ones of a new process and page."""

REST_MS: Final = 180
"""Between two keys: quick writing is some five of them a second."""

ROUNDS: Final = 5_000
"""Of a loop of half a second, long enough to be held up as often as the app is."""

BARS: Final = -(-NOTES // NOTES_A_BAR)

WATCH_KEYS: Final = """() => {
  window.heard = [];
  window.seen = [];
  let pressed = null;
  let isSeen = false;
  addEventListener("keydown", (event) => { pressed = event.timeStamp; isSeen = false; }, true);
  const afterFrame = (times, start) => requestAnimationFrame(() => {
    const { port1, port2 } = new MessageChannel();
    port1.onmessage = () => times.push(performance.now() - start);
    port2.postMessage("");
  });
  new MutationObserver((changes) => {
    if (pressed === null) return;
    const isDrawn = changes.some((c) => c.target.matches(".one-bar > svg:not(.over)"));
    if (!isSeen && (isDrawn || document.querySelector(".over .expected"))) {
      isSeen = true;
      afterFrame(seen, pressed);
    }
    if (!isDrawn) return;
    afterFrame(heard, pressed);
    pressed = null;
  }).observe(document.body, { childList: true, subtree: true });
}"""
"""What follows a frame is a message posted in it: the frame has been drawn by then."""

LOADED: Final = f"""() => {{
  const drawn = document.querySelectorAll(".one-bar > svg:not(.over) > *:first-child").length;
  return drawn >= {BARS} && performance.now();
}}"""

SCRUB: Final = """(frames) => new Promise((done) => {
  const canvas = document.querySelector("canvas");
  const slider = document.querySelector(".transport input[type=range]");
  const heard = [];
  let start = 0;
  const next = () => {
    const at = ((heard.length * 37) % 300 + 1) / 300 * Number(slider.max) * 0.95;
    slider.value = String(at);
    start = performance.now();
    slider.dispatchEvent(new Event("input", { bubbles: true }));
  };
  new MutationObserver(() => requestAnimationFrame(() => {
    heard.push(performance.now() - start);
    if (heard.length < frames) next();
    else done(heard);
  })).observe(canvas, { attributes: true, attributeFilter: ["data-shown"] });
  next();
})"""


def essay_in(folder: Path) -> Path:
    """Write an essay on a passage of 300 notes."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "essay.toml").write_text('title = "Three hundred"\npassage = "passage.tab"\n')
    (folder / "passage.tab").write_text(passage_text(NOTES))
    return folder


def key_ms(page: Page) -> dict[str, list[float]]:
    """Write frets, then mute them, in places far apart, and tell how long each key took."""
    page.locator(".sheet").focus()
    page.evaluate(WATCH_KEYS)
    frets = _pressed(page, _another_fret)
    mutes = _pressed(page, lambda _: "m")
    return {
        "fret seen": frets["seen"],
        "fret to picture": frets["heard"],
        "palm mute to picture": mutes["heard"],
    }


def _pressed(page: Page, key_at: Callable[[int], str]) -> dict[str, list[float]]:
    """Press a key that changes the picture, here and there from the first bar on."""
    page.evaluate("heard = []; seen = []")
    page.keyboard.press("Control+Home")
    eighths = 0
    for count in range(KEYS + WARM_UP):
        page.keyboard.press(key_at(eighths))
        page.wait_for_function("n => heard.length > n", arg=count, polling=20)
        for _ in range(count % 3 + 1):
            page.keyboard.press("ArrowRight")
        eighths += count % 3 + 1
        page.wait_for_timeout(REST_MS)
    return {name: page.evaluate(name)[WARM_UP:] for name in ("heard", "seen")}


def _another_fret(eighths: int) -> str:
    """Give a fret that is not written there on any string, so that the picture must change."""
    return str(fret_at(*divmod(eighths, NOTES_A_BAR)) % 9 + 1)


def load_ms(page: Page, root: str) -> float:
    """Load the page anew and tell when all bars are drawn."""
    page.goto("about:blank")
    page.goto(f"{root}/#/notate", wait_until="commit")
    return float(page.wait_for_function(LOADED, polling="raf").json_value())


def scrub_ms(page: Page) -> list[float]:
    """Look at moments of the film that lie far apart."""
    page.keyboard.press("Alt+4")
    page.locator("canvas[data-shown]").wait_for(timeout=60_000)
    heard: list[float] = page.evaluate(SCRUB, FRAMES + WARM_UP)
    return heard[WARM_UP:]


def report(what: str, measured_ms: Sequence[float], most_ms: float) -> None:
    """Print a line: the middle, the 95th percentile, the target."""
    ordered = sorted(measured_ms)
    middle = ordered[len(ordered) // 2]
    high = ordered[min(len(ordered) - 1, int(0.95 * len(ordered)))]
    verdict = "met" if high <= most_ms else "missed"
    print(
        f"{what:20} median {middle:6.1f} ms   95 % within {high:6.1f} ms"
        f"   (target {most_ms:.0f}, {verdict}; n = {len(ordered)})"
    )


def waited() -> float:
    """Tell how much longer work takes here now than it would on a machine of its own."""
    wall, worked = perf_counter(), process_time()
    for _ in range(ROUNDS):
        sum(range(ROUNDS))
    return (perf_counter() - wall) / (process_time() - worked)


def main() -> None:
    """Open the app on the passage and print what was measured beside the targets."""
    if CHROMIUM is None:
        raise SystemExit("this bench needs Chromium: set CHROMIUM to its program")
    print(f"{machine()}, load {getloadavg()[0]:.1f}; {NOTES} notes in {BARS} bars")
    with TemporaryDirectory() as kept, sync_playwright() as playwright:
        folder = essay_in(Path(sys.argv[1] if len(sys.argv) > 1 else kept) / "essay")
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=list(SWITCHES))
        page = browser.new_context(viewport={"width": 1280, "height": 720}).new_page()
        with opened(folder, Path(kept) / "state") as app:
            page.goto(app.address)
            loads = [load_ms(page, app.root) for _ in range(LOADS)]
            report("load, all bars drawn", loads, MOST_LOAD_MS)
            for what, measured_ms in key_ms(page).items():
                report(what, measured_ms, MOST_KEY_MS)
            report("scrub", scrub_ms(page), MOST_SCRUB_MS)
        browser.close()
    print(f"load at the end {getloadavg()[0]:.1f}; a plain loop took {waited():.1f} x its work")


if __name__ == "__main__":
    main()
