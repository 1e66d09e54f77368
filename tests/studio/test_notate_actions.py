"""The Notate desk without a server: what is asked for, and what the essay's files say then."""

import asyncio
import shutil
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from threading import Event
from typing import Any

import pytest
from tests.studio.opened import demo_essay

from riffract.studio.desks.notate import Do, Pasted, Seen, actions
from riffract.studio.journal import Journal
from riffract.studio.notation.verbs import At, Chosen, Wanted
from riffract.studio.problems import RefusedError
from riffract.studio.studio import Studio

MAILED = """\
e|-----------------|
B|-----------------|
G|-----------------|
D|-----2---2-------|
A|---2---2---2-----|
E|-0-----------0---|
"""

HERE = At(bar=1, offset="0", string=1)


class Desk:
    """The desk's actions over an essay in a folder."""

    def __init__(self, folder: Path, state: Path) -> None:
        self.folder = folder
        self.studio = Studio(state=state)
        self.studio.open(folder)
        self.known = actions(self.studio)

    def ask(self, name: str, asked: Any) -> Any:
        return self.known[name].act(asked)

    def do(self, verb: str, at: At = HERE, **more: Any) -> Any:
        return self.ask("notate.do", Do(wanted=Wanted(verb=verb, at=at, **more)))

    def text(self) -> str:
        return self.studio.open_document.texts["passage.tab"]


def at_desk(tmp_path: Path, use: Callable[[Desk], None]) -> None:
    """Use the desk inside of a loop, as the server does."""

    async def run() -> None:
        desk = Desk(demo_essay(tmp_path / "tide"), tmp_path / "state")
        try:
            use(desk)
        finally:
            desk.studio.close()

    # A browser's driver may have left its own loop in this thread.
    with ThreadPoolExecutor(max_workers=1) as thread:
        thread.submit(lambda: asyncio.run(run())).result()


def test_a_key_changes_the_text_before_anything_else_is_asked_of_it(tmp_path: Path):
    def use(desk: Desk) -> None:
        before = desk.text()
        answer = desk.do("fret", number=7)
        assert "fret 7" in answer["said"]
        after = desk.text()
        assert after != before
        desk.studio.open_document.undo()
        assert desk.text() == before
        assert desk.ask("notate.look", Seen())["sheet"].bars[0].notes[0].fret != "7"

    at_desk(tmp_path, use)


KEYS: list[tuple[str, At, dict[str, Any]]] = [
    ("fret", HERE, {"number": 7}),
    ("toggle", HERE, {"text": "palm_mute"}),
    ("value", HERE, {"value": "q"}),
    ("insert bar", At(bar=3, offset="0", string=1), {"number": 1}),
]


@pytest.mark.parametrize(("verb", "at", "more"), KEYS)
def test_a_key_outlives_the_app_once_it_is_shown(
    verb: str, at: At, more: dict[str, Any], tmp_path: Path
):
    def use(desk: Desk) -> None:
        desk.do("fret", number=5)
        first = desk.text()
        desk.do(verb, at, **more)
        # The process ends here: the text is not written down, and no file is saved.
        crashed = tmp_path / "crashed"
        shutil.copytree(desk.folder, crashed)
        wanted = desk.text()
        assert wanted != first
        after = Studio(state=tmp_path / "after")
        after.open(crashed)
        document = after.open_document
        assert document.texts["passage.tab"] == wanted
        document.undo()
        assert document.texts["passage.tab"] == first
        after.close()

    at_desk(tmp_path, use)


@pytest.mark.parametrize(
    ("verb", "more"),
    [("erase", {}), ("toggle", {"text": "palm_mute"}), ("transpose", {"number": 1})],
)
def test_without_a_selection_only_the_note_at_the_cursor_is_changed(
    verb: str, more: dict[str, Any], tmp_path: Path
):
    def use(desk: Desk) -> None:
        first, second = (At(bar=1, offset=offset, string=1) for offset in ("0", "1/2"))
        for at in (first, second):
            desk.do("fret", at, number=7, value="e")
        before = _note(desk, second)
        # A value that is chosen to be entered next reaches behind the note that is there.
        desk.do(verb, first, value="w", **more)
        assert _note(desk, second) == before

    at_desk(tmp_path, use)


def _note(desk: Desk, at: At) -> Any:
    bar = desk.ask("notate.look", Seen())["sheet"].bars[at.bar - 1]
    found = (n for n in bar.notes if n.offset == at.offset and n.string == at.string)
    return next((n.fret, n.value, n.techniques) for n in found)


