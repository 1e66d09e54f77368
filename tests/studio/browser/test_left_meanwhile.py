"""What is still on its way when somebody has gone on to another desk, or another essay."""

import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, Route, expect
from tests.studio.opened import Opened, bare_essay, comes_true, opened

TAB = """\
title: Skerry
tuning: A1 D2 G2 C3 F3 A3 D4
metre: 5/8 = 3+2
tempo: q = 126

time   e e e e e   e e q.
D4   |-----------|--------|
A3   |-----------|--------|
F3   |-----------|--------|
C3   |-----------|--------|
G2   |-----5-3---|-----2--|
D2   |---3-----5-|---3----|
A1   |-0---------|-0------|
"""

OPEN = """async (folder) => {
  const { ask } = await import("/pages/app.js");
  await ask("start.open", { folder });
}"""

# The browser asks first, and the person takes their time.
ASKED_FIRST = """
const given = navigator.mediaDevices.getUserMedia.bind(navigator.mediaDevices);
const asked = new Promise((allow) => { window.allow = allow; });
window.opened = [];
navigator.mediaDevices.getUserMedia = async (wanted) => {
  await asked;
  const stream = await given(wanted);
  window.opened.push(stream);
  return stream;
};
"""
IS_OFF = """window.opened.length === 1
  && window.opened[0].getTracks().every((track) => track.readyState === "ended")"""

# What the app is asked to do reaches it once `window.let_go()` is called.
HELD_BACK = """async (action) => {
  const { channel } = await import("/pages/app.js");
  const ask = channel.ask;
  const let_go = new Promise((done) => { window.let_go = done; });
  channel.ask = async (asked, wanted) => {
    if (asked === action) await let_go;
    return ask(asked, wanted);
  };
}"""

# A machine without an output for sound: the clock of what is heard stands still.
NO_OUTPUT = """
Object.defineProperty(BaseAudioContext.prototype, "currentTime", { get: () => 0 });
"""


@pytest.fixture
def small(tmp_path: Path) -> Path:
    folder = bare_essay(tmp_path / "skerry", TAB)
    settings = folder / "essay.toml"
    settings.write_text(settings.read_text() + "\n[film]\nheight = 180\nwidth = 320\n")
    return folder


@pytest.fixture
def other(small: Path, tmp_path: Path) -> Path:
    folder = tmp_path / "other"
    shutil.copytree(small, folder)
    return folder


@pytest.fixture
def skerry(small: Path, other: Path, tmp_path: Path) -> Iterator[Opened]:
    assert other.is_dir()
    with opened(small, tmp_path / "state") as app:
        yield app


def go_to(page: Page, app: Opened, desk: str) -> None:
    page.goto(app.address)
    page.locator("[data-bar='1']").wait_for()
    page.keyboard.press(desk)


def open_other(page: Page, folder: Path) -> None:
    page.evaluate(OPEN, str(folder))
    page.get_by_title(str(folder)).wait_for()


def test_a_prompter_that_is_closed_while_the_browser_asks_records_nothing(
    page: Page, skerry: Opened, small: Path
):
    page.add_init_script(ASKED_FIRST)
    go_to(page, skerry, "Alt+3")
    page.get_by_role("heading", name="Claim 1").wait_for()
    page.keyboard.press("Alt+p")
    prompter = page.get_by_role("dialog", name="Prompter")
    prompter.get_by_role("button", name="Record claim 1").click()
    page.keyboard.press("Escape")
    expect(prompter).to_be_hidden()
    page.evaluate("window.allow()")
    comes_true(page, lambda: page.evaluate(IS_OFF))
    page.keyboard.press("Alt+p")
    expect(prompter.get_by_role("button", name="Record claim 1")).to_be_visible()
    assert not (small / "takes").exists()


def test_nothing_is_said_to_be_recorded_before_the_browser_allows_it(page: Page, skerry: Opened):
    page.add_init_script(ASKED_FIRST)
    go_to(page, skerry, "Alt+3")
    record = page.get_by_role("button", name="Record it", exact=True)
    record.click()
    record.click()
    expect(page.get_by_role("status")).not_to_contain_text("Recording. Speak")
    page.evaluate("window.allow()")
    expect(page.get_by_role("status")).to_contain_text("Recording. Speak")
    page.get_by_role("button", name="■ End the take").click()
    comes_true(page, lambda: page.evaluate(IS_OFF))


def test_a_take_lies_with_the_essay_that_it_was_spoken_for(
    page: Page, skerry: Opened, small: Path, other: Path
):
    go_to(page, skerry, "Alt+3")
    page.get_by_role("button", name="Record it", exact=True).click()
    page.get_by_role("button", name="■ End the take").wait_for()
    page.wait_for_timeout(1_200)
    open_other(page, other)
    expect(page.get_by_role("status")).to_contain_text("in the essay that it was spoken for")
    assert [path.stat().st_size > 1_000 for path in (small / "takes").iterdir()] == [True]
    assert not (other / "takes").exists()


def test_what_was_recorded_for_an_essay_is_no_other_essays_recording(
    page: Page, skerry: Opened, small: Path, other: Path
):
    go_to(page, skerry, "Alt+1")
    page.get_by_role("button", name="Record", exact=True).click()
    page.get_by_role("button", name="■ Stop recording").wait_for()
    page.wait_for_timeout(1_200)
    open_other(page, other)
    expect(page.get_by_role("status")).to_contain_text(f"{small}: bring it in there")
    assert len(list(small.glob("recorded-*"))) == 1
    assert not list(other.glob("recorded-*"))
    assert "[recording]" not in (other / "essay.toml").read_text()


