"""Written values let the eye see the beat, wherever a note or rest lies in its bar."""

from fractions import Fraction
from itertools import accumulate, pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from riffract.formats.musicxml.writing.bar_edges import BarEdges, bar_edges
from riffract.formats.musicxml.writing.note_values import NoteValue
from riffract.formats.musicxml.writing.tuplet_cuts import tuplet_cuts
from riffract.formats.musicxml.writing.values_in_bar import values_in_bar
from riffract.music import Metre, bars_in_row

LETTERS = {"whole": "w", "half": "h", "quarter": "q", "eighth": "e", "16th": "s"}


def edges_of(groups: tuple[int, ...], unit: int) -> BarEdges:
    [bar] = bars_in_row([(Metre(groups=groups, unit=unit), None, 1)])
    return bar_edges(bar)


def letters(values: tuple[NoteValue, ...]) -> str:
    return " ".join(LETTERS[value.kind] + "." * value.dots for value in values)


# Common practice, as Gould, Behind Bars (2011), has it; from memory. Times in quarters.
NOTES = [
    pytest.param((4,), 4, "3/2", "4", "e h", id="4/4: the middle of the bar is seen"),
    pytest.param((4,), 4, "1", "5/2", "q e", id="4/4: no dotted quarter on the second beat"),
    pytest.param((4,), 4, "1/2", "3/2", "q", id="4/4: eighth, quarter, eighth"),
    pytest.param((4,), 4, "1/2", "2", "q.", id="4/4: eighth, dotted quarter"),
    pytest.param((4,), 4, "1/2", "5/2", "q. e", id="4/4: a syncopation over the middle is tied"),
    pytest.param((4,), 4, "1", "3", "h", id="4/4: quarter, half, quarter"),
    pytest.param((4,), 4, "3/4", "5/4", "s s", id="4/4: a sixteenth over a beat is tied"),
    pytest.param((4,), 4, "1/4", "2", "e. q", id="4/4: first the rest of the beat"),
    pytest.param((3,), 4, "0", "3", "h.", id="3/4: the whole bar"),
    pytest.param((3, 2), 4, "0", "5", "h. h", id="5/4 = 3+2: the groups"),
    pytest.param((3, 2), 4, "2", "4", "q q", id="5/4 = 3+2: nothing over the edge"),
    pytest.param((6,), 8, "0", "2", "q. e", id="6/8: no half"),
    pytest.param((6,), 8, "0", "3", "h.", id="6/8: the whole bar"),
    pytest.param((6,), 8, "1", "2", "e e", id="6/8: no quarter over the edge"),
    pytest.param((2, 2, 3), 8, "0", "7/2", "h q.", id="7/8 = 2+2+3: the whole bar"),
    pytest.param((3, 2, 2), 8, "0", "5/2", "q. q", id="7/8 = 3+2+2: not half and eighth"),
    pytest.param((2, 2, 3), 8, "1", "7/2", "q q.", id="7/8 = 2+2+3: groups of unlike length"),
    pytest.param((3, 3, 3, 2), 8, "0", "11/2", "h. q. q", id="11/8: the whole bar"),
]


@pytest.mark.parametrize(("groups", "unit", "start", "end", "said"), NOTES)
def test_notes_are_cut_as_common_practice_has_it(
    groups: tuple[int, ...], unit: int, start: str, end: str, said: str
) -> None:
    edges = edges_of(groups, unit)
    values = values_in_bar(Fraction(start), Fraction(end), edges, is_rest=False)
    assert letters(values) == said


# Common practice: rests are not syncopated; from memory.
RESTS = [
    pytest.param((4,), 4, "0", "2", "h", id="half a bar of 4/4"),
    pytest.param((4,), 4, "1", "3", "q q", id="4/4: none over the middle"),
    pytest.param((4,), 4, "1", "4", "q h", id="4/4: three beats"),
    pytest.param((3,), 4, "0", "2", "q q", id="3/4: no half"),
    pytest.param((12,), 8, "0", "3", "q. q.", id="12/8: beat by beat"),
    pytest.param((2, 2, 3), 8, "0", "2", "q q", id="7/8 = 2+2+3: group by group"),
]


@pytest.mark.parametrize(("groups", "unit", "start", "end", "said"), RESTS)
def test_rests_are_cut_as_common_practice_has_it(
    groups: tuple[int, ...], unit: int, start: str, end: str, said: str
) -> None:
    edges = edges_of(groups, unit)
    assert letters(values_in_bar(Fraction(start), Fraction(end), edges, is_rest=True)) == said


