"""What comes back moved in a passage, in pitch and over the fretboard."""

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.analysis.test_any_passage import passages
from tests.making import passage
from tests.playing import Played, performed

from riffract.analysis.attacks import attacks_of
from riffract.analysis.finding import Kind, Passes, Pattern
from riffract.analysis.passes.find import find_passes
from riffract.analysis.patterns.chance import chance_p, evidence_bits, height_bits
from riffract.analysis.patterns.discovery import discover
from riffract.analysis.patterns.find import find_patterns
from riffract.analysis.patterns.lines import PointSet, followers
from riffract.analysis.patterns.space import passage_points
from riffract.music import Passage, Span

EIGHTH = Fraction(1, 2)
FIGURE = [52, 55, 59, 58, 62, 57, 53, 60]
BETWEEN = [[45, 70, 49, 66, 47], [71, 46, 64, 44, 68, 51], [43, 69, 65]]


def in_eighths(pitches: list[int]) -> Passage:
    return passage([(p, EIGHTH) for p in pitches])


def moved(figure: list[int], by: int) -> list[int]:
    return [p + by for p in figure]


THREE_TIMES = [
    *BETWEEN[0],
    *FIGURE,
    *BETWEEN[1],
    *moved(FIGURE, 5),
    *BETWEEN[2],
    *moved(FIGURE, -3),
]


def test_a_figure_that_comes_back_moved_is_told_with_its_places():
    (found,) = find_patterns(in_eighths(THREE_TIMES))
    what = found.what
    assert found.kind is Kind.PATTERN
    assert isinstance(what, Pattern)
    assert what.space == "onset_pitch"
    assert what.vectors == tuple(
        (EIGHTH * k, Fraction(p - FIGURE[0])) for k, p in enumerate(FIGURE)
    )
    assert [one.shift for one in what.occurrences] == [(0,), (5,), (-3,)]
    assert [one.shift_quarters for one in what.occurrences] == [0, 7, Fraction(25, 2)]
    assert [one.notes[0] for one in what.occurrences] == [5, 19, 30]
    assert found.spans[0] == Span(Fraction(5, 2), Fraction(13, 2))
    assert found.measures["chance_p"] < 0.01
    # Three times eight notes, told as eight and two more places.
    assert found.measures["compression_ratio"] == 2.4
    assert found.sentence == (
        "A figure of eight notes stands in three places: bar 1, beat 3.5; bar 3, beat 2.5, five "
        "semitones up; bar 4, beat 4, three semitones down."
    )


def test_a_note_that_is_missing_is_named():
    struck: list[int | None] = list(THREE_TIMES)
    struck[22] = None
    (found,) = find_patterns(passage([(p, EIGHTH) for p in struck]))
    assert isinstance(found.what, Pattern)
    assert [one.missing for one in found.what.occurrences] == [(), (3,), ()]
    assert "five semitones up (without one of its notes)" in found.sentence


def test_what_the_passes_say_is_not_told_twice():
    riff = [*BETWEEN[0], *FIGURE, *BETWEEN[2]]
    music = in_eighths(riff * 4)
    readings = [
        f.what.readings[0]
        for f in find_passes(music, attacks_of(music))
        if isinstance(f.what, Passes)
    ]
    assert find_patterns(music)
    assert find_patterns(music, readings=readings) == ()


def test_a_figure_that_comes_back_within_the_riff_is_told_beside_the_passes():
    music = in_eighths(THREE_TIMES * 3)
    readings = [
        f.what.readings[0]
        for f in find_passes(music, attacks_of(music))
        if isinstance(f.what, Passes)
    ]
    (found,) = find_patterns(music, readings=readings)
    assert isinstance(found.what, Pattern)
    assert len(found.what.vectors) == len(FIGURE)
    assert len(found.what.occurrences) == 9


def test_a_drone_that_is_left_out_does_not_hide_the_figure():
    struck = [(p, 40) if k % 2 else (p,) for k, p in enumerate(THREE_TIMES)]
    music = passage([(chord, EIGHTH) for chord in struck])
    drone = set(np.flatnonzero(music.notes.pitch == 40).tolist())
    (found,) = find_patterns(music, without=drone)
    assert not drone & set(found.notes)
    assert isinstance(found.what, Pattern)
    assert len(found.what.vectors) == len(FIGURE)


def on_strings(shape: list[tuple[int, int]], *, start: int) -> list[Played]:
    return [
        Played(at=Fraction(start + k, 2), length=EIGHTH, string=string, fret=fret)
        for k, (string, fret) in enumerate(shape)
    ]


SHAPE = [(4, 5), (4, 7), (3, 4), (4, 8), (3, 6), (3, 7), (4, 5), (3, 4), (4, 10), (3, 9)]
ELSEWHERE = [(6, 1), (5, 11), (6, 9), (1, 13), (2, 1)]


def shapes_at(*moves: tuple[int, int]) -> Passage:
    """Play a shape in several places, always with something else between."""
    played: list[Played] = []
    for k, (strings, frets) in enumerate(moves):
        played += on_strings([(s + strings, f + frets) for s, f in SHAPE], start=len(played))
        played += on_strings(ELSEWHERE[k:], start=len(played))
    return performed(played)[0]


