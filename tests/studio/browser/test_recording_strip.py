"""The recording on the Notate desk: brought in, seen, aligned, doubted – by hand and by keys."""

import re
import shutil
import tomllib
from pathlib import Path

import pytest
from playwright.sync_api import Page, Route, expect
from tests.studio.opened import comes_true, opened

from riffract.cli.main import main
from riffract.formats.tab import read_tab

PASSAGE = """\
title: Four bars of our own
tuning: E2 A2 D3 G3 B3 E4
metre: 7/8 = 2+2+3
tempo: q = 126

time   e  e  e  e  q  e    e  e  q  e  e  e    e  e  e  e  q  e    q  e  q  q
E4   |-------------------|-------------------|-------------------|-------------|
B3   |-------------------|-------------------|-------------------|-------------|
G3   |-------------------|-------5-----------|----------7--------|-------------|
D3   |-------5--7--9-----|-7--------9--7-----|-------5-----9-----|-7-----5-----|
A2   |----7-----------7--|----7-----------10-|----7-----------7--|----7-----5--|
E2   |-0-----------------|-------------------|-0-----------------|-------------|
"""


@pytest.fixture(scope="module")
def sounding(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """Give an essay of four bars and a recording of it, with a bar of clicks before it."""
    place = tmp_path_factory.mktemp("sounding")
    tab, take = place / "passage.tab", place / "My take (1).wav"
    tab.write_text(PASSAGE)
    assert main(["excerpt", str(tab), str(take), "--count-in", "1", "--tone", "clean"]) == 0
    return tab, take


@pytest.fixture
def four_bars(tmp_path: Path, sounding: tuple[Path, Path]) -> Path:
    folder = tmp_path / "four"
    folder.mkdir()
    (folder / "essay.toml").write_text('title = "Four bars"\npassage = "passage.tab"\n')
    (folder / "passage.tab").write_text(sounding[0].read_text())
    return folder


OPEN = """async (folder) => {
  const { ask } = await import("/pages/app.js");
  await ask("start.open", { folder });
}"""


IS_PLAYING = """async () => {
  const { recording } = await import("/pages/desks/notate/recording/recording.js");
  return recording.get().isPlaying;
}"""


def settings(folder: Path) -> dict[str, object]:
    part: dict[str, object] = tomllib.loads((folder / "essay.toml").read_text()).get(
        "recording", {}
    )
    return part


def test_a_recording_is_brought_in_found_fixed_and_taken_back(
    page: Page, four_bars: Path, sounding: tuple[Path, Path], tmp_path: Path
):
    with opened(four_bars, tmp_path / "state") as app:
        page.goto(app.address)
        page.get_by_label("A recording").set_input_files(sounding[1])
        strip = page.get_by_role("slider", name="Place in the recording")
        strip.wait_for()
        comes_true(page, lambda: settings(four_bars).get("file") == "My-take-1.wav")
        assert (four_bars / "My-take-1.wav").read_bytes() == sounding[1].read_bytes()

        page.get_by_role("button", name="Find the passage in it").click()
        page.get_by_role("button", name="Listen again").wait_for()
        assert (four_bars / "alignment.json").is_file()
        strip.focus()
        page.keyboard.press("End")
        expect(strip).to_have_attribute("aria-valuetext", re.compile("bar 4"))
        page.keyboard.press("Home")
        expect(strip).to_have_attribute("aria-valuetext", re.compile("before the passage"))
        for _ in range(3):
            page.keyboard.press("Shift+ArrowRight")
        page.get_by_label("Bar", exact=True).fill("2")
        page.get_by_role("button", name="is here").click()
        comes_true(
            page,
            lambda: settings(four_bars).get("anchors") == [{"bar": 2, "beat": 1.0, "seconds": 3.0}],
        )
        handle = page.get_by_role("button", name="bar 2, beat 1, fixed at 3.00 seconds")
        handle.press("ArrowRight")
        page.get_by_role("button", name="bar 2, beat 1, fixed at 3.01 seconds").press("Delete")
        comes_true(page, lambda: "anchors" not in settings(four_bars))
        page.get_by_role("button", name="Undo").click()
        comes_true(page, lambda: "anchors" in settings(four_bars))


def test_what_is_no_recording_is_refused_with_a_mend(page: Page, four_bars: Path, tmp_path: Path):
    with opened(four_bars, tmp_path / "state-2") as app:
        page.goto(app.address)
        wrong = tmp_path / "song.wav"
        wrong.write_text("this is no sound")
        page.get_by_label("A recording").wait_for(state="attached")
        page.get_by_label("A recording").set_input_files(wrong)
        expect(page.get_by_role("alert")).to_contain_text("song.wav")
        assert not list(four_bars.glob("*.wav"))
        assert not list(four_bars.glob(".*.part"))


def test_a_note_that_is_written_wrong_is_found_and_its_rival_accepted(
    page: Page, four_bars: Path, sounding: tuple[Path, Path], tmp_path: Path
):
    tab = four_bars / "passage.tab"
    right = tab.read_text()
    wrong = right.replace("|-7-----5-----|", "|-8-----5-----|")
    assert wrong != right
    tab.write_text(wrong)
    (four_bars / "take.wav").write_bytes(sounding[1].read_bytes())
    with (four_bars / "essay.toml").open("a") as file:
        file.write('\n[recording]\nfile = "take.wav"\n')
    assert main(["hear", str(four_bars)]) == 0
    with opened(four_bars, tmp_path / "state") as app:
        page.goto(app.address)
        page.get_by_role("region", name=re.compile("notes? to look at")).wait_for()
        page.get_by_role("button", name="Show", exact=True).click()
        page.get_by_role("button", name="Write string 4, fret 7").first.click()
        comes_true(page, lambda: _same(tab, right))
        page.get_by_role("button", name="Undo").click()
        comes_true(page, lambda: not _same(tab, right))
        # The same by keys, on the picture.
        page.locator(".doubt.contradicted").first.wait_for()
        page.get_by_role("application", name="The passage as strings in time").focus()
        page.keyboard.press("Alt+d")
        expect(page.locator(".said")).to_contain_text("Bar 4, beat 1: fret 7, not 8")
        page.keyboard.press("Alt+Enter")
        comes_true(page, lambda: _same(tab, right))
        expect(page.locator(".doubt.contradicted")).to_have_count(0)


def _same(tab: Path, text: str) -> bool:
    now, then = read_tab(tab.read_text()).passage, read_tab(text).passage
    return now is not None and then is not None and now.notes == then.notes


def test_a_recording_of_the_same_name_in_another_essay_is_another_sound(
    page: Page, four_bars: Path, sounding: tuple[Path, Path], tmp_path: Path
):
    other = tmp_path / "other"
    shutil.copytree(four_bars, other)
    for folder in (four_bars, other):
        settings_file = folder / "essay.toml"
        settings_file.write_text(settings_file.read_text() + '\n[recording]\nfile = "take.wav"\n')
        shutil.copy(sounding[1], folder / "take.wav")
    fetched: list[str] = []
    page.on("request", lambda r: fetched.append(r.url) if "/recording/sound" in r.url else None)
    with opened(four_bars, tmp_path / "state") as app:
        page.goto(app.address)
        play(page, fetched, 1)
        page.evaluate(OPEN, str(other))
        page.get_by_title(str(other)).wait_for()
        play(page, fetched, 2)
        answer = page.request.get(f"{app.root}/recording/sound/{'0' * 32}")
        assert answer.status == 404
    assert len(set(fetched)) == 2


def play(page: Page, fetched: list[str], count: int) -> None:
    page.get_by_role("slider", name="Place in the recording").wait_for()
    page.keyboard.press("Alt+l")
    comes_true(page, lambda: len(set(fetched)) == count)
    page.keyboard.press("Alt+l")


def test_what_has_not_begun_yet_ends_with_the_next_press_and_with_another_essay(
    page: Page, four_bars: Path, sounding: tuple[Path, Path], tmp_path: Path
):
    other = tmp_path / "other"
    shutil.copytree(four_bars, other)
    settings_file = four_bars / "essay.toml"
    settings_file.write_text(settings_file.read_text() + '\n[recording]\nfile = "take.wav"\n')
    shutil.copy(sounding[1], four_bars / "take.wav")
    held: list[Route] = []

    def hold(route: Route) -> None:
        held.append(route)

    page.route("**/recording/sound/*", hold)
    with opened(four_bars, tmp_path / "state") as app:
        page.goto(app.address)
        recording = page.get_by_role("region", name="Recording")
        recording.get_by_role("button", name="Play the recording").click()
        recording.get_by_role("button", name="Stop").click()
        recording.get_by_role("button", name="Play the recording").click()
        recording.get_by_role("button", name="Stop").wait_for()
        page.evaluate(OPEN, str(other))
        page.get_by_role("button", name="Bring a recording in").wait_for()
        for route in held:
            route.fulfill(path=sounding[1])
        page.wait_for_timeout(400)
        assert page.evaluate(IS_PLAYING) is False


def test_a_file_that_does_not_arrive_is_told_in_a_sentence(
    page: Page, four_bars: Path, sounding: tuple[Path, Path], tmp_path: Path
):
    with opened(four_bars, tmp_path / "state") as app:
        page.goto(app.address)
        page.get_by_role("button", name="Bring a recording in").wait_for()
        page.route("**/recording/new/*", lambda route: route.abort("connectionrefused"))
        page.get_by_label("A recording").set_input_files(sounding[1])
        expect(page.get_by_role("alert")).to_contain_text("My take (1).wav did not arrive")
        page.route("**/notate/bring/*", lambda route: route.abort("connectionrefused"))
        page.get_by_label("A file of music").set_input_files(sounding[0])
        expect(page.get_by_role("alert")).to_contain_text("passage.tab did not arrive")
    assert settings(four_bars) == {}