metres = st.tuples(
    st.lists(st.integers(1, 5), min_size=1, max_size=5).map(tuple), st.sampled_from([2, 4, 8, 16])
)


@given(metres, st.sampled_from([1, 2, 3, 4, 8, 12]), st.data(), st.booleans())
def test_values_fill_the_stretch_exactly(
    metre: tuple[tuple[int, ...], int], grid: int, data: st.DataObject, is_rest: bool
) -> None:
    edges = edges_of(*metre)
    last = int(edges.groups[-1] * grid)
    if last < 1:
        return
    start = data.draw(st.integers(0, last - 1))
    end = data.draw(st.integers(start + 1, last))
    values = values_in_bar(Fraction(start, grid), Fraction(end, grid), edges, is_rest=is_rest)
    assert sum(value.quarters for value in values) == Fraction(end - start, grid)


@given(metres, st.data())
def test_a_value_that_begins_off_a_group_of_eighths_never_passes_into_the_next(
    metre: tuple[tuple[int, ...], int], data: st.DataObject
) -> None:
    groups, unit = metre
    if unit < 8 or max(groups) < 2 or len(groups) < 2:
        return
    edges = edges_of(groups, unit)
    last = int(edges.groups[-1] * 8)
    start = Fraction(data.draw(st.integers(0, last - 1)), 8)
    end = data.draw(st.integers(int(start * 8) + 1, last))
    now = start
    for value in values_in_bar(start, Fraction(end, 8), edges, is_rest=False):
        inside = [edge for edge in edges.groups if now < edge < now + value.quarters]
        assert not inside or now in edges.groups
        now += value.quarters


# Common practice: a tuplet ends where its last part does; what sounds on is tied; from memory.
# Lengths in quarters, one behind the other from the bar's start, and where they are cut.
TUPLETS = [
    pytest.param((2, 2, 3), 8, "1 1/3 1/3 5/6 1/2", "2", id="7/8: the last of three is tied on"),
    pytest.param((2, 2, 3), 8, "2 1/3 1/3 5/6", "3", id="7/8: within the group of three"),
    pytest.param((4,), 4, "1/2 5/6 1/3 1/3 2", "1", id="4/4: tied into a triplet"),
    pytest.param((4,), 4, "1/2 5/6 1/3 5/6 3/2", "1 2", id="4/4: tied into and out of one"),
    pytest.param((4,), 4, "1/3 1/3 2/3 1/3 1/3 2", "1", id="4/4: two triplets, tied"),
    pytest.param((4,), 4, "1/3 1/3 4/3 2", "1", id="4/4: out of a triplet, a quarter"),
    pytest.param((4,), 4, "2/3 5/6 5/2", "1", id="4/4: long and short, tied to an eighth"),
    pytest.param((4,), 4, "2/3 2/3 2/3 2", "", id="4/4: three quarters in a half"),
    pytest.param((4,), 4, "2/3 2/3 5/3 1", "2", id="4/4: of three quarters the last tied on"),
    pytest.param((4,), 4, "2/3 4/3 2", "", id="4/4: a quarter and a half in a half"),
    pytest.param((4,), 4, "4/3 4/3 4/3", "", id="4/4: three halves in a bar"),
    pytest.param((4,), 4, "1/6 1/6 1/3 1/3 3", "", id="4/4: sixteenths and eighths in a beat"),
    pytest.param((4,), 4, "2/5 2/5 2/5 2/5 2/5 2", "", id="4/4: five in a half"),
    pytest.param((4,), 4, "1/5 1/5 1/5 1/5 6/5 2", "1", id="4/4: five in a quarter, tied on"),
    pytest.param((3, 3), 8, "1/6 1/6 7/6 3/2", "1/2", id="6/8: three sixteenths, tied on"),
]


@pytest.mark.parametrize(("groups", "unit", "lengths", "cut"), TUPLETS)
def test_tuplets_end_with_their_last_part(
    groups: tuple[int, ...], unit: int, lengths: str, cut: str
) -> None:
    moments = [Fraction(0), *accumulate(map(Fraction, lengths.split()))]
    cuts = tuplet_cuts(list(pairwise(moments)), edges_of(groups, unit))
    assert sorted(cuts) == [Fraction(moment) for moment in cut.split()]
