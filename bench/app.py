"""How long a key press on the Notate desk takes until its picture is painted, for 300 notes.

Needs Chromium. Run from the repository: python -m bench.app
"""

import os
import shutil
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Final

import numpy as np
from bench.draft import passage_text
from bench.timing import machine
from playwright.sync_api import Page, sync_playwright
from tests.studio.opened import opened

NOTES: Final = 300
PRESSES: Final = 60
WARM_UP: Final = 5
MOST_MS: Final = 50
"""At the 95th percentile: below it a picture feels like part of the key press."""

BETWEEN_MS: Final = 120
"""A fast typist's pause; text, journal and the other pages are told in it."""

WATCH: Final = """() => {
  window.pressedAt = 0;
  window.paintedAfter = [];
  document.addEventListener("keydown", () => { window.pressedAt = performance.now(); }, true);
  const seen = new MutationObserver((changes) => {
    const isDrawn = changes.some(({ target }) => target.matches(".one-bar > svg:not(.over)"));
    if (!isDrawn || !window.pressedAt) return;
    const pressed = window.pressedAt;
    window.pressedAt = 0;
    // The first frame shows what was changed; a message after it comes when it is painted.
    requestAnimationFrame(() => {
      const { port1, port2 } = new MessageChannel();
      port1.onmessage = () => window.paintedAfter.push(performance.now() - pressed);
      port2.postMessage(0);
    });
  });
  seen.observe(document.querySelector(".sheet"), { subtree: true, childList: true });
}"""


def main() -> None:
    """Print what keys take."""
    print(machine())
    with TemporaryDirectory() as made, sync_playwright() as player:
        folder = Path(made) / "essay"
        folder.mkdir()
        (folder / "essay.toml").write_text('title = "Bench"\npassage = "passage.tab"\n')
        (folder / "passage.tab").write_text(passage_text(NOTES))
        chromium = os.environ.get("CHROMIUM") or shutil.which("chromium")
        browser = player.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        with opened(folder, Path(made) / "state") as app:
            page = browser.new_page(viewport={"width": 1280, "height": 720})
            page.goto(app.address)
            _tell("fret", _pressed(page, lambda i: str(i % 9 + 1)))
            _tell("palm mute", _pressed(page, lambda _: "m"))
        browser.close()


def _pressed(page: Page, key: Callable[[int], str]) -> list[float]:
    page.locator("[data-bar='1']").wait_for()
    page.get_by_role("application").focus()
    page.keyboard.press("Control+Home")
    page.evaluate(WATCH)
    for i in range(PRESSES):
        page.keyboard.press(key(i))
        page.wait_for_timeout(BETWEEN_MS)
    took: list[float] = page.evaluate("() => window.paintedAfter")
    return took


def _tell(what: str, took_ms: list[float]) -> None:
    took = np.array(took_ms[WARM_UP:])
    middle, late = np.percentile(took, [50, 95])
    verdict = "within" if late <= MOST_MS else "above"
    print(
        f"{what}: {len(took)} presses, median {middle:.0f} ms, 95th percentile {late:.0f} ms"
        f" ({verdict} {MOST_MS} ms)"
    )


if __name__ == "__main__":
    main()
