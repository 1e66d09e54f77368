"""Notes that sound as they are written, and places of a recording that are named."""

import wave
from array import array
from collections.abc import Iterator
from math import pi, sin
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect
from tests.studio.browser.test_notate_desk import EMPTY, press
from tests.studio.opened import bare_essay, comes_true, opened

LISTEN = """
const begin = AudioBufferSourceNode.prototype.start;
window.heard = [];
AudioBufferSourceNode.prototype.start = function (...when) {
  const peak = this.buffer.getChannelData(0).reduce((m, v) => Math.max(m, Math.abs(v)), 0);
  window.heard.push({ peak, seconds: this.buffer.duration });
  return begin.apply(this, when);
};
"""


@pytest.fixture
def desk(page: Page, tmp_path: Path) -> Iterator[Page]:
    folder = bare_essay(tmp_path / "tide", EMPTY)
    page.add_init_script(LISTEN)
    with opened(folder, tmp_path / "state") as app:
        page.goto(app.address)
        page.locator("[data-bar='1']").wait_for()
        page.get_by_role("application").focus()
        yield page


def heard(page: Page) -> list[dict[str, float]]:
    return list(page.evaluate("window.heard"))


def test_a_note_sounds_when_it_is_written_and_quietly(desk: Page):
    press(desk, "5")
    comes_true(desk, lambda: len(heard(desk)) == 1)
    press(desk, "ArrowDown 7")
    comes_true(desk, lambda: len(heard(desk)) == 2)
    assert all(0.1 < one["peak"] <= 0.1251 and one["seconds"] < 1 for one in heard(desk))
    press(desk, "x")
    comes_true(desk, lambda: len(heard(desk)) == 3)
    dead = heard(desk)[2]
    assert dead["seconds"] < 0.1
    assert 0.1 < dead["peak"] <= 0.1251
    press(desk, "m Delete ArrowRight")
    expect(desk.get_by_role("status")).to_contain_text("bar 1")
    assert len(heard(desk)) == 3


def test_it_is_switched_off_and_stays_so(desk: Page):
    box = desk.get_by_label("notes sound as they are written")
    expect(box).to_be_checked()
    box.uncheck()
    desk.get_by_role("application").focus()
    press(desk, "5")
    expect(desk.get_by_role("status")).to_contain_text("fret 5")
    assert not heard(desk)
    desk.reload()
    expect(desk.get_by_label("notes sound as they are written")).not_to_be_checked()


def test_a_place_of_the_recording_is_named_in_a_form(desk: Page, tmp_path: Path):
    sound = tmp_path / "tone.wav"
    with wave.open(str(sound), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(22_050)
        tone = array("h", (int(9_000 * sin(2 * pi * 220 * i / 22_050)) for i in range(44_100)))
        file.writeframes(tone.tobytes())
    desk.get_by_label("A recording").set_input_files(sound)
    desk.get_by_role("slider", name="Place in the recording").or_(
        desk.get_by_role("button", name="Find the passage in it")
    ).first.wait_for()
    press(desk, "Alt+m")
    form = desk.get_by_role("dialog", name="A name for this place in the recording")
    form.get_by_label("What is here?").fill("the turn")
    press(desk, "Enter")
    expect(desk.get_by_text("the turn").first).to_be_visible()
