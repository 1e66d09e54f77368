"""What a page shows before the app has answered, and in which order answers count."""

import signal
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import Page, expect
from tests.studio.opened import Opened, demo_essay, opened


@contextmanager
def held_up(running: Opened) -> Iterator[None]:
    """Let the app answer nothing until the block ends."""
    running.process.send_signal(signal.SIGSTOP)
    try:
        yield
    finally:
        running.process.send_signal(signal.SIGCONT)


def at_the_strings(app: Page) -> None:
    app.locator('[data-bar="1"] svg path').first.wait_for(state="attached")
    app.locator(".sheet").focus()


def test_a_fret_is_seen_before_the_app_has_answered(app: Page, running: Opened):
    at_the_strings(app)
    expected = app.locator('[data-bar="1"] .expected text')
    with held_up(running):
        app.keyboard.press("7")
        expect(expected).to_have_text("7")
    expect(expected).to_have_count(0)
    expect(app.get_by_role("status").first).to_contain_text("fret 7")


def test_a_kill_loses_no_key_that_was_answered(page: Page, tmp_path: Path):
    folder = demo_essay(tmp_path / "tide")
    with opened(folder, tmp_path / "state") as app:
        page.goto(app.address)
        at_the_strings(page)
        for key in ("7", "ArrowRight", "9"):
            page.keyboard.press(key)
        expect(page.get_by_role("status").first).to_contain_text("fret 9")
        app.process.send_signal(signal.SIGKILL)
        app.process.wait(60)
    with opened(folder, tmp_path / "state") as app:
        page.goto(app.address)
        at_the_strings(page)
        page.keyboard.press("Control+Home")
        expect(page.get_by_role("status").first).to_contain_text("fret 7")
        page.keyboard.press("ArrowRight")
        expect(page.get_by_role("status").first).to_contain_text("fret 9")


def test_undo_waits_for_the_keys_before_it(app: Page, essay: Path):
    at_the_strings(app)
    for key in ("7", "ArrowRight", "9", "ArrowRight", "5", "Control+z"):
        app.keyboard.press(key)
    said = app.get_by_role("status").first
    expect(said).to_contain_text("taken back: fret 5")
    app.keyboard.press("ArrowLeft")
    expect(said).to_contain_text("fret 9")


def test_an_answer_leaves_newer_words_and_a_newer_place_alone(app: Page, running: Opened):
    at_the_strings(app)
    said = app.get_by_role("status").first
    with held_up(running):
        app.keyboard.press("Insert")  # puts time in: its answer moves the cursor
        app.locator('[data-bar="2"] .over').click(position={"x": 20, "y": 60})
        expect(said).to_contain_text("bar 2")
    app.wait_for_function("() => document.querySelector('[data-bar=\"2\"] .cursor')")
    app.wait_for_timeout(500)
    expect(said).to_contain_text("bar 2")
    expect(app.locator('[data-bar="2"] .cursor')).to_have_count(1)
