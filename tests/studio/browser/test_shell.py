"""The frame around the desks, used as a person would."""

import re
from pathlib import Path

from playwright.sync_api import Page, expect
from tests.studio.opened import Opened, comes_true, opened


def test_the_address_shows_the_essay_and_works_once(app: Page, running: Opened, page: Page):
    expect(app.get_by_role("heading", level=1)).to_have_text("Ebb and Flood")
    answer = app.request.get(running.address)
    assert answer.status == 403
    assert "used already" in answer.text()


def test_desks_are_reached_by_key_and_by_link_and_stay_after_a_reload(app: Page):
    app.keyboard.press("Alt+2")
    expect(app).to_have_url(re.compile("#/study$"))
    app.get_by_role("link", name="Show").click()
    app.reload()
    expect(app.get_by_role("link", name="Show")).to_have_attribute("aria-current", "page")


def test_a_page_is_told_from_others_by_its_title(app: Page):
    expect(app).to_have_title("Ebb and Flood: Notate – Riffract")
    app.keyboard.press("Alt+3")
    expect(app).to_have_title("Ebb and Flood: Argue – Riffract")


def test_commands_are_found_by_typing_and_run_by_enter(app: Page):
    app.keyboard.press("Control+k")
    app.get_by_role("combobox", name="What do you want").press_sequentially("go arg")
    app.keyboard.press("Enter")
    expect(app.get_by_role("link", name="Argue")).to_have_attribute("aria-current", "page")


def test_an_edit_by_another_program_is_taken_over_and_can_be_taken_back(app: Page, essay: Path):
    settings = essay / "essay.toml"
    before = settings.read_text()
    settings.write_text(before + "\n# a remark from outside\n")
    expect(app.get_by_role("status")).to_contain_text("changed by another program")
    app.get_by_role("button", name="Undo").click()
    expect(app.get_by_role("status")).to_contain_text("taken back")
    comes_true(app, lambda: settings.read_text() == before)


def test_a_new_essay_is_begun_from_the_start_page(page: Page, tmp_path: Path):
    with opened(None, tmp_path / "state") as app:
        page.goto(app.address)
        page.get_by_label("What is the riff called?").fill("Low Tide")
        page.get_by_label("Folder for its files").fill(str(tmp_path / "low-tide"))
        page.get_by_role("button", name="Begin").click()
        expect(page.get_by_role("heading", level=1)).to_have_text("Low Tide")
        expect(page.get_by_text("Nothing is written yet.")).to_be_visible()
        expect(page.get_by_role("button", name="Undo")).to_be_disabled()
    assert 'title = "Low Tide"' in (tmp_path / "low-tide" / "essay.toml").read_text()
    assert "title: Low Tide" in (tmp_path / "low-tide" / "passage.tab").read_text()


def test_the_demo_is_opened_from_the_start_page_and_leads_around(page: Page, tmp_path: Path):
    with opened(None, tmp_path / "state") as app:
        page.goto(app.address)
        page.get_by_role("button", name="Open the demo").click()
        card = page.get_by_role("dialog")
        for title in ("Write it down", "Find out how it is built", "Say it in order"):
            expect(card.get_by_role("heading")).to_have_text(title)
            card.get_by_role("button", name="On").click()
        expect(page).to_have_url(re.compile("#/show$"))
        page.keyboard.press("Escape")
        expect(card).to_be_hidden()
        expect(page.get_by_role("heading", level=1)).to_have_text("Ebb and Flood")


def test_going_back_to_the_start_page_lists_the_essay(app: Page):
    app.keyboard.press("Control+k")
    app.get_by_role("combobox", name="What do you want").press_sequentially("close the essay")
    app.keyboard.press("Enter")
    app.get_by_role("button", name=re.compile("Ebb and Flood")).click()
    expect(app.get_by_role("heading", level=1)).to_have_text("Ebb and Flood")


def test_another_desk_begins_at_its_top_with_nothing_said_of_the_one_before(app: Page):
    app.set_viewport_size({"width": 640, "height": 360})
    app.locator("[data-bar='1'] svg path").first.wait_for(state="attached")
    app.get_by_role("application", name="The passage as strings in time").focus()
    app.keyboard.press("ArrowRight")
    expect(app.locator(".said")).to_contain_text("bar 1")
    app.locator("main").evaluate("(desk) => desk.scrollTo(0, 200)")
    app.keyboard.press("Alt+3")
    app.get_by_role("heading", name="Claim 1").wait_for()
    assert app.locator("main").evaluate("(desk) => desk.scrollTop") == 0
    expect(app.locator(".said")).to_have_text("")
    assert app.evaluate("document.documentElement.scrollHeight") <= 360
