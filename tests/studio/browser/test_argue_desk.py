"""The Argue desk, used as a person would: choose, order, word, time."""

import re
import tomllib
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect
from tests.studio.opened import Opened, comes_true, demo_essay, opened


@pytest.fixture
def desk(app: Page) -> Page:
    app.keyboard.press("Alt+3")
    app.get_by_role("heading", name="Claim 1").wait_for()
    return app


def claims(essay: Path) -> list[dict[str, Any]]:
    path = essay / "claims.toml"
    return tomllib.loads(path.read_text())["claim"] if path.exists() else []


def titles(essay: Path) -> list[str]:
    return [claim["title"] for claim in claims(essay)]


def test_claims_are_put_in_another_order_by_keys_and_by_dragging(desk: Page, essay: Path):
    first, second, third, *rest = titles(essay)
    desk.keyboard.press("Alt+Shift+ArrowDown")
    comes_true(desk, lambda: titles(essay) == [second, first, third, *rest])
    expect(desk.get_by_role("heading", name="Claim 2")).to_be_visible()
    expect(desk.locator(".said")).to_have_text("Claim 1 is number 2 now.")
    rows = desk.get_by_role("region", name="The argument").get_by_role("listitem")
    rows.nth(2).drag_to(rows.nth(0))
    comes_true(desk, lambda: titles(essay) == [third, second, first, *rest])
    desk.keyboard.press("Control+z")
    desk.keyboard.press("Control+z")
    comes_true(desk, lambda: titles(essay) == [first, second, third, *rest])


def test_a_claim_is_reworded_and_its_remarks_in_the_file_stay(desk: Page, essay: Path):
    remark = (essay / "claims.toml").read_text().splitlines()[0]
    title = desk.get_by_label("The claim, one plain sentence")
    title.fill("Up slowly, down at once.")
    title.press("Enter")
    comes_true(desk, lambda: titles(essay)[0] == "Up slowly, down at once.")
    assert (essay / "claims.toml").read_text().splitlines()[0] == remark


def test_words_are_added_and_their_time_is_told(desk: Page, essay: Path):
    desk.get_by_label("Another line").fill("Then listen to the low string alone.")
    desk.get_by_label("Another line").blur()
    comes_true(desk, lambda: len(claims(essay)[0]["lines"]) == 2)
    expect(desk.get_by_text(re.compile("to read, the shot lasts"))).to_be_visible()


def test_an_observation_of_ones_own_is_put_in_and_taken_out(desk: Page, essay: Path):
    count = len(titles(essay))
    desk.get_by_role("button", name="Add what I hear myself").click()
    comes_true(desk, lambda: len(titles(essay)) == count + 1)
    expect(desk.get_by_text("An observation of your own; the handout says so.")).to_be_visible()
    desk.get_by_role("button", name="Take this claim out").click()
    comes_true(desk, lambda: len(titles(essay)) == count)


def test_bars_that_are_not_there_are_refused_with_a_mend(desk: Page, essay: Path):
    before = claims(essay)
    bars = desk.get_by_role("group", name="Excerpt 1").get_by_label("Bars")
    bars.fill("90")
    bars.blur()
    expect(desk.get_by_role("alert")).to_contain_text("bars")
    assert claims(essay) == before


def test_the_length_is_held_against_an_aim(desk: Page, essay: Path):
    desk.get_by_label("Aim, in seconds").fill("60")
    desk.get_by_label("Aim, in seconds").blur()
    expect(desk.get_by_text(re.compile("too long"))).to_be_visible()
    comes_true(desk, lambda: "target_seconds = 60" in (essay / "essay.toml").read_text())


def test_without_claims_those_proposed_are_shown_and_taken_once_one_is_changed(
    tmp_path: Path, page: Page
):
    folder = demo_essay(tmp_path / "bare")
    (folder / "claims.toml").unlink()
    with opened(folder, tmp_path / "state") as app:
        page.goto(app.address)
        page.keyboard.press("Alt+3")
        expect(page.get_by_text(re.compile("Nobody has chosen claims yet"))).to_be_visible()
        page.get_by_role("button", name="Take them as they are").click()
        comes_true(page, lambda: len(titles(folder)) >= 3)
        # The page goes before the app does: what it still waits for would be told as a fault.
        page.goto("about:blank")


def test_a_take_is_recorded_chosen_and_put_aside_by_undo(desk: Page, essay: Path):
    # The browser's test microphone beeps once a second.
    desk.get_by_role("button", name="Record it", exact=True).click()
    end = desk.get_by_role("button", name="■ End the take")
    end.wait_for()
    desk.wait_for_timeout(1_500)
    end.click()
    comes_true(desk, lambda: claims(essay)[0].get("take", "").startswith("takes/a-slow-climb"))
    assert (essay / claims(essay)[0]["take"]).stat().st_size > 1_000
    expect(desk.get_by_text(re.compile(r"What is spoken – 0:(?!00)\d\d"))).to_be_visible()
    desk.get_by_role("button", name="Undo").click()
    comes_true(desk, lambda: "take" not in claims(essay)[0])
    assert list((essay / "takes").glob("*"))


def test_a_take_that_one_leaves_while_it_runs_is_kept_and_set_on_no_other_claim(
    desk: Page, essay: Path
):
    desk.get_by_role("button", name="Record it", exact=True).click()
    desk.get_by_role("button", name="■ End the take").wait_for()
    desk.wait_for_timeout(1_500)
    desk.keyboard.press("Alt+ArrowDown")
    expect(desk.get_by_role("status")).to_contain_text("choose it there")
    [take] = (essay / "takes").glob("a-slow-climb*")
    assert take.stat().st_size > 1_000
    assert not any("take" in claim for claim in claims(essay))
    expect(desk.get_by_role("button", name="Record it", exact=True)).to_be_visible()


def test_a_take_that_the_app_cannot_keep_stays_in_the_page(desk: Page, running: Opened):
    desk.get_by_role("button", name="Record it", exact=True).click()
    desk.get_by_role("button", name="■ End the take").wait_for()
    desk.wait_for_timeout(1_000)
    running.process.kill()
    expect(desk.get_by_text("The app does not answer.")).to_be_visible()
    desk.get_by_role("button", name="■ End the take").click()
    expect(desk.get_by_role("group", name="What is spoken")).to_contain_text("is not kept yet")
    with desk.expect_download() as saved:
        desk.get_by_role("link", name="Save it as a file").click()
    assert saved.value.path().stat().st_size > 1_000


def test_a_claim_is_recorded_from_the_prompter(desk: Page, essay: Path):
    desk.keyboard.press("Alt+p")
    dialog = desk.get_by_role("dialog", name="Prompter")
    dialog.get_by_role("button", name="Record claim 1").click()
    lines = len(claims(essay)[0]["lines"])
    expect(dialog).to_contain_text(f"line 1 of {lines}")
    desk.wait_for_timeout(1_000)
    dialog.get_by_role("button", name="■ End the take").click()
    comes_true(desk, lambda: claims(essay)[0].get("take", "").startswith("takes/a-slow-climb"))


def test_the_prompter_shows_line_after_line(desk: Page, essay: Path):
    desk.keyboard.press("Alt+p")
    dialog = desk.get_by_role("dialog", name="Prompter")
    expect(dialog).to_contain_text(claims(essay)[0]["lines"][0])
    dialog.get_by_role("button", name="On", exact=True).click()
    expect(dialog).to_contain_text(claims(essay)[1]["lines"][0])
    desk.keyboard.press("Escape")
    expect(dialog).to_be_hidden()
