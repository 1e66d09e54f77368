"""Laws of mirrors: what may change in a passage without changing its mirrors, and how.

Transposition, a slower pace and another string at the same pitch are the invariances that theory
gives (Straus, Introduction to Post-Tonal Theory, from memory; common practice for the strings).
"""

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.found_mirrors import mirrors_in, nearest, of_kind
from tests.making import Spelled, passage
from tests.planted_mirrors import PLANTED

from riffract.analysis.attacks import attacks_of
from riffract.analysis.mirrors.find import mirror_in
from riffract.analysis.mirrors.in_time import FEWEST_CHANGES, equal_values_mirror
from riffract.analysis.mirrors.palindrome import Evidence, axes_of
from riffract.analysis.mirrors.turn import turn_of
from riffract.music import Metre, NoteTableBuilder, Passage, Technique

FOUR = Metre(groups=(4,), unit=4)
pitches = st.lists(st.integers(45, 60), min_size=6, max_size=14)
values = st.sampled_from(["1/4", "1/2", "3/4", "1"])


def summary(music: Passage, *, slower: int = 1) -> list[tuple[object, ...]]:
    """What a listener would say of the mirrors: all but the pitches themselves."""
    return [
        (
            what.of,
            what.axis_quarters / slower,
            what.core_quarters / slower,
            what.reach_quarters / slower,
            what.scale,
            what.limb_ratio,
            len(what.deviations),
        )
        for what in map(mirror_in, mirrors_in(music))
    ]


@st.composite
def riffs(draw) -> list[tuple[int, str]]:
    half = draw(st.lists(st.tuples(st.integers(45, 60), values), min_size=4, max_size=9))
    after = draw(st.lists(st.tuples(st.integers(45, 60), values), max_size=5))
    return [*half, *half[::-1], *after]


@given(riffs(), st.integers(-4, 8))
@settings(max_examples=40, deadline=None)
def test_transposing_a_passage_changes_no_mirror(line, by):
    there = passage([(p + by, v) for p, v in line], metres=[FOUR])
    assert summary(there) == summary(passage(line, metres=[FOUR]))


@given(riffs())
@settings(max_examples=40, deadline=None)
def test_doubling_all_values_changes_no_mirror(line):
    # The metre grows as well, since limbs and beats are counted against it.
    twice = Metre(groups=(4,), unit=2)
    there = passage([(p, 2 * Fraction(v)) for p, v in line], metres=[twice])
    assert summary(there, slower=2) == summary(passage(line, metres=[FOUR]))


def on_other_strings(music: Passage) -> Passage:
    """The same pitches, each on the lowest string that has it at a fret above the nut."""
    builder = NoteTableBuilder()
    for note in music.notes:
        assert note.pitch is not None
        string = next(
            s
            for s in range(music.tuning.string_count, 0, -1)
            if music.tuning.open_pitch(s) < note.pitch
        )
        builder.add(
            onset_quarters=note.onset_quarters,
            duration_quarters=note.duration_quarters,
            string=string,
            fret=note.pitch - music.tuning.open_pitch(string),
            pitch=note.pitch,
        )
    return Passage(
        title=music.title,
        tuning=music.tuning,
        bars=music.bars,
        tempos=music.tempos,
        notes=builder.build(),
    )


@given(riffs())
@settings(max_examples=25, deadline=None)
def test_moving_notes_to_other_strings_changes_nothing(line):
    music = passage(line, metres=[FOUR])
    assert summary(on_other_strings(music)) == summary(music)


@given(pitches)
def test_the_retrograde_of_the_retrograde_is_the_line(line):
    row = np.array(line)
    here = axes_of(row, Evidence.of(row))
    twice = axes_of(row[::-1][::-1], Evidence.of(row))
    assert here == twice


@given(pitches)
def test_reversing_a_row_reverses_its_axes(line):
    row = np.array(line)
    here = {(a.doubled, a.bits, a.core_pairs) for a in axes_of(row, Evidence.of(row))}
    there = {
        (2 * (len(row) - 1) - a.doubled, a.bits, a.core_pairs)
        for a in axes_of(row[::-1], Evidence.of(row))
    }
    assert {(d, c) for d, _, c in here} == {(d, c) for d, _, c in there}


@given(pitches, st.booleans())
@settings(max_examples=40, deadline=None)
def test_a_line_and_its_reverse_mirror_on_a_note_or_between_two(line, odd):
    middle: list[Spelled] = [(70, "1/2")] if odd else []
    left: list[Spelled] = [(p, "1/2") for p in line]
    music = passage([*left, *middle, *left[::-1]], metres=[FOUR])
    mirrors = [mirror_in(f) for f in of_kind(mirrors_in(music), "retrograde")]
    changes = sum(a != b for a, b in pairwise(line))
    if changes >= FEWEST_CHANGES:
        axis = Fraction(len(line), 2) - (0 if odd else Fraction(1, 4))
        assert axis in {what.axis_quarters for what in mirrors} or len(set(line)) < len(line)


# Special cases of the handbook; common practice.


def test_an_isolated_pair_is_no_mirror():
    line: list[Spelled] = [
        (40, "1/2"),
        (52, "1/2"),
        (47, "1/2"),
        (52, "1/2"),
        (43, "1/2"),
        (58, "1/2"),
        (49, 1),
    ]
    assert of_kind(mirrors_in(passage(line, metres=[FOUR])), "retrograde") == []