def test_a_hand_shape_moved_over_the_strings_is_told_where_its_intervals_change():
    # Between the third and the second string lies a third, and a fourth between the others.
    (found,) = find_patterns(shapes_at((0, 0), (-1, 2)))
    assert isinstance(found.what, Pattern)
    assert found.what.space == "onset_string_fret"
    assert [one.shift for one in found.what.occurrences] == [(0, 0), (-1, 2)]
    assert "two frets up and one string higher" in found.sentence


def test_a_hand_shape_moved_along_the_strings_is_told_as_a_figure_alone():
    (found,) = find_patterns(shapes_at((0, 0), (0, 3), (0, -2)))
    assert isinstance(found.what, Pattern)
    assert found.what.space == "onset_pitch"
    assert [one.shift for one in found.what.occurrences] == [(0,), (3,), (-2,)]


@given(st.integers(-5, 10))
def test_transposing_a_passage_changes_no_pattern(by):
    one, other = in_eighths(THREE_TIMES), in_eighths(moved(THREE_TIMES, by))
    (here,), (there,) = find_patterns(one), find_patterns(other)
    assert here.what == there.what
    assert here.measures == there.measures


def test_doubling_all_values_doubles_all_times():
    (here,) = find_patterns(in_eighths(THREE_TIMES))
    (there,) = find_patterns(passage([(p, 1) for p in THREE_TIMES]))
    assert isinstance(here.what, Pattern)
    assert isinstance(there.what, Pattern)
    assert [(2 * q, p) for q, p in here.what.vectors] == list(there.what.vectors)
    assert here.measures == there.measures


def test_moving_notes_to_another_string_changes_no_pattern_in_pitch():
    music = in_eighths(THREE_TIMES)
    notes = music.notes
    lower = notes.string < music.tuning.string_count
    string = np.where(lower, notes.string + 1, notes.string)
    fret = notes.pitch - np.array([music.tuning.open_pitch(s) for s in string.tolist()])
    there = replace(music, notes=replace(notes, string=string, fret=fret))
    assert [f.what for f in find_patterns(there)] == [f.what for f in find_patterns(music)]


@settings(max_examples=60)
@given(passages())
def test_whatever_the_passage_its_patterns_hold_together(music):
    for found in find_patterns(music):
        what = found.what
        assert isinstance(what, Pattern)
        assert len(what.occurrences) > 1
        assert what.occurrences[0].shift_quarters == 0
        assert list(found.spans) == sorted(found.spans)
        assert 0 < found.measures["chance_p"] < 1
        for one in what.occurrences:
            there = [v for k, v in enumerate(what.vectors) if k not in one.missing]
            assert len(there) == len(one.notes)
            onsets = [music.notes.quarters(music.notes.onset_ticks[i]) for i in one.notes]
            assert [o - onsets[0] for o in onsets] == [v[0] - there[0][0] for v in there]
            columns = [music.notes.pitch]
            if what.space == "onset_string_fret":
                columns = [music.notes.string, music.notes.fret]
            for place, column in enumerate(columns, start=1):
                steps = [int(column[i]) - int(column[one.notes[0]]) for i in one.notes]
                assert steps == [v[place] - there[0][place] for v in there]


def best_p(pitches: np.ndarray) -> float:
    onset = np.arange(len(pitches))
    line = followers(onset, onset + 1, pitches)
    points = PointSet.of(onset, pitches, line, ticks_per_quarter=2)
    models = height_bits(points)
    found = discover(points, fewest_quarters=1.0)
    return min(
        (chance_p(min(evidence_bits(points, p, m) for m in models)) for p in found), default=1.0
    )


PEDAL = [40, 40, 40, 40, 40, 47, 45, 43] * 15
SCALE = np.cumsum([1, 1, 1, -2, -2, 1, 3, -3] * 15).tolist()
FEW = [40, 41] * 50


# The bound must hold: at most one random version in twenty may reach p = 0.05.
@pytest.mark.parametrize(
    "pitches", [PEDAL, SCALE, FEW, FIGURE * 8], ids=["pedal", "scale", "few", "wide"]
)
@pytest.mark.parametrize("what", ["pitches", "steps"])
def test_random_versions_hardly_ever_reach_a_small_p(pitches, what):
    rng = np.random.default_rng(11)
    reached = 0
    for _ in range(100):
        if what == "pitches":
            version = rng.permutation(pitches)
        else:
            version = np.cumsum([60, *rng.permutation(np.diff(pitches)).tolist()])
        reached += best_p(version) <= 0.05
    assert reached <= 5


def test_a_repeated_riff_without_readings_has_a_small_p():
    assert best_p(np.array((BETWEEN[0] + FIGURE) * 4)) < 1e-6


def test_open_strings_and_dead_notes_are_no_points_of_a_hand_shape():
    music = performed(
        [
            Played(at=0, string=6, fret=0),
            Played(at=1, string=5, fret=3),
            Played(at=2, string=4, fret=2, pitch=52),
        ]
    )[0]
    assert passage_points(music, "onset_string_fret").note.tolist() == [1, 2]
    assert passage_points(music, "onset_pitch").note.tolist() == [0, 1, 2]
    assert passage_points(music, "onset_pitch", without={0}).note.tolist() == [1, 2]


def test_nothing_comes_back_in_nothing():
    assert find_patterns(passage([(None, 4)])) == ()
    assert find_patterns(passage([(50, 4)])) == ()
