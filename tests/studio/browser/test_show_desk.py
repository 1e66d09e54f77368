"""The Show desk, used as a person would: look, step, play, change the format, make, stop."""

import io
import re
from pathlib import Path

import av
import pytest
from playwright.sync_api import Page, expect
from tests.studio.opened import Opened, comes_true


@pytest.fixture
def desk(app: Page) -> Page:
    app.keyboard.press("Alt+4")
    app.locator("canvas[data-shown]").wait_for()
    return app


def shown(page: Page) -> float:
    return float(page.locator("canvas").get_attribute("data-shown") or "nan")


def test_the_film_is_stepped_frame_by_frame_and_by_shots(desk: Page):
    for _ in range(3):
        desk.keyboard.press("ArrowRight")
    comes_true(desk, lambda: shown(desk) == pytest.approx(3 / 30, abs=1e-4))
    desk.keyboard.press("PageDown")
    slider = desk.get_by_role("slider", name="Moment of the film")
    expect(slider).to_have_attribute("aria-valuetext", re_shot(2))
    desk.get_by_role("list", name="Shots").get_by_role("button").nth(2).click()
    expect(slider).to_have_attribute("aria-valuetext", re_shot(3))


def re_shot(number: int) -> re.Pattern[str]:
    return re.compile(f"shot {number}:")


def test_a_frame_is_the_film_at_that_moment(desk: Page, running: Opened):
    answer = desk.request.get(f"{running.root}/show/frame?at=12.5&width=640")
    assert answer.status == 200
    with av.open(io.BytesIO(answer.body()), "r") as picture:
        frame = next(picture.decode(video=0))
    assert (frame.width, frame.height) == (640, 360)
    assert desk.request.get(f"{running.root}/show/frame?at=x&width=640").status == 400


def test_the_film_plays_with_its_sound_and_holds(desk: Page):
    desk.keyboard.press("Space")
    expect(desk.get_by_role("button", name="Pause")).to_be_visible()
    comes_true(desk, lambda: shown(desk) > 0.5)
    desk.keyboard.press("Space")
    expect(desk.get_by_role("button", name="Play", exact=True)).to_be_visible()


def test_another_shape_is_one_choice_away_and_can_be_taken_back(desk: Page, essay: Path):
    desk.get_by_label("Shape").select_option("1:1")
    expect(desk.get_by_text("1080 × 1080 px")).to_be_visible()
    comes_true(desk, lambda: 'shape = "1:1"' in (essay / "essay.toml").read_text())
    desk.keyboard.press("Control+z")
    expect(desk.get_by_text("1920 × 1080 px")).to_be_visible()


def test_a_small_size_makes_a_trial_and_says_that_it_is_one(desk: Page, essay: Path):
    desk.get_by_label("Size").select_option("Quick trial (360)")
    expect(desk.get_by_text("640 × 360 px")).to_be_visible()
    expect(desk.get_by_text("A trial is made quickly")).to_be_visible()
    comes_true(desk, lambda: "height = 360" in (essay / "essay.toml").read_text())


def test_an_essay_that_cannot_be_read_is_told_and_tried_again(app: Page, essay: Path):
    claims = essay / "claims.toml"
    text = claims.read_text()
    claims.write_text(text + "\nwhat is this\n")
    expect(app.get_by_role("status").first).to_contain_text("claims.toml")
    app.keyboard.press("Alt+4")
    app.get_by_text("The film cannot be laid out").wait_for()
    claims.write_text(text)
    app.locator("canvas[data-shown]").wait_for()


def test_parts_are_made_and_listed(desk: Page, essay: Path, running: Opened):
    boxes = desk.get_by_role("group", name="Parts to make").get_by_role("checkbox")
    for box in boxes.all():
        box.uncheck()
    desk.get_by_label("Findings as data").check()
    desk.get_by_label("Script, and the same for a prompter").check()
    desk.get_by_role("button", name="Make it").click()
    expect(desk.get_by_role("link", name="findings.json")).to_be_visible()
    assert (essay / "out" / "script.md").is_file()
    link = desk.get_by_role("link", name="script.md")
    assert "Ebb and Flood" in desk.request.get(f"{running.root}{link.get_attribute('href')}").text()


def test_a_film_that_is_stopped_leaves_nothing_half_written(desk: Page, essay: Path):
    for box in desk.get_by_role("group", name="Parts to make").get_by_role("checkbox").all():
        box.uncheck()
    desk.get_by_label("Film with sound, chapters and captions").check()
    desk.get_by_role("button", name="Make it").click()
    stop = desk.get_by_role("button", name="Stop")
    stop.wait_for()
    desk.get_by_role("progressbar").wait_for()
    comes_true(desk, (essay / "out").is_dir)
    stop.click()
    expect(desk.locator(".said")).to_contain_text("stopped – what is finished stays")
    assert not (essay / "out" / "film.mp4").exists()
    comes_true(desk, lambda: not list((essay / "out").glob(".*.part")))


def test_nothing_outside_of_what_was_made_can_be_fetched(desk: Page, running: Opened):
    for name in ("../essay.toml", "%2e%2e/essay.toml", "/etc/passwd", "..%2fclaims.toml"):
        assert desk.request.get(f"{running.root}/made/{name}").status == 404
