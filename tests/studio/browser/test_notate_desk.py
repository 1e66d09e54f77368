"""The Notate desk, by keyboard alone, by mouse, and as text."""

import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect
from tests.studio.opened import bare_essay, comes_true, opened

from riffract.cli.main import main
from riffract.formats.tab import read_tab
from riffract.music import Note, Passage

EMPTY = """\
title: Tide
tuning: E2 A2 D3 G3 B3 E4
metre: 7/8 = 2+2+3
tempo: q = 120

# a remark of mine

time | h. e |
E4   |------|
B3   |------|
G3   |------|
D3   |------|
A2   |------|
E2   |------|
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return bare_essay(tmp_path / "tide", EMPTY)


@pytest.fixture
def desk(page: Page, folder: Path, tmp_path: Path) -> Iterator[Page]:
    with at_the_strings(page, folder, tmp_path / "state") as sheet:
        yield sheet


@contextmanager
def at_the_strings(page: Page, folder: Path, state: Path) -> Iterator[Page]:
    """Open an essay's passage and go to its strings."""
    with opened(folder, state) as app:
        page.goto(app.address)
        page.locator("[data-bar='1']").wait_for()
        # The strings move down when this has come.
        page.get_by_role("region", name="Recording", exact=True).wait_for()
        page.get_by_role("application", name="The passage as strings in time").focus()
        yield page


def passage(folder: Path) -> Passage | None:
    return read_tab((folder / "passage.tab").read_text()).passage


def becomes(page: Page, folder: Path, wanted: Callable[[list[Note]], bool]) -> None:
    def holds() -> bool:
        now = passage(folder)
        return now is not None and wanted(list(now.notes))

    comes_true(page, holds)


def places(notes: list[Note]) -> list[tuple[str, int, int]]:
    return [(str(n.onset_quarters), n.string, n.fret) for n in notes]


def press(page: Page, keys: str) -> None:
    for key in keys.split():
        page.keyboard.press(key)


def test_a_riff_is_written_by_keys_alone(desk: Page, folder: Path):
    press(desk, "ArrowDown ArrowDown ArrowDown ArrowDown ArrowDown")
    press(desk, "e 0 ArrowRight 3 ArrowRight ArrowUp 1 2")
    becomes(desk, folder, lambda n: places(n) == [("0", 6, 0), ("1/2", 6, 3), ("1", 5, 12)])
    expect(desk.get_by_role("status")).to_contain_text("fret 12")
    assert "# a remark of mine" in (folder / "passage.tab").read_text()


def test_signs_are_given_and_taken_back_by_undo(desk: Page, folder: Path):
    press(desk, "5 m")
    becomes(desk, folder, lambda n: bool(n) and "palm_mute" in n[0].techniques.labels)
    press(desk, "Control+z")
    becomes(desk, folder, lambda n: bool(n) and "palm_mute" not in n[0].techniques.labels)
    press(desk, "Control+z")
    becomes(desk, folder, lambda n: not n)
    press(desk, "Control+Shift+z")
    becomes(desk, folder, lambda n: places(n) == [("0", 1, 5)])


def test_the_picture_shows_what_was_typed_and_what_undo_gave_back(desk: Page, folder: Path):
    picture = desk.locator("[data-bar='1'] > svg").first
    empty = picture.inner_html()
    press(desk, "5")
    comes_true(desk, lambda: picture.inner_html() != empty)
    five = picture.inner_html()
    press(desk, "Delete 7")
    becomes(desk, folder, lambda n: places(n) == [("0", 1, 7)])
    comes_true(desk, lambda: picture.inner_html() not in {empty, five})
    press(desk, "Control+z Control+z")
    comes_true(desk, lambda: picture.inner_html() == five)


def test_a_bar_that_does_not_fill_is_told_with_mends_that_work(desk: Page, folder: Path):
    press(desk, "5 q")
    fault = desk.get_by_role("group", name=re.compile("Bar 1 holds"))
    expect(fault).to_be_visible()
    fault.get_by_role("button").first.click()
    expect(fault).to_be_hidden()
    becomes(desk, folder, lambda n: len(n) == 1)


def test_notes_are_selected_moved_to_other_strings_copied_and_put_in_again(
    desk: Page, folder: Path
):
    press(desk, "ArrowDown e 5 ArrowRight 7 ArrowLeft Shift+ArrowRight")
    press(desk, "Control+ArrowDown")
    becomes(desk, folder, lambda n: places(n) == [("0", 3, 9), ("1/2", 3, 11)])
    press(desk, "Control+ArrowUp Control+c Escape ArrowRight ArrowRight")
    desk.keyboard.press("Control+k")
    desk.get_by_role("combobox", name="What do you want").press_sequentially("put in what was")
    desk.keyboard.press("Enter")
    becomes(desk, folder, lambda n: len(n) == 4)