def test_a_films_sound_that_comes_late_is_not_heard_with_another_essay(
    page: Page, skerry: Opened, other: Path
):
    held: list[Route] = []

    def hold(route: Route) -> None:
        held.append(route)

    page.route(re.compile(r"/show/sound\?"), hold)
    go_to(page, skerry, "Alt+4")
    page.locator("canvas[data-shown]").wait_for()
    page.get_by_role("button", name="Play", exact=True).click()
    comes_true(page, lambda: len(held) == 1)
    answer = held[0].fetch()
    open_other(page, other)
    page.locator("canvas[data-shown]").wait_for()
    held[0].fulfill(response=answer)
    page.wait_for_timeout(300)
    page.get_by_role("button", name="Play", exact=True).click()
    comes_true(page, lambda: len(held) == 2)
    held[1].continue_()
    expect(page.get_by_role("button", name="Pause")).to_be_visible()


def test_who_has_no_output_for_sound_is_told_why_nothing_moves(page: Page, skerry: Opened):
    page.add_init_script(NO_OUTPUT)
    go_to(page, skerry, "Alt+1")
    page.get_by_role("button", name="Hear from here").click()
    expect(page.get_by_role("alert")).to_contain_text("this browser lets no sound out")


def test_what_came_of_the_making_is_there_for_who_was_at_another_desk(
    page: Page, skerry: Opened, small: Path
):
    go_to(page, skerry, "Alt+4")
    boxes = page.get_by_role("group", name="Parts to make")
    for box in boxes.get_by_role("checkbox").all():
        box.uncheck()
    boxes.get_by_label("Film with sound").check()
    page.get_by_role("button", name="Make it").click()
    page.keyboard.press("Alt+1")
    expect(page.get_by_role("status")).to_contain_text(re.compile(r"checks of the film failed"))
    page.keyboard.press("Alt+4")
    expect(page.get_by_text("checks of the film failed").first).to_be_visible()
    assert (small / "out" / "film.mp4").exists()


def test_what_was_pointed_at_is_not_shown_when_one_comes_back(page: Page, skerry: Opened):
    go_to(page, skerry, "Alt+2")
    page.get_by_label("Show").select_option(label="everything")
    chosen = page.get_by_role("heading", level=2).nth(1)
    findings = page.locator(".findings li")
    expect(findings.nth(1)).to_be_visible()
    before = chosen.inner_text()
    findings.filter(has_not_text=before).first.hover()
    expect(chosen).not_to_have_text(before)
    page.keyboard.press("Alt+1")
    page.locator("[data-bar='1']").wait_for()
    page.mouse.move(5, 5)
    page.keyboard.press("Alt+2")
    expect(chosen).to_have_text(before)


def test_who_looks_at_another_claim_while_one_is_moved_stays_there(page: Page, skerry: Opened):
    go_to(page, skerry, "Alt+3")
    page.get_by_role("heading", name="Claim 1").wait_for()
    for words in ("The first that I hear.", "The second that I hear."):
        page.get_by_role("button", name="Add what I hear myself").click()
        title = page.get_by_label("The claim, one plain sentence")
        expect(page.get_by_text("An observation of your own; the handout says so.")).to_be_visible()
        title.fill(words)
        title.press("Enter")
        expect(page.get_by_role("button", name=words)).to_be_visible()
    second = page.get_by_role("button", name="The second that I hear.")
    page.evaluate(HELD_BACK, "argue.move")
    page.get_by_role("button", name="Claim 1 one place down").click()
    second.click()
    page.evaluate("window.let_go()")
    expect(page.get_by_role("status")).to_contain_text("is number 2 now")
    expect(page.get_by_role("button", name="The second that I hear.")).to_have_attribute(
        "aria-current", "true"
    )


def test_a_proposed_claim_that_is_reworded_is_recorded_on(page: Page, skerry: Opened):
    go_to(page, skerry, "Alt+3")
    page.get_by_role("heading", name="Claim 1").wait_for()
    expect(page.get_by_text("Nobody has chosen claims yet.")).to_be_visible()
    page.get_by_label("The claim, one plain sentence").fill("Two bars that lean on five.")
    page.get_by_role("button", name="Record it", exact=True).click()
    expect(page.get_by_text("Nobody has chosen claims yet.")).to_be_hidden()
    page.wait_for_timeout(1_000)
    page.get_by_role("button", name="■ End the take").click()
    expect(page.get_by_text(re.compile(r"What is spoken – 0:(?!00)\d\d"))).to_be_visible()


def test_an_observation_is_kept_once_however_quickly_it_is_pressed(
    page: Page, skerry: Opened, small: Path
):
    go_to(page, skerry, "Alt+2")
    page.get_by_label("In one sentence").fill("The ground stands still.")
    page.get_by_role("button", name="Keep it").dblclick()
    expect(page.get_by_role("status").last).to_contain_text("Kept among the claims")
    page.wait_for_timeout(500)
    assert (small / "claims.toml").read_text().count("The ground stands still.") == 1


def test_a_double_click_selects_no_words_of_the_page(page: Page, skerry: Opened):
    go_to(page, skerry, "Alt+1")
    page.locator("[data-bar='1']").dblclick(position={"x": 20, "y": 60})
    page.get_by_role("menu").wait_for()
    assert page.evaluate("getSelection().toString()") == ""


def test_a_double_click_begins_a_take_and_does_not_end_it(page: Page, skerry: Opened):
    go_to(page, skerry, "Alt+3")
    end = page.get_by_role("button", name="■ End the take")
    page.get_by_role("button", name="Record it", exact=True).click()
    # The second click of the two finds another button in the same place.
    end.dispatch_event("click", {"detail": 2})
    page.wait_for_timeout(600)
    end.click()
    expect(page.get_by_role("button", name="Record it again")).to_be_visible()
