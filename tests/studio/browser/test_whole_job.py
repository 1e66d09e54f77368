"""The whole job in the app, from nothing to a film, by keyboard alone."""

import re
import tomllib
from pathlib import Path
from typing import Any

import av
import pytest
from playwright.sync_api import Dialog, Locator, Page, expect
from tests.studio.opened import comes_true, opened

from riffract.cli.main import main
from riffract.formats.tab import read_tab

MARKUP = "<img src=x onerror=alert(1)>"

TAKE = """\
tuning: A1 D2 A2 D3 G3 B3 E4
metre: 7/8 = 2+2+3
tempo: q = 132

ring 3                                 -                                       -
time   e  e  e  e  q  e    e  e3 e3 e3 q  q    e  e  e  e  q  e    e  e3 e3 e3 q  q
E4   |-------------------|-------------------|-------------------|-------------------|
B3   |-------------------|-------------------|-------------------|-------------------|
G3   |-------------------|-------------7-----|-------------------|-------------7-----|
D3   |----------0--------|-------------7-----|----------0--------|-------------7-----|
A2   |----------------7--|----------5--------|----------------7--|----------5--------|
D2   |----5--------6-----|----5-h7-----------|----5--------6-----|----5-h7-----------|
A1   |-0-----3-----------|-0--------------0--|-0-----3-----------|-0--------------0--|
"""

ON, UP, DOWN = "ArrowRight", "ArrowUp", "ArrowDown"
FIRST_BAR = (
    f"e 0 m {ON} {UP} 5 {ON} {DOWN} 3 {ON} {UP} {UP} {UP} 0 {ON} {DOWN} {DOWN} 6 {ON} 6"
    f" ArrowLeft - {ON} {ON} {UP} 7 {ON}"
)
"""A note that is tied on lasts as long as the one that was played."""

POINTERS = """
window.pointers = 0;
addEventListener("pointerdown", () => { window.pointers += 1; }, true);
"""