def test_a_click_puts_the_cursor_where_it_points(desk: Page, folder: Path):
    bar = desk.locator("[data-bar='1'] svg.over")
    bar.click(position={"x": 15, "y": 42 + 2 * 25})
    expect(desk.get_by_role("status")).to_contain_text("bar 1, beat 1, string 3")
    press(desk, "4")
    becomes(desk, folder, lambda n: places(n) == [("0", 3, 4)])


def test_a_selection_is_dragged_to_another_string_as_one_step(desk: Page, folder: Path):
    press(desk, "e 5 Control+b")
    bar = desk.locator("[data-bar='1'] svg.over")
    expect(bar.locator(".selected")).to_be_visible()
    box = bar.bounding_box()
    assert box is not None
    x, y = box["x"] + 15, box["y"] + 42
    desk.mouse.move(x, y)
    desk.mouse.down()
    desk.mouse.move(x, y + 50, steps=4)
    expect(bar.locator(".carried")).to_be_visible()
    desk.mouse.up()
    becomes(desk, folder, lambda n: places(n) == [("0", 3, 5)])
    expect(bar.locator(".carried")).to_be_hidden()
    press(desk, "Control+z")
    becomes(desk, folder, lambda n: places(n) == [("0", 1, 5)])


def test_picture_and_text_follow_each_other(desk: Page, folder: Path):
    press(desk, "Alt+x")
    text = desk.get_by_role("textbox", name="passage.tab")
    expect(text).to_have_value(EMPTY)
    desk.get_by_role("application", name="The passage as strings in time").focus()
    press(desk, "7")
    expect(text).to_have_value(re.compile(r"e +\|-7-"))
    wrong = text.input_value().replace("tuning: E2", "tuning: H2")
    text.fill(wrong)
    expect(desk.get_by_role("list", name="What is wrong with the text")).to_be_visible()
    text.fill(wrong.replace("tuning: H2", "tuning: D2"))
    comes_true(desk, lambda: "tuning: D2" in (folder / "passage.tab").read_text())
    expect(desk.get_by_text("D2").first).to_be_visible()


def test_metre_and_tuning_are_asked_for(desk: Page, folder: Path):
    press(desk, "5 Alt+t")
    dialog = desk.get_by_role("dialog", name="Metre from this bar on")
    dialog.get_by_label("Metre, with its grouping").fill("11/8 = 3+3+3+2")
    dialog.get_by_role("button", name="Do it").click()
    comes_true(desk, lambda: "11/8 = 3+3+3+2" in (folder / "passage.tab").read_text())
    desk.get_by_role("group", name=re.compile("Bar 1 holds")).get_by_role("button").first.click()
    press(desk, "Alt+u")
    dialog = desk.get_by_role("dialog", name="Tuning")
    dialog.get_by_label("Open strings from the lowest").fill("D2 A2 D3 G3 B3 E4")
    desk.keyboard.press("Enter")
    comes_true(desk, lambda: "tuning: D2 A2" in (folder / "passage.tab").read_text())


def test_a_score_is_dropped_in_and_taken_back(desk: Page, folder: Path, tmp_path: Path):
    score = tmp_path / "riff.musicxml"
    source = tmp_path / "riff.tab"
    source.write_text(EMPTY.replace("E2   |------|", "E2   |-5----|"))
    assert main(["convert", str(source), str(score)]) == 0
    desk.get_by_label("A file of music").set_input_files(score)
    becomes(desk, folder, lambda n: places(n) == [("0", 6, 5)])
    press(desk, "Control+z")
    comes_true(desk, lambda: (folder / "passage.tab").read_text() == EMPTY)


def test_what_is_written_is_heard_from_here(desk: Page):
    press(desk, "5 Space")
    expect(desk.get_by_role("button", name="Stop", exact=True)).to_be_visible()
    expect(desk.get_by_role("button", name="Hear from here")).to_be_visible()


def test_what_is_written_behind_a_full_bar_is_followed_into_the_next_one(desk: Page, folder: Path):
    press(desk, "e 1 End 2 ArrowRight 3")
    becomes(desk, folder, lambda n: places(n) == [("0", 1, 1), ("7/2", 1, 2), ("4", 1, 3)])
