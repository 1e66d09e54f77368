"""Findings looked at by pointing: shown at once, heard without a click, left again."""

import re
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect
from tests.studio.opened import Opened, comes_true


@pytest.fixture
def desk(app: Page) -> Page:
    app.keyboard.press("Alt+2")
    app.locator(".finding").nth(2).wait_for()
    return app


def test_a_finding_that_is_pointed_at_is_shown_until_the_pointer_leaves(desk: Page):
    shown = desk.locator(".finding-sheet h2")
    before = shown.inner_text()
    other = desk.locator(".finding:not([aria-current])").first
    sentence = other.locator("span").inner_text()
    other.hover()
    expect(shown).to_have_text(sentence)
    expect(desk.get_by_role("img", name=re.compile(re.escape(sentence)))).to_have_js_property(
        "naturalWidth", 960
    )
    desk.mouse.move(5, 5)
    expect(shown).to_have_text(before)
    other.click()
    desk.mouse.move(5, 5)
    expect(shown).to_have_text(sentence)


def test_what_is_pointed_at_is_played_by_space_and_by_its_own_button(desk: Page):
    row = desk.locator(".findings li").filter(has=desk.locator(".finding:not([aria-current])")).last
    row.hover()
    expect(desk.locator(".finding-sheet h2")).to_have_text(row.locator("span").inner_text())
    desk.locator("body").press("Space")
    expect(desk.get_by_role("button", name="Stop")).to_be_visible()
    desk.locator("body").press("Space")
    expect(desk.get_by_role("button", name="Hear it", exact=True)).to_be_visible()
    row.get_by_role("button", name="Hear:").click()
    expect(desk.get_by_role("button", name="Stop")).to_be_visible()


def test_the_list_is_one_stop_for_tab_and_arrows_walk_in_it(desk: Page):
    desk.get_by_label("Find").focus()
    desk.keyboard.press("Tab")
    first = desk.locator(".finding:focus")
    expect(first).to_have_attribute("aria-current", "true")
    sentence = first.locator("span").inner_text()
    desk.keyboard.press("ArrowDown")
    expect(desk.locator(".finding:focus span")).not_to_have_text(sentence)
    shown = desk.locator(".finding:focus span").inner_text()
    expect(desk.locator(".finding-sheet h2")).to_have_text(shown)
    desk.keyboard.press("Tab")
    expect(desk.locator(".finding:focus")).to_have_count(0)


def test_tab_reaches_the_list_even_if_the_chosen_finding_is_filtered_out(desk: Page):
    weak = desk.get_by_label("Show")
    weak.select_option(label="everything")
    desk.locator(".finding").last.click()
    desk.get_by_label("Find").fill("mirror")
    desk.get_by_label("Find").press("Tab")
    expect(desk.locator(".finding:focus")).to_have_count(1)


def test_a_picture_is_drawn_once_for_each_study(desk: Page, running: Opened, essay: Path):
    still = desk.locator("img.still")

    def shown(index: int) -> str:
        row = desk.locator(".finding").nth(index)
        row.hover()
        expect(still).to_have_attribute(
            "alt", re.compile(re.escape(row.locator("span").inner_text()))
        )
        return still.get_attribute("src") or ""

    first, second = shown(1), shown(2)
    assert first != second
    assert shown(1) == first
    picture = desk.request.get(f"{running.root}{first}")
    assert picture.headers["cache-control"].startswith("private, max-age=")
    tab = essay / "passage.tab"
    tab.write_text(tab.read_text().replace("title:", "# touched\ntitle:", 1))
    comes_true(desk, lambda: shown(1) != first)