@pytest.fixture(scope="module")
def take(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give a recording of what is written, with a bar of clicks before it."""
    place = tmp_path_factory.mktemp("take")
    tab, sound = place / "played.tab", place / "take.wav"
    tab.write_text(TAKE)
    assert main(["excerpt", str(tab), str(sound), "--count-in", "1"]) == 0
    return sound


def test_from_nothing_to_a_film(page: Page, tmp_path: Path, take: Path):
    folder = tmp_path / "undertow"
    alerts: list[str] = []

    def note(dialog: Dialog) -> None:
        alerts.append(dialog.message)
        dialog.dismiss()

    page.on("dialog", note)
    # The browser is told early to hand its choosers over: a key would overtake that.
    page.on("filechooser", lambda _: None)
    page.add_init_script(POINTERS)
    with opened(None, tmp_path / "state") as app:
        page.goto(app.address)
        _begin(page, folder)
        _write(page, folder)
        _listen(page, folder, take)
        _mend(page, folder)
        _study(page, folder)
        _argue(page, folder)
        _say(page, folder)
        _look(page, folder)
        _film(page, folder)
        assert page.evaluate("window.pointers") == 0
    assert not alerts, "words of the essay are words, not code"


def _begin(page: Page, folder: Path) -> None:
    _type_into(page, page.get_by_label("What is the riff called?"), f"Undertow {MARKUP}")
    _type_into(page, page.get_by_label("Folder for its files"), str(folder))
    _press(page, "Enter")
    page.locator("[data-bar='1']").wait_for()
    expect(page.get_by_text("Nothing is written yet.")).to_be_visible()
    expect(page.locator("#desk")).to_be_focused()


def _write(page: Page, folder: Path) -> None:
    _tab_to(page, page.get_by_role("application", name="The passage as strings in time"))
    _answer(page, "Alt+u", "A1 D2 A2 D3 G3 B3 E4")
    _answer(page, "Alt+t", "7/8 = 2+2+3")
    _answer(page, "Alt+q", "132")
    _answer(page, "Alt+s", MARKUP)
    _press(page, f"Control+Home {' '.join([DOWN] * 6)} {FIRST_BAR}")
    _press(page, f"{DOWN} {DOWN} 0 {ON} {UP}")
    _answer(page, "/", "3:2")
    _press(page, f"5 {ON} 7 a {ON} {UP} 5 {ON} / q {UP} 7 {UP} 7 i {ON}")
    _press(page, f"{' '.join([DOWN] * 4)} 0 Control+a r Escape")
    comes_true(page, lambda: len(_bars(folder)) == 4)
    # What is heard wrong: the last note of bar 3.
    _press(page, f"Control+Home Control+{ON} Control+{ON} End ArrowLeft {UP} {UP} 8")
    comes_true(page, lambda: (5, 8) in _bars(folder)[2])
    expect(page.locator(".sheet")).to_be_focused()


def _listen(page: Page, folder: Path, take: Path) -> None:
    _tab_to(page, page.get_by_role("button", name="Bring a recording in"), key="Shift+Tab")
    with page.expect_file_chooser() as chooser:
        _press(page, "Enter")
    chooser.value.set_files(str(take))
    strip = page.get_by_role("slider", name="Place in the recording")
    expect(strip).to_be_focused()
    _press(page, f"Home Shift+{ON} [ Shift+{ON} Shift+{ON} ]")
    expect(page.locator(".said")).to_contain_text("Looped from 1.00 to 3.00 s")
    _answer(page, "Alt+m", "the riff is on its way")
    expect(page.locator(".strip .marker")).to_contain_text("the riff is on its way")
    speed = page.get_by_role("region", name="Recording").get_by_label("Speed")
    _tab_to(page, speed, key="Shift+Tab")
    _press(page, "Home")
    expect(speed).to_have_attribute("aria-valuetext", "25 per cent")
    _press(page, "Alt+l")
    expect(page.get_by_role("button", name="Stop")).to_be_visible()
    _press(page, "Alt+l")
    _tab_to(page, strip)
    # A bar of clicks lasts 3.5 quarters of 60/132 s.
    _press(page, f"Escape Home Shift+{ON} {' '.join([ON] * 6)} Alt+ArrowLeft")
    _tab_to(page, page.get_by_role("button", name="is here"))
    _press(page, "Enter")
    expect(page.get_by_role("button", name="bar 1, beat 1, fixed at 1.59 seconds")).to_be_visible()
    comes_true(page, lambda: "anchors" in _part(folder, "recording"))


def _mend(page: Page, folder: Path) -> None:
    _tab_to(page, page.get_by_role("button", name="Find the passage in it"))
    _press(page, "Enter")
    expect(page.locator(".doubts")).to_contain_text(re.compile("notes? to look at"))
    # Other notes may be doubted, too: with each press one looks at the next.
    _press(page, "Alt+g Control+Home")
    said = page.locator(".said")
    wrong = re.compile("Bar 3, beat 7: fret 7, not 8, .* Alt \\+ Enter writes that")
    for _ in range(20):
        before = said.inner_text()
        _press(page, "Alt+d")
        expect(said).not_to_have_text(before)
        if wrong.search(said.inner_text()):
            break
    expect(said).to_have_text(wrong)
    _press(page, "Alt+Enter")
    comes_true(page, lambda: (5, 7) in _bars(folder)[2])
    _press(page, "Space")
    expect(page.get_by_role("button", name="Hear from here")).to_be_hidden()
    _press(page, "Space")
    expect(page.get_by_role("button", name="Hear from here")).to_be_visible()


def _study(page: Page, folder: Path) -> None:
    _press(page, "Alt+2")
    expect(page.locator("#desk")).to_be_focused()
    page.locator(".finding").first.wait_for()
    _tab_to(page, page.locator(".finding[tabindex='0']"))
    _press(page, f"{DOWN} Space")
    expect(page.get_by_role("button", name="Stop")).to_be_visible()
    _press(page, "Space c")
    comes_true(page, lambda: any("finding" in claim for claim in _claims(folder)))
    details = page.get_by_text("All its measures")
    _tab_to(page, details)
    _press(page, "Space")
    expect(page.locator("details").filter(has=details)).to_have_attribute("open", "")
    _by_hand(page, folder)


def _by_hand(page: Page, folder: Path) -> None:
    _tab_to(page, page.get_by_role("button", name="Set an axis by hand"))
    _press(page, "Enter")
    expect(page.get_by_role("slider", name="Where the axis lies")).to_be_focused()
    _press(page, ON)
    _tab_to(page, page.get_by_label("It lies at"))
    _press(page, DOWN)
    expect(page.get_by_text("(set by hand)")).to_be_visible()
    _tab_to(page, page.get_by_role("button", name="Keep this axis"))
    _press(page, "Enter")
    comes_true(page, (folder / "findings.toml").exists)
    _type_into(page, page.get_by_label("In one sentence"), "The low string answers itself.")
    _type_into(page, page.get_by_role("textbox", name="Bars"), "2:3-4:1")
    _press(page, "Enter")
    comes_true(page, lambda: _claims(folder)[-1]["play"] == [{"bars": "2:3-4:1"}])
    _tab_to(page, page.get_by_role("button", name="Compare it with the built-in background"))
    _press(page, "Enter")
    page.get_by_text("measures", exact=False).last.wait_for()
    _tab_to(page, page.get_by_role("link", name="Findings as a table (CSV)"))
    with page.expect_download() as table:
        _press(page, "Enter")
    assert table.value.suggested_filename == "findings.csv"


def _argue(page: Page, folder: Path) -> None:
    _press(page, "Alt+3")
    page.get_by_role("heading", name="Claim 1").wait_for()
    last = _claims(folder)[-1]["title"]
    claim = page.get_by_role("button", name=last)
    _tab_to(page, claim)
    _press(page, "Enter")
    expect(claim).to_have_attribute("aria-current", "true")
    _press(page, "Alt+Shift+ArrowUp")
    comes_true(page, lambda: _claims(folder)[-2]["title"] == last)
    _tab_to(page, page.get_by_label("Aim, in seconds"), key="Shift+Tab")
    page.keyboard.type("40")
    _press(page, "Enter")
    comes_true(page, lambda: _part(folder, "film").get("target_seconds") == 40)
    _tab_to(page, claim)
    _press(page, "Enter")
    expect(page.get_by_label("The claim, one plain sentence")).to_be_focused()
    _press(page, "Control+a")
    page.keyboard.type(f"Two bars, one pull {MARKUP}.")
    _press(page, "Enter")
    comes_true(page, lambda: _claim(folder)["title"].startswith("Two bars, one pull"))
    _tab_to(page, page.get_by_label("Shown as"))
    _press(page, "End")
    comes_true(page, lambda: _claim(folder)["scene"] == "whole")
    _type_into(page, page.get_by_label("What to listen for"), "Listen to the low string.")
    _press(page, "Tab")
    comes_true(page, lambda: _claim(folder)["lines"] == ["Listen to the low string."])
    _tab_to(page, page.get_by_role("group", name="Excerpt 1").get_by_label("Speed"))
    _press(page, "Home")
    comes_true(page, lambda: _claim(folder)["play"][0].get("speed") == 0.25)


def _say(page: Page, folder: Path) -> None:
    _tab_to(page, page.get_by_role("button", name="Record it", exact=True), key="Shift+Tab")
    # The browser's test microphone beeps once a second.
    _press(page, "Enter")
    expect(page.get_by_role("button", name="■ End the take")).to_be_focused()
    page.wait_for_timeout(1_200)
    _press(page, "Enter")
    comes_true(page, lambda: "take" in _claim(folder))
    times = page.get_by_text("When each line comes")
    _tab_to(page, times)
    _press(page, "Enter")
    _type_into(page, page.get_by_label("s · Listen to the low string."), "0.3")
    _press(page, "Tab")
    comes_true(page, lambda: _claim(folder).get("line_starts") == [0.3])
    _press(page, "Alt+p")
    prompter = page.get_by_role("dialog", name="Prompter")
    expect(prompter).to_contain_text("Listen to the low string.")
    _press(page, "Escape")
    expect(prompter).to_be_hidden()


def _look(page: Page, folder: Path) -> None:
    settings = folder / "essay.toml"
    settings.write_text(
        settings.read_text().replace("[film]", "[film]\nheight = 180\nwidth = 320", 1)
    )
    _press(page, "Alt+4")
    expect(page.get_by_text("320 × 180 px")).to_be_visible()
    scrubber = page.get_by_role("slider", name="Moment of the film")
    _tab_to(page, scrubber)
    _press(page, f"{ON} {ON} {ON} ArrowLeft")
    expect(page.locator(".transport output")).to_contain_text("frame 2")
    _press(page, "PageDown")
    expect(page.locator(".shots [aria-current]")).to_contain_text("2")
    _tab_to(page, page.get_by_label("Colours"))
    _press(page, "End")
    comes_true(page, lambda: _part(folder, "film").get("look") == "paper")


def _film(page: Page, folder: Path) -> None:
    wanted = {"Film with sound, chapters and captions", "Script, and the same for a prompter"}
    for box in page.get_by_role("group", name="Parts to make").get_by_role("checkbox").all():
        _tab_to(page, box)
        name = page.evaluate("document.activeElement.labels[0].innerText.trim()")
        if box.is_checked() != (name in wanted):
            _press(page, "Space")
    make = page.get_by_role("button", name="Make it")
    _tab_to(page, make)
    _press(page, "Enter")
    _tab_to(page, page.get_by_role("button", name="Stop"))
    _press(page, "Enter")
    expect(page.locator(".said")).to_contain_text("stopped – what is finished stays")
    assert not (folder / "out" / "film.mp4").exists()
    _tab_to(page, make)
    _press(page, "Enter")
    expect(page.get_by_role("link", name="film.mp4")).to_be_visible()
    with av.open(str(folder / "out" / "film.mp4"), "r") as film:
        (picture,) = film.streams.video
        assert (picture.width, picture.height) == (320, 180)
        assert film.streams.audio
        assert next(film.decode(picture)) is not None
    assert "Two bars, one pull" in (folder / "out" / "script.md").read_text()


def _tab_to(page: Page, goal: Locator, *, key: str = "Tab") -> None:
    """Go to a control as one does without a pointer; the focus is seen at each stop."""
    goal.wait_for()
    for _ in range(200):
        if goal.evaluate("(element) => element === document.activeElement"):
            assert goal.evaluate("(element) => element.matches(':focus-visible')")
            return
        page.keyboard.press(key)
    raise AssertionError(f"{key} does not lead to {goal}")


def _type_into(page: Page, field: Locator, text: str) -> None:
    _tab_to(page, field)
    page.keyboard.press("Control+a")
    page.keyboard.type(text)


def _answer(page: Page, keys: str, text: str) -> None:
    """Open a dialog by its key, and answer it."""
    page.keyboard.press(keys)
    dialog = page.get_by_role("dialog")
    dialog.wait_for()
    page.keyboard.press("Control+a")
    page.keyboard.type(text)
    page.keyboard.press("Enter")
    dialog.wait_for(state="hidden")


def _press(page: Page, keys: str) -> None:
    for key in keys.split():
        page.keyboard.press(key)


def _bars(folder: Path) -> list[set[tuple[int, int]]]:
    """Give the strings and frets that each bar has."""
    passage = read_tab((folder / "passage.tab").read_text()).passage
    if passage is None:
        return []
    return [
        {(n.string, n.fret) for n in passage.notes if bar.span.holds(n.onset_quarters)}
        for bar in passage.bars
    ]


def _part(folder: Path, name: str) -> dict[str, Any]:
    """Give a part of the settings."""
    part: dict[str, Any] = tomllib.loads((folder / "essay.toml").read_text()).get(name, {})
    return part


def _claims(folder: Path) -> list[dict[str, Any]]:
    path = folder / "claims.toml"
    claims: list[dict[str, Any]] = tomllib.loads(path.read_text())["claim"] if path.exists() else []
    return claims


def _claim(folder: Path) -> dict[str, Any]:
    """Give the claim that is worded: the last but one."""
    return _claims(folder)[-2]