def test_a_key_is_brought_to_the_disk_while_it_is_answered(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    def use(desk: Desk) -> None:
        synced = Event()
        monkeypatch.setattr(Journal, "sync", lambda _journal: synced.set())
        desk.do("fret", number=7)
        assert synced.wait(60), "only its step was, a moment later"

    at_desk(tmp_path, use)


def test_files_are_saved_though_somebody_never_stops_writing(tmp_path: Path):
    async def run() -> None:
        desk = Desk(demo_essay(tmp_path / "tide"), tmp_path / "state")
        file = desk.folder / "passage.tab"
        before = file.read_text()
        keeping = asyncio.create_task(desk.studio.keep_files())
        for key in range(60):
            desk.do("fret", number=key % 9)
            await asyncio.sleep(0.02)
            if file.read_text() != before:
                break
        assert file.read_text() != before
        keeping.cancel()
        desk.studio.close()

    with ThreadPoolExecutor(max_workers=1) as thread:
        thread.submit(lambda: asyncio.run(run())).result()


def test_what_was_begun_on_another_text_is_left(tmp_path: Path):
    def use(desk: Desk) -> None:
        desk.do("fret", number=5)
        crashed = tmp_path / "crashed"
        shutil.copytree(desk.folder, crashed)
        changed = desk.text().replace("title:", "title: Another", 1)
        assert changed != desk.text()
        (crashed / "passage.tab").write_text(changed)
        after = Studio(state=tmp_path / "after")
        after.open(crashed)
        assert after.open_document.texts["passage.tab"] == changed
        after.close()

    at_desk(tmp_path, use)


def test_a_page_that_has_the_pictures_is_sent_only_what_changed(tmp_path: Path):
    def use(desk: Desk) -> None:
        first = desk.ask("notate.look", Seen())["sheet"]
        again = desk.ask("notate.look", Seen(has=first.number))["sheet"]
        assert first.pictures
        assert not again.pictures
        assert not again.bars
        assert (again.since, again.count) == (first.number, len(first.bars))

    at_desk(tmp_path, use)


def test_each_page_has_the_colours_that_it_asks_for(tmp_path: Path):
    def use(desk: Desk) -> None:
        dark = desk.ask("notate.look", Seen(look="dark"))["sheet"]
        light = desk.ask("notate.look", Seen(look="paper"))["sheet"]
        assert not {bar.key for bar in dark.bars.values()} & {b.key for b in light.bars.values()}

    at_desk(tmp_path, use)


def test_what_is_cut_can_be_put_in_elsewhere(tmp_path: Path):
    def use(desk: Desk) -> None:
        sheet = desk.ask("notate.look", Seen())["sheet"]
        bar = sheet.bars[0]
        chosen = Chosen(start="0", end=bar.length)
        cut = Do(wanted=Wanted(verb="cut", at=HERE, chosen=chosen))
        assert not desk.ask("notate.copy", cut)["sheet"].bars[0].notes
        pasted = desk.ask("notate.paste", Do(wanted=Wanted(verb="paste", at=HERE)))
        assert pasted["sheet"].bars[0].notes == bar.notes

    at_desk(tmp_path, use)


def test_nothing_copied_is_told(tmp_path: Path):
    def use(desk: Desk) -> None:
        with pytest.raises(RefusedError, match="nothing was copied yet"):
            desk.ask("notate.paste", Do(wanted=Wanted(verb="paste", at=HERE)))

    at_desk(tmp_path, use)


def test_a_text_that_cannot_be_read_leaves_the_picture_and_says_where(tmp_path: Path):
    def use(desk: Desk) -> None:
        notes = len(desk.ask("notate.look", Seen())["sheet"].bars[0].notes)
        broken = desk.text().replace("tuning:", "tuning: H9", 1)
        desk.studio.open_document.change("typed", {"passage.tab": broken})
        answer = desk.ask("notate.look", Seen())
        assert answer["is_broken"]
        assert answer["problems"][0]["line"] > 0
        assert len(answer["sheet"].bars[0].notes) == notes
        with pytest.raises(RefusedError, match="cannot be read"):
            desk.do("fret", number=3)
        assert desk.text() == broken

    at_desk(tmp_path, use)


def test_a_tab_from_a_mail_takes_the_place_of_the_passage_and_undo_gives_it_back(tmp_path: Path):
    def use(desk: Desk) -> None:
        before = desk.text()
        desk.ask("notate.pasted", Pasted(text=MAILED))
        sheet = desk.ask("notate.look", Seen())["sheet"]
        played = [(n.string, n.fret) for bar in sheet.bars.values() for n in bar.notes]
        assert played == [(6, "0"), (5, "2"), (4, "2"), (5, "2"), (4, "2"), (5, "2"), (6, "0")]
        desk.studio.open_document.undo()
        assert desk.text() == before

    at_desk(tmp_path, use)


def test_words_that_are_no_tab_are_refused_and_change_nothing(tmp_path: Path):
    def use(desk: Desk) -> None:
        before = desk.text()
        with pytest.raises(RefusedError):
            desk.ask("notate.pasted", Pasted(text="see you on Friday\n"))
        assert desk.text() == before

    at_desk(tmp_path, use)


def test_one_goes_on_on_the_string_on_which_one_was(tmp_path: Path):
    def use(desk: Desk) -> None:
        on_five = At(bar=2, offset="0", string=5)
        assert desk.do("section", at=on_five, text="Verse")["cursor"]["string"] == 5
        two_bars = Chosen(start="0", end="4")
        assert desk.do("tuplet", at=on_five, chosen=two_bars, text="3:2")["cursor"]["string"] == 5
        desk.do("erase", chosen=Chosen(start="0", end="20"))
        desk.do("fret", at=on_five, number=9)
        assert desk.do("strings", at=on_five, number=-1)["cursor"]["string"] == 4

    at_desk(tmp_path, use)


def test_a_bar_in_which_nothing_sounds_follows_a_new_metre(tmp_path: Path):
    def use(desk: Desk) -> None:
        desk.do("insert bar", at=HERE, number=0)
        answer = desk.do("metre", at=HERE, text="9/8 = 3+3+3")
        first, second = answer["sheet"].bars[0], answer["sheet"].bars[1]
        assert (first.length, first.fault) == ("9/2", "")
        assert second.fault, "notes are not stretched or cut unasked"

    at_desk(tmp_path, use)
