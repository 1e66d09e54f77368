"""A proposed fingering: playable, right in pitch, and with the least way along the neck."""

from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riffract.formats.fingering import (
    FINGERS,
    WIDEST_SPAN_FRETS,
    Shape,
    cheapest_path,
    places_of,
    proposed_fingering,
)
from riffract.music import Tuning

SIX = Tuning(open_pitches=(40, 45, 50, 55, 59, 64))
LOWEST, HIGHEST = 40, 64 + 24

pitches = st.integers(LOWEST, HIGHEST)


def test_all_places_of_all_pitches_give_that_pitch() -> None:
    for tuning in (SIX, Tuning(open_pitches=SIX.open_pitches, capo=3)):
        for pitch in range(128):
            found = {p for p in places_of(pitch, tuning) if tuning.pitch_at(*p) == pitch}
            assert found == set(places_of(pitch, tuning))
            every = product(range(1, 7), range(tuning.frets - tuning.capo + 1))
            assert found == {p for p in every if tuning.pitch_at(*p) == pitch}


@given(st.lists(pitches, max_size=12))
def test_a_line_is_played_note_for_note(line: list[int]) -> None:
    fingering = proposed_fingering([[pitch] for pitch in line], SIX)
    assert fingering.beyond == ()
    played = [SIX.pitch_at(*shape[0]) for shape in fingering.shapes if shape is not None]
    assert played == line


# Common practice: the chord shapes that every beginner learns, in their usual places.
OPEN_CHORDS = [
    pytest.param([40, 47, 52, 56, 59, 64], [0, 2, 2, 1, 0, 0], id="E major"),
    pytest.param([40, 47, 52, 55, 59, 64], [0, 2, 2, 0, 0, 0], id="E minor"),
    pytest.param([45, 52, 57, 61, 64], [0, 2, 2, 2, 0], id="A major"),
    pytest.param([48, 52, 55, 60, 64], [3, 2, 0, 1, 0], id="C major"),
    pytest.param([50, 57, 62, 66], [0, 2, 3, 2], id="D major"),
    pytest.param([43, 47, 50, 55, 59, 67], [3, 2, 0, 0, 0, 3], id="G major"),
]


@pytest.mark.parametrize(("chord", "frets"), OPEN_CHORDS)
def test_open_chords_get_their_usual_shapes(chord: list[int], frets: list[int]) -> None:
    (shape,) = proposed_fingering([chord], SIX).shapes
    assert shape is not None
    assert [fret for _, fret in shape] == frets


def test_a_scale_in_position_stays_in_position() -> None:
    # Common practice: a two-octave scale fits into one position; here the hand starts at fret 5.
    scale = [45, 47, 49, 50, 52, 54, 56, 57]
    start: Shape = ((6, 5),)
    shapes = cheapest_path([[start], *([places_of(p, SIX)] for p in scale[1:])])
    frets = [shape[0][1] for shape in shapes if shape]
    assert all(fret == 0 or 2 <= fret <= 5 + WIDEST_SPAN_FRETS for fret in frets)


def test_what_no_string_gives_is_told_and_the_hand_goes_on() -> None:
    fingering = proposed_fingering([[40], [30, 41], [43]], SIX)
    assert fingering.beyond == ((1, 30),)
    assert fingering.shapes == (((6, 0),), None, ((6, 3),))


def test_pitches_that_share_their_only_string_cannot_sound_together() -> None:
    fingering = proposed_fingering([[40, 41]], SIX)
    assert fingering.beyond == ()
    assert fingering.shapes == (None,)


def test_no_attacks_need_no_fingering() -> None:
    assert proposed_fingering([], SIX).shapes == ()


@given(st.lists(pitches, min_size=1, max_size=6, unique=True))
def test_a_chord_uses_each_string_once(chord: list[int]) -> None:
    (shape,) = proposed_fingering([chord], SIX).shapes
    if shape is not None:
        assert len({string for string, _ in shape}) == len(chord)
        assert [SIX.pitch_at(*place) for place in shape] == chord


def way_cost(shapes: list[Shape]) -> float:
    """Work out what a path of single notes costs, by the definition."""
    position, cost = 0, 0.0
    for ((_, fret),) in shapes:
        cost += 0.1 * fret
        if fret == 0:
            continue
        lowest = max(fret - (FINGERS - 1), 1)
        lowest = min(lowest, fret)
        goal = min(max(position, lowest), fret) if position else fret
        cost += abs(goal - position) if position else 0
        position = goal
    return cost


@settings(deadline=None, max_examples=60)
@given(st.lists(pitches, min_size=1, max_size=5))
def test_no_other_path_of_single_notes_is_cheaper(line: list[int]) -> None:
    # Brute force: every choice of places.
    choices = [places_of(pitch, SIX) for pitch in line]
    best = min(way_cost([(place,) for place in path]) for path in product(*choices))
    found = [shape for shape in cheapest_path([[places] for places in choices]) if shape]
    assert way_cost(found) == pytest.approx(best)
