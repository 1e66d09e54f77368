"""The Study desk, used as a person would: look, weigh, set by hand, take along."""

import re
import tomllib
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect
from tests.studio.opened import Opened, comes_true


@pytest.fixture
def desk(app: Page) -> Page:
    app.keyboard.press("Alt+2")
    app.get_by_role("region", name="passes").get_by_role("button").first.wait_for()
    return app


def titles(essay: Path) -> list[str]:
    return [c["title"] for c in tomllib.loads((essay / "claims.toml").read_text())["claim"]]


def by_hand(essay: Path) -> dict[str, Any]:
    """Read what is set by hand as far as it has reached the disk."""
    file = essay / "findings.toml"
    return tomllib.loads(file.read_text()) if file.exists() else {}


def studied(desk: Page, change: int) -> None:
    """Wait until what is shown was found after some changes, and nothing has changed since."""
    state = desk.locator(f'.state[data-change="{change}"]')
    expect(state).to_contain_text("Of the essay as it is now")


def test_a_finding_is_shown_with_its_picture_its_evidence_and_its_rivals(desk: Page):
    mirror = desk.get_by_role("region", name="mirror", exact=True).get_by_role("button").first
    sentence = mirror.locator("span").inner_text()
    mirror.click()
    sheet = desk.get_by_role("region", name=sentence)
    picture = sheet.get_by_role("img").first
    expect(picture).to_have_js_property("naturalWidth", 960)
    expect(sheet).to_contain_text("random versions")
    expect(sheet).to_contain_text("firm")


def test_findings_are_walked_through_by_keys_and_made_claims(desk: Page, essay: Path):
    count = len(titles(essay))
    first = desk.get_by_role("heading", level=2).nth(1).inner_text()
    desk.locator("body").press("ArrowDown")
    expect(desk.get_by_role("heading", level=2).nth(1)).not_to_have_text(first)
    desk.locator("body").press("c")
    expect(desk.locator(".said")).to_contain_text(f"Claim {count + 1}: word it")
    comes_true(desk, lambda: len(titles(essay)) == count + 1)


def test_weak_findings_are_folded_away_but_found_by_words(desk: Page):
    desk.get_by_label("Show").select_option(label="firm and likely")
    weak = desk.get_by_text("not beyond chance")
    expect(weak).to_have_count(0)
    desk.get_by_label("Find").fill("not beyond chance")
    expect(weak.first).to_be_visible()


def test_an_axis_that_is_dragged_answers_at_once_and_is_kept_as_set_by_hand(
    desk: Page, essay: Path
):
    desk.get_by_role("button", name=re.compile("Set an axis")).click()
    desk.get_by_label("What is mirrored").select_option("values and rests read backwards")
    slider = desk.get_by_role("slider", name="Where the axis lies")
    before = slider.get_attribute("aria-valuetext")
    slider.press("ArrowRight")
    expect(slider).not_to_have_attribute("aria-valuetext", before or "")
    expect(desk.get_by_text("(set by hand)")).to_be_visible()
    desk.get_by_role("button", name="Keep this axis").click()
    kept = desk.get_by_role("list", name="Kept").get_by_role("listitem")
    expect(kept).to_contain_text("(set by hand)")
    comes_true(desk, lambda: bool(by_hand(essay).get("axis")))
    desk.get_by_role("button", name="Undo").click()
    expect(kept).to_have_count(0)


