"""Sequences are found whole, real and tonal, from their first statement on."""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.making import Spelled, passage

from riffract.analysis.attacks import attacks_of, lead_notes
from riffract.analysis.finding import Motive
from riffract.analysis.motives.line import MotiveLine, motive_line
from riffract.analysis.motives.sequence_told import sequence_finding
from riffract.analysis.motives.sequences import Chain, best_bits, find_sequences, scales_of
from riffract.music import Metre

BUSY = settings(max_examples=60, deadline=None)
MAJOR = (0, 2, 4, 5, 7, 9, 11)
THREE_FOUR = Metre(groups=(3,), unit=4)
FIGURE = (0, 3, 1, 4, 2, -2)
VALUES = ("1/2", "1/4", "1/4", "3/4", "1/4", "1")


def line(spelled: Sequence[Spelled]) -> MotiveLine:
    music = passage(spelled, metres=[THREE_FOUR])
    attacks = attacks_of(music)
    lead = lead_notes(music.notes, attacks, without=())
    return motive_line(music, attacks, lead, (), number=0, most_events=4000)


def degree(number: int) -> int:
    """Give a degree of C major, 0 being C4."""
    octave, step = divmod(number, 7)
    return 60 + 12 * octave + MAJOR[step]


def tonal(count: int, step: int = -1) -> list[Spelled]:
    """State a figure of six notes in a bar, each time a step of C major away."""
    return [
        (degree(5 + k * step + own), value)
        for k in range(count)
        for own, value in zip(FIGURE, VALUES, strict=True)
    ]


def shape(one: Chain) -> tuple[int, int, int, int]:
    return one.first, one.figure, one.count, one.steps


def motive_of(own: MotiveLine, found: Chain) -> Motive:
    what = sequence_finding(own, found).what
    assert isinstance(what, Motive)
    return what


def test_the_sequence_of_the_first_two_part_invention_is_by_thirds():
    """Three groups of eight sixteenths, each a third lower; the fourth goes off to F sharp.

    Source: J. S. Bach, Invention in C major (BWV 772), upper voice from bar 3 on, from memory.
    """
    names = "A5 G5 F5 E5 G5 F5 A5 G5 F5 E5 D5 C5 E5 D5 F5 E5 D5 C5 B4 A4 C5 B4 D5 C5 B4 A4 G4 F#4"
    pitches = {"C": 0, "D": 2, "E": 4, "F": 5, "F#": 6, "G": 7, "A": 9, "B": 11}
    spelled: list[Spelled] = [
        (12 * int(name[-1]) + pitches[name[:-1]], "1/4") for name in names.split()
    ]
    (found,) = find_sequences(line(spelled))
    assert shape(found) == (0, 8, 3, -2)
    assert found.scale == MAJOR


@pytest.mark.parametrize("step", [-2, -1, 1])
def test_a_tonal_sequence_is_found_whole_and_exact(step):
    own = line(tonal(5, step))
    (found,) = find_sequences(own)
    assert shape(found) == (0, 6, 5, step)
    what = motive_of(own, found)
    assert (what.changed, what.inserted, what.dropped) == ((), (), ())
    assert (what.scale_steps, what.scale, len(what.goes_on)) == (step, MAJOR, 3)


def test_it_says_how_often_and_how_far():
    own = line(tonal(5))
    assert sequence_finding(own, find_sequences(own)[0]).sentence == (
        "The figure at bar 1, beat 1 is played five times in a row, each time a step of the scale "
        "lower."
    )


def test_a_real_sequence_is_told_by_its_interval():
    one = [(60 + own, value) for own, value in zip((0, 4, 1, 6, 3, -2), VALUES, strict=True)]
    own = line([(pitch - 2 * k, value) for k in range(4) for pitch, value in one])
    found = find_sequences(own)[0]
    assert found.is_exact
    assert shape(found) == (0, 6, 4, -2)
    told = sequence_finding(own, found)
    assert "four times in a row, each time a whole tone lower" in told.sentence
    what = motive_of(own, found)
    assert (what.scale_steps, what.transform.transposition) == (0, -2)


@pytest.mark.parametrize(
    "degrees",
    [
        range(24),
        [k for step in range(12) for k in (step, step + 2)],
        [k for step in range(10) for k in (step, step, step)],
        [0, 2, 4, 1, 5, 3] * 5,
    ],
    ids=["a scale", "broken thirds", "a scale of repeated notes", "an ostinato"],
)
def test_what_is_no_figure_or_does_not_step_on_is_no_sequence(degrees):
    own = line([(degree(k - 10), "1/2") for k in degrees])
    assert find_sequences(own, least_bits=1e-9) == ()


def test_two_statements_are_a_return_and_no_sequence():
    assert find_sequences(line(tonal(2))) == ()


@pytest.mark.parametrize("count", [0, 1, 2, 8])
def test_short_lines_have_none(count):
    own = line([(60, "1/2")] * count)
    assert find_sequences(own) == ()
    assert best_bits(own, own.heights[None]).tolist() == [0.0]


@BUSY
@given(st.integers(-7, 4), st.integers(3, 5), st.sampled_from([-2, -1, 1]))
def test_moving_the_line_moves_its_scale_alone(semitones, count, step):
    one = find_sequences(line(tonal(count, step)))
    moved = line([(int(str(p)) + semitones, v) for p, v in tonal(count, step)])
    other = find_sequences(moved)
    assert list(map(shape, other)) == list(map(shape, one))
    assert other[0].scale == tuple(sorted((pc + semitones) % 12 for pc in one[0].scale))


@BUSY
@given(st.lists(st.integers(0, 3), min_size=9, max_size=30))
def test_every_sequence_is_one_note_by_note(steps):
    """Brute force: each note against its like in the statement before."""
    own = line([(degree(k), "1/2") for k in steps])
    for one in find_sequences(own):
        scale = np.array(one.scale)
        heights = own.heights
        degrees = heights // 12 * len(scale) + np.searchsorted(scale, heights % 12)
        rows = np.array([degrees[list(events)] for events in one.statements])
        assert (np.diff(rows, axis=0) == one.steps).all()


def brute_longest(heights: list[int], figure: int) -> int:
    """Count the notes of the longest stretch that goes on by one interval, by trying them all."""
    best = 0
    for start in range(len(heights)):
        for end in range(start + 3 * figure, len(heights) + 1):
            moves = {heights[k + figure] - heights[k] for k in range(start, end - figure)}
            if len(moves) == 1 and moves != {0}:
                best = max(best, end - start)
    return best


@BUSY
@given(st.lists(st.sampled_from([60, 61, 64, 66]), min_size=9, max_size=24))
def test_none_that_is_moved_by_one_interval_is_missed(drawn):
    pitches = [drawn[0], *(b for a, b in pairwise(drawn) if a != b)]
    own = line([(pitch, "1/2") for pitch in pitches])
    longest = max((one.figure * one.count for one in find_sequences(own)), default=0)
    figures = range(3, len(pitches) // 3 + 1)
    by_hand = max((brute_longest(pitches, f) // f * f for f in figures), default=0)
    assert longest >= by_hand


def test_scales_that_hold_all_but_a_few_notes_are_tried():
    heights = np.array([60, 62, 64, 65, 67, 69, 71] * 3 + [66])
    assert MAJOR in scales_of(heights)
