"""Where a place of the passage stands in its text: the fret that is written there is the oracle."""

from fractions import Fraction
from importlib.resources import files

import pytest

from riffract.essay.draft import Draft, read_draft
from riffract.music import Note
from riffract.studio.notation.text_place import PicturePlace, picture_place, text_place
from riffract.studio.worker import Report

TEXT = """\
title: Tide
tuning: E2 A2 D3 G3 B3 E4
metre: 4/4
tempo: q = 120

time | q  q  h |
E4   |---------|
B3   |-5-------|
G3   |----12---|
D3   |---------|
A2   |---------|
E2   |-0-------|
"""


def quiet(*_told: object) -> None:
    """Tell nobody."""


REPORT: Report = quiet


@pytest.mark.parametrize(
    ("offset", "string", "line", "column", "is_exact"),
    [
        (Fraction(0), 2, 8, 8, True),
        (Fraction(0), 6, 12, 8, True),
        (Fraction(0), 1, 7, 8, True),
        (Fraction(1), 3, 9, 11, True),
        (Fraction(2), 3, 9, 14, True),
        (Fraction(1, 2), 2, 8, 10, False),
        (Fraction(3), 6, 12, 15, False),
    ],
)
def test_a_place_is_found_by_row_and_column(offset, string, line, column, is_exact):
    place = text_place(REPORT, TEXT, 1, offset, string)
    assert place is not None
    assert (place.line, place.column, place.is_exact) == (line, column, is_exact)


def test_every_fret_of_the_built_in_essay_stands_where_it_is_found():
    text = (files("riffract.demo") / "passage.tab").read_text(encoding="utf-8")
    draft = read_draft(text).draft
    assert draft is not None
    rows, passage = text.splitlines(), draft.passage
    for note in passage.notes:
        bar = passage.bar_at(note.onset_quarters)
        offset = note.onset_quarters - bar.start_quarters
        place = text_place(REPORT, text, bar.number, offset, note.string)
        assert place is not None
        assert place.is_exact
        written = rows[place.line - 1][place.column - 1 :]
        assert picture_place(REPORT, text, place.line, place.column) in _passes(draft, note)
        assert written.startswith((str(note.fret), "x", "h", "p", "<", "("))


def test_what_is_not_there_has_no_place():
    assert text_place(REPORT, "title: x\nnonsense", 1, Fraction(0), 1) is None
    assert text_place(REPORT, TEXT, 9, Fraction(0), 1) is None


@pytest.mark.parametrize(
    ("line", "column", "place"),
    [
        pytest.param(8, 8, ("0", 2), id="on a fret"),
        pytest.param(9, 12, ("1", 3), id="behind its first figure"),
        pytest.param(12, 15, ("2", 6), id="on a rest"),
        pytest.param(6, 11, ("1", 1), id="on the time row"),
        pytest.param(10, 1, ("0", 4), id="on a label"),
    ],
)
def test_a_place_of_the_text_is_one_of_the_passage(line: int, column: int, place: tuple[str, int]):
    found = picture_place(REPORT, TEXT, line, column)
    assert found is not None
    assert (found.bar, found.offset, found.string) == (1, *place)


def test_words_beside_the_music_are_no_place_of_it():
    assert picture_place(REPORT, TEXT, 1, 3) is None
    assert picture_place(REPORT, "nonsense", 1, 1) is None


def _passes(draft: Draft, note: Note) -> list[PicturePlace]:
    """Name the places of a note: a bar that is written once may be played several times."""
    home = draft.passage.bar_at(note.onset_quarters)
    offset = str(note.onset_quarters - home.start_quarters)
    return [
        PicturePlace(bar=bar.number, offset=offset, string=note.string)
        for bar in draft.passage.bars
        if bar.written_number == home.written_number
    ]
