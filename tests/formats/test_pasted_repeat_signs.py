"""Signs of a repeat in some rows only, as common practice draws them."""

from fractions import Fraction

import pytest

from riffract.formats.pasted import read_pasted_tab

STARS = """\
e||-----------------||
B||o---------------o||
G||-----------------||
D||*-2-2-4-4-5-5-4-*||
A||--0-0-2-2-3-3-2--||
E||-----------------||
"""
OPEN_ONLY = """\
e||o---------------|
B||----------------|
G||*---------------|
D||*-2-2-4-4-5-5-4-|
A||--0-0-2-2-3-3-2-|
E||o---------------|
"""
COLONS = """\
e|----------------|
B|----------------|
G|:--------------:|
D|:-2-2-4-4-5-5-4:|
A|--0-0-2-2-3-3-2-|
E|----------------|
"""


@pytest.mark.parametrize("mail", [STARS, OPEN_ONLY, COLONS])
def test_numbers_in_one_column_sound_together_beside_a_sign(mail: str):
    read = read_pasted_tab(mail, grid=Fraction(1, 4))
    assert read.passage is not None
    starts: dict[Fraction, list[int]] = {}
    for note in read.passage.notes:
        starts.setdefault(note.onset_quarters, []).append(note.fret)
    once = list(starts.values())[:7]
    assert [sorted(frets) for frets in once] == [
        [0, 2],
        [0, 2],
        [2, 4],
        [2, 4],
        [3, 5],
        [3, 5],
        [2, 4],
    ]
    assert not [p for p in read.problems if "columns wide" in p.what]