def test_rests_count_in_the_rhythm():
    values = ("1/2", "1/4", "1/4", "1", "1/2", "3/4", "1/4", "3/2", "1", "1/8", "3/4")
    half: list[Spelled] = [(50 + k, v) for k, v in enumerate(values)]
    half[4] = (None, "1/2")
    length = sum((Fraction(v) for v in values), Fraction(0))
    exact = nearest(passage([*half, *half[::-1]], metres=[FOUR]), "rhythm", length)
    assert exact.core_quarters == exact.axis_quarters == length
    filled: list[Spelled] = [(48 if p is None else p, v) for p, v in half[::-1]]
    bent = nearest(passage([*half, *filled], metres=[FOUR]), "rhythm", length)
    (deviation,) = bent.deviations
    assert deviation.quarters_off == 0
    assert deviation.expected is not None
    assert deviation.expected.pitches == ()


def test_values_mirror_where_onsets_do_not():
    # long short | short long: the values mirror about the point where they meet, the onsets do not.
    values: list[Spelled] = [(50 + k, v) for k, v in enumerate(("1", "1/4", "3/4", "1/2"))]
    music = passage([*values, *values[::-1]], metres=[FOUR])
    assert nearest(music, "rhythm", Fraction(5, 2)).axis_quarters == Fraction(5, 2)


def test_the_low_string_at_equal_distances_is_told_of_the_mirror_it_stands_in():
    half = [52, 55, 57, 35, 59, 60, 64, 62]
    music = passage([(p, "1/2") for p in (*half, *half[::-1])], metres=[FOUR])
    (found,) = of_kind(mirrors_in(music), "retrograde")
    assert found.measures["anchor_quarters"] == 2.25
    assert "the low string is struck" in found.detail


def test_a_shape_that_bends_is_measured_cell_by_cell():
    half = [45, 50, 48, 55, 53, 60, 58, 62]
    image = half[::-1]
    image[1], image[2] = image[2], image[1]
    music = passage([(p, "1/2") for p in (*half, *image)], metres=[FOUR])
    (found,) = of_kind(mirrors_in(music), "retrograde")
    # Two neighbours have changed places: one pair of notes is ordered the other way.
    assert found.measures["contour_cells_bent"] == 1.0
    assert found.measures["contour_similarity"] == pytest.approx(27 / 28)


@pytest.mark.parametrize("name", ["retrograde, even", "turned", "rhythm, even"])
def test_limbs_and_their_ratio_are_as_long_as_planted(name: str):
    planted = PLANTED[name](4)
    what = nearest(planted.music, planted.of, planted.axis_quarters)
    assert what.limb_ratio == 1.0
    assert what.left.end_quarters == what.right.start_quarters == planted.axis_quarters


@pytest.mark.parametrize("count", [6, 7, 40])
def test_equal_values_mirror_about_any_point_and_say_nothing(count: int):
    music = passage([(45 + (5 * k) % 13, "1/2") for k in range(count)], metres=[FOUR])
    found = equal_values_mirror(music, attacks_of(music))
    assert found is not None
    assert mirror_in(found).axis_quarters == Fraction(count, 4)
    assert mirror_in(found).core_quarters == Fraction(2 * (count // 2) + count % 2, 4)
    assert found.measures["bits"] == 0.0
    assert of_kind(mirrors_in(music), "rhythm") == []


def test_values_that_differ_once_are_not_equal():
    music = passage([(45 + k, "1/2" if k else 1) for k in range(9)], metres=[FOUR])
    assert equal_values_mirror(music, attacks_of(music)) is None


def with_techniques(line: list[Spelled], how: dict[int, Technique]) -> Passage:
    music = passage(line, metres=[FOUR])
    builder = NoteTableBuilder()
    for note in music.notes:
        builder.add(
            onset_quarters=note.onset_quarters,
            duration_quarters=note.duration_quarters,
            string=note.string,
            fret=note.fret,
            pitch=note.pitch,
            techniques=how.get(note.index, Technique(0)),
        )
    return replace(music, notes=builder.build())


def test_accents_at_equal_distances_are_a_mirror_of_weight():
    gaps = (3, 1, 4, 2, 5, 1)
    places = [int(k) for k in np.cumsum([2, *gaps, *gaps[::-1]])]
    line: list[Spelled] = [(45 + (7 * k) % 17, "1/4") for k in range(places[-1] + 3)]
    music = with_techniques(line, dict.fromkeys(places, Technique.ACCENT))
    (found,) = of_kind(mirrors_in(music), "weight")
    assert mirror_in(found).axis_quarters == Fraction(places[6], 4)
    assert found.sentence == "The accents fall at equal distances on both sides of one point."


def test_a_turn_between_two_notes_is_told_between_them_with_whole_limbs():
    line = [40, 43, 41, 46, 44, 48]
    music = passage([(pitch, "1/2") for pitch in (*line, *line[::-1])], metres=[FOUR])
    what = mirror_in(of_kind(mirrors_in(music), "retrograde")[0])
    turn = turn_of(music, what)
    assert turn.place == "between the notes at bar 1, beat 3.5 and bar 1, beat 4"
    assert turn.left.length_quarters == turn.right.length_quarters == 3
    assert turn.reach_quarters(what.reach_quarters) == 3
