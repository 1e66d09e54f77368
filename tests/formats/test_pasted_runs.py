"""Rows of palm mute with more than one run of dashes, as common practice draws them."""

from fractions import Fraction

import pytest

from riffract.formats.pasted import read_pasted_tab
from riffract.music import Technique

ROWS = """\
e|-------------------------|
B|-------------------------|
G|-------------------------|
D|-------------------------|
A|---------3-5-------------|
E|-0-0-0-0-----0-0-0-0-0-0-|
"""


@pytest.mark.parametrize(
    "drawn",
    [
        "P.M. -----     ----------",
        "PM - - - -     - - - - - -",
        "pm........     ..........",
    ],
)
def test_notes_between_two_runs_are_not_muted(drawn: str):
    passage = read_pasted_tab(f"{drawn}\n{ROWS}", grid=Fraction(1, 4)).passage
    assert passage is not None
    muted = [Technique.PALM_MUTE in note.techniques for note in passage.notes]
    assert [m for m, note in zip(muted, passage.notes, strict=True) if note.string == 5] == [
        False,
        False,
    ]
    assert sum(muted) >= 9
