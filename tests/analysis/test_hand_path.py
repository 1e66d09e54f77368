"""The cheapest way of the hand, against brute force and published fret positions."""

from fractions import Fraction
from itertools import pairwise, product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.playing import SIX, Played, performed
from tests.reference_tables import rows_of

from riffract.analysis.attacks import attacks_of
from riffract.analysis.finding import Hand
from riffract.analysis.hand import grip as hand_grip
from riffract.analysis.hand.find import find_hand
from riffract.analysis.hand.fingering_path import Moment, Path, cheapest_path, layer_of, moves
from riffract.analysis.hand.grip import grips_of, stretch_mm
from riffract.analysis.hand.moments import as_written, hand_attacks, places_giving, wherever
from riffract.music import Technique, Tuning
from riffract.music.notes import PLAIN


def test_every_fret_lies_where_the_table_has_it():
    # fret_positions_648mm.csv: L (1 - 2^(-n/12)); spacing, and the middle between two frets.
    tuning = Tuning(open_pitches=SIX.open_pitches, scale_length_mm=648.0)
    rows = rows_of("fret_positions_648mm.csv")
    assert len(rows) == 25
    for row in rows:
        fret = int(row["fret"])
        at = tuning.fret_distance_mm(fret)
        assert at == pytest.approx(float(row["distance_from_nut_mm"]), abs=5e-3)
        if fret:
            before = tuning.fret_distance_mm(fret - 1)
            assert at - before == pytest.approx(float(row["spacing_to_previous_fret_mm"]), abs=5e-3)
            assert (at + before) / 2 == pytest.approx(
                float(row["midpoint_between_frets_mm"]), abs=5e-3
            )


def test_a_stretch_is_measured_in_millimetres_and_shrinks_up_the_neck():
    low, high = stretch_mm([(6, 1), (5, 5)], SIX), stretch_mm([(6, 13), (5, 17)], SIX)
    # 162.55 - 36.37 mm, from the fret table; an octave up all distances halve.
    assert low == pytest.approx(126.18, abs=0.01)
    assert high == pytest.approx(63.09, abs=0.01)
    assert stretch_mm([(6, 0), (5, 9)], SIX) == 0.0


# Common practice: how these are taught. String, fret and finger from the lowest string up.
@pytest.mark.parametrize(
    ("places", "fingers"),
    [
        ([(6, 5), (5, 7), (4, 7)], (1, 3, 4)),
        ([(5, 2), (4, 2), (3, 1)], (2, 3, 1)),
        ([(6, 1), (5, 3), (4, 3), (3, 2), (2, 1), (1, 1)], (1, 3, 4, 2, 1, 1)),
        ([(6, 5), (5, 5), (4, 5), (3, 5), (2, 5)], (1, 1, 1, 1, 1)),
    ],
)
def test_common_chords_are_fingered_as_they_are_taught(places, fingers):
    best = grips_of(places, SIX)[0]
    assert best.fingers == fingers
    assert best.position == min(fret for _, fret in places)


def test_no_finger_bars_over_an_open_string_or_a_lower_fret():
    for grip in grips_of([(6, 2), (4, 2)], SIX, open_strings=[5]):
        assert len(set(grip.fingers)) == 2
    for grip in grips_of([(6, 4), (5, 3), (4, 4)], SIX):
        assert grip.fingers[0] != grip.fingers[2]


def test_what_no_four_fingers_hold_is_priced_as_that():
    (grip,) = grips_of(
        [(s, f) for s, f in zip(range(6, 0, -1), (1, 2, 3, 4, 5, 6), strict=True)], SIX
    )
    assert grip.cost == hand_grip.COST_BEYOND_A_HAND
    assert set(grip.fingers) == {0}


places = st.tuples(st.integers(1, 6), st.integers(0, 9))
shapes = st.lists(places, min_size=1, max_size=3, unique_by=lambda place: place[0])


