"""Riffs made of a rhythm and of a row of pitches that turn through one another.

Talea and color of the isorhythmic motet are common practice; the music is made up, and what is
planted in it is the expectation.
"""

from fractions import Fraction
from math import lcm

import numpy as np
import pytest
from tests.making import Spelled, passage

from riffract.analysis.attacks import attacks_of
from riffract.analysis.finding import Finding, Passes
from riffract.analysis.passes import isorhythm
from riffract.analysis.passes.find import find_passes
from riffract.music import Metre, Passage

SIXTEENTHS = (2, 1, 1, 3, 2, 1, 4, 1, 2, 3)
ROW = (43, 50, 45, 52, 47, 54, 42, 49, 56, 46, 51)
FIVE = Metre(groups=(5,), unit=8)


def turning(talea: int, color: int, times: int) -> list[Spelled]:
    """Let a rhythm and a row go round until both have met so many times."""
    return [
        (ROW[k % color], Fraction(SIXTEENTHS[k % talea], 4))
        for k in range(times * lcm(talea, color))
    ]


def told(music: Passage) -> dict[str, Finding]:
    found = find_passes(music, attacks_of(music))
    return {f.what.of: f for f in found if isinstance(f.what, Passes)}


def passes_of(finding: Finding) -> int:
    assert isinstance(finding.what, Passes)
    return len(finding.what.readings[0].passes)


@pytest.mark.parametrize(
    ("talea", "color", "times"),
    [(6, 9, 3), (4, 6, 3), (4, 7, 3), (6, 10, 2), (10, 4, 3), (9, 6, 3)],
)
def test_the_rhythm_and_the_row_are_told_beside_the_riff_that_they_make_up(talea, color, times):
    found = told(passage(turning(talea, color, times), metres=[FIVE]))
    whole = lcm(talea, color)
    assert set(found) == {"notes", "rhythm", "pitches"}
    assert passes_of(found["rhythm"]) == times * whole // talea
    assert passes_of(found["pitches"]) == times * whole // color


def test_both_are_told_in_words():
    found = told(passage(turning(6, 9, 3), metres=[FIVE]))
    assert found["notes"].sentence == "The riff is played three times, each time the same."
    assert found["rhythm"].sentence == (
        "The rhythm of six strokes from bar 1 comes back eight times, while a row of nine pitches "
        "turns through it."
    )
    assert found["pitches"].sentence == (
        "The row of nine pitches from bar 1 comes back five times, turning through a rhythm of six "
        "strokes."
    )
    assert "6 attacks turn through 9: they meet again after 18." in found["rhythm"].detail


def test_a_changed_note_and_other_music_before_it_hide_neither():
    line = turning(6, 9, 3)
    line[31] = (60, line[31][1])
    before: list[Spelled] = [(61, "1"), (59, "1/2"), (62, "3/4"), (58, "1/4")]
    found = told(passage([*before, *line], metres=[FIVE]))
    assert passes_of(found["rhythm"]) == 9
    assert passes_of(found["pitches"]) == 6


@pytest.mark.parametrize("changed", ["the rhythm", "the row"])
def test_where_one_of_them_does_not_go_round_within_the_riff_neither_is_told(changed):
    rng = np.random.default_rng(3)
    line = turning(6, 9, 1)
    if changed == "the rhythm":
        line = [(pitch, Fraction(int(rng.integers(1, 4)), 4)) for pitch, _ in line]
    else:
        line = [(int(rng.integers(40, 60)), value) for _, value in line]
    assert set(told(passage(line * 3, metres=[FIVE]))) == {"notes"}


@pytest.mark.parametrize("values", [(1,), (1, 2), (1, 1, 1, 2)])
def test_random_riffs_that_come_back_are_no_isorhythm(values):
    # At most 2^-2 of them would save the two bits asked for in one part, and both must.
    rng = np.random.default_rng(len(values))
    for _ in range(40):
        riff = [
            (int(rng.choice((35, 35, 35, 40, 42))), Fraction(int(rng.choice(values)), 4))
            for _ in range(12)
        ]
        assert "pitches" not in told(passage(riff * 4, metres=[FIVE]))


@pytest.mark.parametrize(
    ("name", "value"),
    [("PART_BITS", 1.0), ("PART_BITS", 4.0), ("SHORTEST_PART", 2), ("SHORTEST_PART", 6)],
)
def test_other_thresholds_do_not_change_what_is_told(monkeypatch, name, value):
    monkeypatch.setattr(isorhythm, name, value)
    found = told(passage(turning(6, 9, 3), metres=[FIVE]))
    assert [passes_of(found[of]) for of in ("notes", "rhythm", "pitches")] == [3, 9, 6]
