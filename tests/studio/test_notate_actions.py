"""The Notate desk without a server: what is asked for, and what the essay's files say then."""

import asyncio
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
from tests.studio.opened import demo_essay

from riffract.studio.desks.notate import Do, Pasted, Seen, actions
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


def test_a_page_that_has_the_pictures_is_sent_only_what_changed(tmp_path: Path):
    def use(desk: Desk) -> None:
        first = desk.ask("notate.look", Seen())["sheet"]
        again = desk.ask("notate.look", Seen(known=tuple(first.pictures)))["sheet"]
        assert first.pictures
        assert not again.pictures
        assert again.bars == first.bars

    at_desk(tmp_path, use)


def test_each_page_has_the_colours_that_it_asks_for(tmp_path: Path):
    def use(desk: Desk) -> None:
        dark = desk.ask("notate.look", Seen(look="dark"))["sheet"]
        light = desk.ask("notate.look", Seen(look="paper"))["sheet"]
        assert not {bar.key for bar in dark.bars} & {bar.key for bar in light.bars}

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
        played = [(n.string, n.fret) for bar in sheet.bars for n in bar.notes]
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