@settings(deadline=None, max_examples=60)
@given(st.lists(st.lists(shapes, min_size=1, max_size=2), min_size=1, max_size=4))
def test_the_path_is_as_cheap_as_the_cheapest_of_all_paths(rows):
    moments = [
        Moment(
            choices=tuple(
                (place, *places_giving(SIX.pitch_at(*place), SIX)[:1]) for place in row[0]
            )
        )
        for row in rows
    ]
    layers = [layer_of(moment, SIX) for moment in moments]
    # Oracle: every row of grips, one of each layer, with open ones only where the hand is.
    best = cheapest_path(moments, SIX)
    priced = [moves(a, b) for a, b in pairwise(layers)]
    small = [range(len(layer.grips)) for layer in layers]
    total = np.prod([len(one) for one in small])
    if total <= 60_000:
        cheapest = min(
            sum(layer.grips[k].cost for layer, k in zip(layers, way, strict=True))
            + sum(cost[a, b] for cost, (a, b) in zip(priced, pairwise(way), strict=True))
            for way in product(*small)
        )
        assert best.cost == pytest.approx(cheapest)
    own = sum(grip.cost for grip in best.grips)
    assert own <= best.cost + 1e-9


@settings(deadline=None, max_examples=40)
@given(st.lists(places, min_size=2, max_size=12))
def test_the_written_places_never_cost_less_than_the_cheapest_ones(line):
    music = performed([Played(at=k, string=s, fret=f) for k, (s, f) in enumerate(line)])[0]
    row = hand_attacks(music, attacks_of(music))
    written = cheapest_path(as_written(row), SIX)
    free = cheapest_path(wherever(music, row), SIX)
    assert free.cost <= written.cost + 1e-9


def line_of(frets: list[int], *, string: int = 6, how: Technique = PLAIN) -> list[Played]:
    return [
        Played(at=Fraction(k, 2), length="1/2", string=string, fret=f, how=how)
        for k, f in enumerate(frets)
    ]


def path_of(notes: list[Played]) -> Path:
    music = performed(notes)[0]
    return cheapest_path(as_written(hand_attacks(music, attacks_of(music))), SIX)


def test_a_finger_a_fret_needs_no_shift():
    # Common practice: one finger a fret.
    assert [grip.fingers[0] for grip in path_of(line_of([5, 6, 7, 8, 7, 6, 5])).grips] == [
        1,
        2,
        3,
        4,
        3,
        2,
        1,
    ]


def test_a_note_that_rings_on_keeps_its_finger():
    ringing = [
        Played(at=0, length=1, string=5, fret=7, ring_end=3, how=Technique.LET_RING),
        Played(at=1, string=4, fret=5),
        Played(at=2, string=4, fret=9),
    ]
    grips = path_of(ringing).grips
    held = [grip.fingers[grip.places.index((5, 7))] for grip in grips]
    assert len(set(held)) == 1
    assert all(len(set(grip.fingers)) == len(grip.fingers) for grip in grips)


def test_a_finger_that_slides_goes_with_its_note():
    # Common practice: a slide is played by one finger.
    notes = [
        Played(at=0, string=5, fret=7),
        Played(at=1, string=5, fret=9, how=Technique.SLIDE),
        Played(at=2, string=5, fret=10),
    ]
    first, second, _ = path_of(notes).grips
    assert first.fingers == second.fingers


def test_open_strings_cost_nothing_and_leave_the_hand_where_it_is():
    with_open = line_of([5, 0, 7, 0, 0, 5])
    without = [note for note in with_open if note.fret]
    assert path_of(with_open).cost == pytest.approx(path_of(without).cost)
    assert [grip.position for grip in path_of(with_open).grips] == [5] * 6


def test_dead_notes_and_taps_are_no_work_of_the_fretting_hand():
    notes = line_of([5, 7, 8, 7, 5])
    dead = [Played(at=Fraction(5, 2), string=6, fret=12, how=Technique.DEAD)]
    tapped = [Played(at=3, string=6, fret=17, how=Technique.TAP)]
    assert path_of([*notes, *dead, *tapped]).cost == path_of(notes).cost


