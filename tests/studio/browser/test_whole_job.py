"""The whole job in the app, from nothing to a film: by keyboard where there is a key."""

import tomllib
from pathlib import Path

import av
from playwright.sync_api import Dialog, Page, expect
from tests.studio.opened import comes_true, opened

from riffract.formats.tab import read_tab

RIFF = "0 m ArrowRight 0 m ArrowRight 3 ArrowRight 0 m ArrowRight 5 ArrowRight 6 v"
MARKUP = "<img src=x onerror=alert(1)>"


def test_from_nothing_to_a_film(page: Page, tmp_path: Path):
    folder = tmp_path / "undertow"
    alerts: list[str] = []

    def note(dialog: Dialog) -> None:
        alerts.append(dialog.message)
        dialog.dismiss()

    page.on("dialog", note)
    with opened(None, tmp_path / "state") as app:
        page.goto(app.address)
        _begin(page, folder)
        _write(page, folder)
        _study_and_claim(page, folder)
        _word_and_say(page, folder)
        _film(page, folder)
    assert not alerts, "words of the essay are words, not code"


def _begin(page: Page, folder: Path) -> None:
    page.get_by_label("What is the riff called?").fill(f"Undertow {MARKUP}")
    page.get_by_label("Folder for its files").fill(str(folder))
    page.keyboard.press("Enter")
    page.locator("[data-bar='1']").wait_for()
    expect(page.get_by_text("Nothing is written yet.")).to_be_visible()


def _write(page: Page, folder: Path) -> None:
    page.get_by_role("application", name="The passage as strings in time").focus()
    _answer(page, "Alt+u", "A1 D2 A2 D3 G3 B3 E4")
    _answer(page, "Alt+t", "11/8 = 3+3+3+2")
    _answer(page, "Alt+s", MARKUP)
    _press(page, "Control+Home" + " ArrowDown" * 6 + f" e {RIFF}")
    _answer(page, "b", "0 200")
    _press(page, "Control+a r Escape")
    comes_true(page, lambda: _bars(folder) == 2)


def _study_and_claim(page: Page, folder: Path) -> None:
    _press(page, "Alt+2")
    page.get_by_role("button", name="Make it a claim").wait_for()
    _press(page, "c")
    comes_true(page, lambda: any("finding" in claim for claim in _claims(folder)))


def _word_and_say(page: Page, folder: Path) -> None:
    _press(page, "Alt+3")
    title = page.get_by_label("The claim, one plain sentence")
    title.fill(f"Two bars, one pull {MARKUP}.")
    title.press("Enter")
    comes_true(page, lambda: _claims(folder)[0]["title"].startswith("Two bars, one pull"))
    # The browser's test microphone beeps once a second.
    page.get_by_role("button", name="Record it", exact=True).click()
    end = page.get_by_role("button", name="■ End the take")
    end.wait_for()
    page.wait_for_timeout(1_200)
    end.click()
    comes_true(page, lambda: "take" in _claims(folder)[0])


def _film(page: Page, folder: Path) -> None:
    settings = folder / "essay.toml"
    settings.write_text(
        settings.read_text() + "\n[film]\nwidth = 320\nheight = 180\nframes_per_second = 24\n"
    )
    _press(page, "Alt+4")
    expect(page.get_by_text("320 × 180 px")).to_be_visible()
    parts = page.get_by_role("group", name="Parts to make")
    for box in parts.get_by_role("checkbox").all():
        box.uncheck()
    parts.get_by_label("Film with sound, chapters and captions").check()
    parts.get_by_label("Script, and the same for a prompter").check()
    page.get_by_role("button", name="Make it").click()
    expect(page.get_by_role("link", name="film.mp4")).to_be_visible()
    with av.open(str(folder / "out" / "film.mp4"), "r") as film:
        (picture,) = film.streams.video
        assert (picture.width, picture.height) == (320, 180)
        assert film.streams.audio
        assert next(film.decode(picture)) is not None
    assert "Two bars, one pull" in (folder / "out" / "script.md").read_text()


def _answer(page: Page, keys: str, text: str) -> None:
    """Open a dialog by its key, and answer it by keyboard."""
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


def _bars(folder: Path) -> int:
    passage = read_tab((folder / "passage.tab").read_text()).passage
    return len(passage.bars) if passage else 0


def _claims(folder: Path) -> list[dict[str, str]]:
    path = folder / "claims.toml"
    return tomllib.loads(path.read_text())["claim"] if path.exists() else []
