"""Every example on the page about pasted tab is read as the page says."""

import re
from fractions import Fraction
from pathlib import Path

import pytest

from riffract.formats.pasted import Grid, is_pasted_tab, read_pasted_tab
from riffract.formats.tab import read_tab
from riffract.music import Passage

PAGE = (Path(__file__).parents[2] / "docs" / "pasted-tab.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"```(mail|text|tab)([^\n]*)\n(.*?)```", PAGE, re.DOTALL)


def grid_of(word: str) -> Grid | None:
    word = word.strip()
    if not word:
        return None
    return "bars" if word == "bars" else 4 * Fraction(word)


def pairs(kind: str) -> list[tuple[str, str, str]]:
    """List mail, grid and what stands below it."""
    found = []
    mail = ""
    for name, grid, body in BLOCKS:
        if name == "mail":
            mail = body
        elif name == kind:
            found.append((mail, grid, body))
    return found


def music(passage: Passage | None) -> list[tuple[object, ...]]:
    assert passage is not None
    return [
        (n.onset_quarters, n.duration_quarters, n.string, n.fret, n.pitch, n.techniques, n.bend)
        for n in passage.notes
    ]


@pytest.mark.parametrize(("mail", "grid", "messages"), pairs("text"))
def test_the_messages_are_those_on_the_page(mail, grid, messages):
    assert is_pasted_tab(mail)
    result = read_pasted_tab(mail, grid=grid_of(grid))
    assert "\n".join(p.text("mail.txt") for p in result.problems) == messages.strip()


@pytest.mark.parametrize(("mail", "grid", "tab"), pairs("tab"))
def test_the_passage_is_the_one_on_the_page(mail, grid, tab):
    passage = read_pasted_tab(mail, grid=grid_of(grid)).passage
    written = read_tab(tab)
    assert [p.text("tab") for p in written.problems] == []
    assert written.passage is not None
    assert passage is not None
    assert music(passage) == music(written.passage)
    assert [b.metre for b in passage.bars] == [b.metre for b in written.passage.bars]
    assert passage.sections == written.passage.sections
    assert passage.proposed == written.passage.proposed


def test_each_sign_of_the_table_is_read_without_a_warning():
    table = PAGE.split("## Signs")[1].split("**Digits")[0]
    signs = re.findall(r"`([^`]*[0-9x][^`]*)`", table)
    assert len(signs) > 25
    for sign in signs:
        width = "-" * len(sign)
        mail = "".join(f"{name}|-{width}---|\n" for name in "GDA") + f"E|-{sign}---|\n"
        result = read_pasted_tab(f"tempo: 90\n{mail}", grid=Fraction(1, 2))
        assert [p.what for p in result.problems if "time is" not in p.what] == [], sign