def test_legato_harmonics_and_bends_stay_on_their_string():
    notes = [
        Played(at=0, string=5, fret=10),
        Played(at=1, string=5, fret=12, how=Technique.HAMMER_ON),
        Played(at=2, string=4, fret=7, bend=(0, 200)),
        Played(at=3, string=3, fret=12, how=Technique.NATURAL_HARMONIC),
        Played(at=4, string=4, fret=12),
    ]
    music = performed(notes)[0]
    moments = wherever(music, hand_attacks(music, attacks_of(music)))
    assert [len(moment.choices[0]) for moment in moments] == [1, 1, 1, 1, 5]


def test_far_places_for_near_pitches_are_said_to_cost_more() -> None:
    # The same four pitches on one string and in one position.
    far = line_of([2, 7, 12, 5] * 3)
    music = performed(far)[0]
    found = find_hand(music, attacks_of(music))
    assert found is not None
    assert isinstance(found.finding.what, Hand)
    assert found.finding.what.written_cost > 2 * found.finding.what.path_cost


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("MOST_GRIPS", 20),
        ("MOST_GRIPS", 80),
        ("MOST_CHOICES", 6),
        ("MOST_CHOICES", 24),
        ("WIDEST_HAND_MM", 120.0),
        ("WIDEST_HAND_MM", 200.0),
    ],
)
def test_the_cheapest_way_does_not_hang_on_what_is_tried(monkeypatch, name, value):
    from riffract.analysis.hand import fingering_path

    chords = [(40, 47, 52), (43, 50, 55), (45, 52, 57), (41, 48, 53)]
    moments = [
        Moment(choices=tuple(places_giving(pitch, SIX) for pitch in chord)) for chord in chords
    ]
    before = cheapest_path(moments, SIX).cost
    monkeypatch.setattr(fingering_path, name, value)
    assert cheapest_path(moments, SIX).cost == pytest.approx(before)


@pytest.mark.parametrize("times", [0.5, 2.0])
@pytest.mark.parametrize("name", ["WIDEST_GAP_MM", "NARROWEST_GAP_MM"])
def test_other_gaps_leave_a_finger_a_fret_where_it_is(monkeypatch, name, times):
    monkeypatch.setattr(hand_grip, name, times * getattr(hand_grip, name))
    assert [grip.fingers[0] for grip in path_of(line_of([5, 6, 7, 8])).grips] == [1, 2, 3, 4]


@pytest.mark.parametrize("times", [0.5, 2.0])
@pytest.mark.parametrize(
    "name", ["COST_A_MM_OF_SHIFT", "COST_OF_A_FINGER_MOVED", "COST_OF_A_STRING_CROSSED"]
)
def test_half_or_twice_a_weight_changes_no_such_answer(monkeypatch, name, times):
    from riffract.analysis.hand import fingering_path

    monkeypatch.setattr(fingering_path, name, times * getattr(hand_grip, name))
    assert [grip.fingers[0] for grip in path_of(line_of([5, 6, 7, 8])).grips] == [1, 2, 3, 4]
    test_far_places_for_near_pitches_are_said_to_cost_more()


@pytest.mark.parametrize("times", [0.5, 2.0])
@pytest.mark.parametrize(
    "name",
    ["COST_A_MM_TOO_WIDE", "COST_A_MM_TOO_NARROW", "COST_OF_A_BARRE", "COST_OF_THE_LITTLE_FINGER"],
)
def test_half_or_twice_the_price_of_a_grip_leaves_common_chords_as_they_are(
    monkeypatch, name, times
):
    monkeypatch.setattr(hand_grip, name, times * getattr(hand_grip, name))
    # Both (1, 3, 4) and (1, 3, 3) are taught.
    assert grips_of([(6, 5), (5, 7), (4, 7)], SIX)[0].fingers[:2] == (1, 3)
    assert grips_of([(s, 5) for s in (6, 5, 4, 3, 2)], SIX)[0].fingers == (1,) * 5
