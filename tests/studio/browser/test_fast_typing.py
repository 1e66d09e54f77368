"""Somebody types faster than the app answers."""

from pathlib import Path

from playwright.sync_api import Page
from tests.studio.opened import bare_essay, comes_true, opened

SHORT = """\
title: Tide
tuning: E2 A2 D3 G3 B3 E4
metre: 11/8 = 3+3+3+2
tempo: q = 120

time | e |
E4   |---|
B3   |---|
G3   |---|
D3   |---|
A2   |---|
E2   |---|
"""
ANSWERS_AFTER_MS = 300


def test_no_note_is_lost_where_each_key_waits_for_a_longer_bar(page: Page, tmp_path: Path):
    folder = bare_essay(tmp_path / "tide", SHORT)
    page.add_init_script(_SLOW)
    with opened(folder, tmp_path / "state") as app:
        page.goto(app.address)
        page.locator("[data-bar='1']").wait_for()
        page.get_by_role("application", name="The passage as strings in time").focus()
        for fret in "57341":
            page.keyboard.press(fret)
            page.keyboard.press("ArrowRight")
        tab = folder / "passage.tab"
        comes_true(page, lambda: "-5--7--3--4--1-" in tab.read_text())


_SLOW = f"""
const listener = Object.getOwnPropertyDescriptor(WebSocket.prototype, "onmessage");
Object.defineProperty(WebSocket.prototype, "onmessage", {{
  set(told) {{
    listener.set.call(this, (message) => setTimeout(() => told(message), {ANSWERS_AFTER_MS}));
  }},
}});
"""
"""The page hears every answer late, as on a machine that has much to do."""
