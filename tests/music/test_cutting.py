"""Cutting bars out of a passage. The laws are common practice: a bar cut out sounds as it did."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.publish_fakes import small_passage

from riffract.music import Passage, TempoMark, TimeMap, cut

PASSAGE = small_passage()


def seconds(passage: Passage) -> TimeMap:
    return TimeMap.from_tempos(passage.tempos, passage.length_quarters)


@given(st.integers(1, 4), st.integers(1, 4))
def test_cut_bars_hold_the_notes_that_start_in_them_and_no_others(one, other):
    first, last = sorted((one, other))
    whole = {
        (note.onset_quarters, note.string, note.fret)
        for note in PASSAGE.notes
        if first <= PASSAGE.bar_at(note.onset_quarters).number <= last
    }
    start = PASSAGE.bars[first - 1].start_quarters
    part = cut(PASSAGE, first, last)
    assert {(n.onset_quarters + start, n.string, n.fret) for n in part.notes} == whole


@given(st.integers(1, 4), st.integers(1, 4))
def test_places_keep_their_bar_numbers(one, other):
    first, last = sorted((one, other))
    part = cut(PASSAGE, first, last)
    start = PASSAGE.bars[first - 1].start_quarters
    assert [bar.number for bar in part.bars] == list(range(first, last + 1))
    for note in part.notes:
        assert part.place(note.onset_quarters) == PASSAGE.place(note.onset_quarters + start)


def test_nothing_rings_beyond_the_cut():
    part = cut(PASSAGE, 1, 1)
    assert max(n.ring_end_quarters for n in part.notes) <= part.length_quarters


def test_cutting_everything_changes_nothing():
    assert cut(PASSAGE, 1, 4) == PASSAGE


def test_cutting_twice_is_cutting_once():
    assert cut(cut(PASSAGE, 2, 4), 3, 4) == cut(PASSAGE, 3, 4)


def test_a_section_is_cut_where_the_bars_are():
    (section,) = cut(PASSAGE, 2, 3).sections
    assert (section.label, section.span) == ("A", cut(PASSAGE, 2, 3).span)


@pytest.mark.parametrize("first", [1, 2, 3])
def test_a_steady_change_of_tempo_is_cut_through(first):
    marks = (
        TempoMark(at_quarters=Fraction(2), quarters_per_minute=90.0, is_ramp=True),
        TempoMark(at_quarters=Fraction(11), quarters_per_minute=150.0),
    )
    start = TempoMark(at_quarters=Fraction(0), quarters_per_minute=120.0)
    whole = replace(PASSAGE, tempos=(start, *marks))
    part = cut(whole, first, 3)
    moved = PASSAGE.bars[first - 1].start_quarters
    length = seconds(whole).seconds_at(moved + part.length_quarters)
    expected = length - seconds(whole).seconds_at(moved)
    # A ramp is followed in short straight pieces, and the cut lays them differently.
    assert seconds(part).seconds_at(part.length_quarters) == pytest.approx(expected, abs=1e-3)


@pytest.mark.parametrize(("first", "last"), [(0, 2), (3, 2), (1, 5)])
def test_bars_that_are_not_there_cannot_be_cut(first, last):
    with pytest.raises(ValueError, match="bars lie between 1 and 4"):
        cut(PASSAGE, first, last)