def test_a_riff_is_moved_by_arrows_and_kept_through_a_new_analysis(desk: Page, essay: Path):
    desk.get_by_role("button", name=re.compile("Set the riff by hand")).click()
    expect(desk.get_by_text("as good as the best riff found")).to_be_visible()
    desk.get_by_role("slider", name="The riff starts").press("ArrowRight")
    expect(desk.get_by_text("behind the best riff found")).to_be_visible()
    last = desk.get_by_label("Its last attack, by bar and beat")
    now = desk.get_by_role("slider", name="Its last attack", exact=True)
    place = now.get_attribute("aria-valuetext")
    last.press("ArrowDown")
    expect(now).not_to_have_attribute("aria-valuetext", str(place))
    last.press("ArrowUp")
    expect(now).to_have_attribute("aria-valuetext", str(place))
    desk.get_by_role("button", name="Keep this riff").click()
    kept = desk.get_by_role("list", name="Kept").get_by_role("listitem")
    expect(kept).to_contain_text("(set by hand)")
    tab = essay / "passage.tab"
    tab.write_text(tab.read_text().replace("tempo: ", "tempo:  ", 1) + "\n")
    studied(desk, 2)
    expect(kept).to_contain_text("(set by hand)")
    count = len(titles(essay))
    kept.get_by_role("button", name="Claim").click()
    comes_true(desk, lambda: len(titles(essay)) == count + 1)


def test_some_bars_are_studied_alone(desk: Page):
    desk.get_by_label("First bar").fill("1")
    desk.get_by_label("Last bar").fill("3")
    desk.get_by_role("button", name="Study it").click()
    expect(desk.get_by_text("Set by hand, bars 1 to 3:")).to_be_visible()


def test_a_stretch_from_beat_to_beat_is_studied_alone_and_kept(desk: Page, essay: Path):
    desk.get_by_label("First beat").fill("2")
    desk.get_by_label("Last bar").fill("3")
    desk.get_by_label("Up to beat").fill("4.5")
    desk.get_by_role("button", name="Study it").click()
    words = "bar 1, beat 2, up to bar 3, beat 4.5"
    expect(desk.get_by_text(f"Set by hand, {words}:")).to_be_visible()
    desk.get_by_role("button", name="Keep this stretch").click()
    kept = desk.get_by_role("list", name="Kept").get_by_role("listitem")
    expect(kept).to_contain_text("looked at alone")
    comes_true(
        desk, lambda: [s["bars"] for s in by_hand(essay).get("stretch", [])] == ["1:2-3:4.5"]
    )
    count = len(titles(essay))
    kept.get_by_role("button", name="Claim").click()
    comes_true(desk, lambda: len(titles(essay)) == count + 1)
    play = tomllib.loads((essay / "claims.toml").read_text())["claim"][-1]["play"]
    assert play[0]["bars"] == "1:2-3:4.5"


def test_an_axis_of_pitch_is_set_heard_and_kept(desk: Page, essay: Path):
    desk.get_by_role("button", name=re.compile("Set an axis")).click()
    desk.get_by_label("What is mirrored").select_option(
        label="pitches of the moving voice upside down"
    )
    slider = desk.get_by_role("slider", name="Where the axis lies")
    expect(slider).to_have_attribute("aria-valuetext", "the middle of A♭2 and A2")
    slider.press("ArrowRight")
    expect(slider).to_have_attribute("aria-valuetext", "A2")
    desk.get_by_role("button", name="Keep this axis").click()
    kept = desk.get_by_role("list", name="Kept").get_by_role("listitem")
    expect(kept).to_contain_text("About A2")
    comes_true(desk, lambda: by_hand(essay).get("pitch_axis") == [{"pitch": 45.0}])


def test_the_passage_is_compared_with_other_music(desk: Page):
    desk.get_by_role("button", name="Compare it with the built-in background").click()
    expect(desk.get_by_text(re.compile("in 100 of the passages"))).to_be_visible()


def test_all_findings_are_taken_along(desk: Page, running: Opened):
    table = desk.request.get(f"{running.root}/study/findings.csv")
    assert table.status == 200
    assert "attachment" in table.headers["content-disposition"]
    assert desk.request.get(f"{running.root}/study/findings.json").json()["findings"]
    assert desk.request.get(f"{running.root}/study/findings.exe").status == 404


def test_a_changed_note_is_studied_again(desk: Page, essay: Path):
    studied(desk, 0)
    tab = essay / "passage.tab"
    lines = tab.read_text().splitlines()
    tab.write_text("\n".join([*lines[:1], "# touched", *lines[1:], ""]))
    studied(desk, 1)
    desk.get_by_role("button", name="Undo").click()
    studied(desk, 2)
