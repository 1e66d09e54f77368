"""Hand shapes that are moved, and what they explain. Passages are ours."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.playing import SIX, Played, performed

from riffract.analysis.attacks import attacks_of
from riffract.analysis.finding import Hand
from riffract.analysis.hand import moved_shape
from riffract.analysis.hand.find import FoundHand, find_hand, left_out_of_hand
from riffract.analysis.hand.grip import Place
from riffract.analysis.hand.moments import hand_attacks
from riffract.analysis.hand.moved_shape import (
    SHORTEST_STROKES,
    HandRow,
    find_shapes,
    hand_row,
    strokes_in_moved_shapes,
)
from riffract.music import Passage, Proposed, Span, Technique, Tuning
from riffract.music.notes import PLAIN

SHAPE = [(6, 0), (6, 3), (5, 2), (5, 4), (4, 1), (5, 3), (6, 2), (5, 1)]
FOURTHS = Tuning(open_pitches=(40, 45, 50, 55, 60, 65))


def eighths(
    places: Iterable[Place | None], *, tuning: Tuning = SIX, how: Technique = PLAIN
) -> Passage:
    """Play places one after the other; `None` is the open lowest string."""
    notes = [
        Played(at=Fraction(k, 2), length="1/2", string=s, fret=f, how=how)
        for k, (s, f) in enumerate((6, 0) if place is None else place for place in places)
    ]
    return performed(notes, tuning=tuning)[0]


def moved(places: Iterable[Place], strings: int, frets: int) -> list[Place]:
    return [(s + strings, f + frets) for s, f in places]


def hand_of(music: Passage) -> tuple[FoundHand, Hand]:
    found = find_hand(music, attacks_of(music))
    assert found is not None
    assert isinstance(found.finding.what, Hand)
    return found, found.finding.what


def row_of(music: Passage) -> HandRow:
    return hand_row(hand_attacks(music, attacks_of(music)))


def test_a_shape_moved_along_the_neck_gives_all_its_notes():
    places = [*moved(SHAPE, 0, 3), *moved(SHAPE, 0, 5), *moved(SHAPE, 0, 8)]
    other = [(3, 2), (2, 9), (3, 5), (1, 7), (2, 4), (1, 1), (3, 9), (2, 2), (1, 5), (3, 3)]
    found, what = hand_of(eighths([*places, *other]))
    assert found.finding.sentence == (
        "One hand shape, moved from fret 3 to 5 to 8, gives 24 of the 34 fretted notes."
    )
    (shape,) = what.shapes
    assert shape.places == tuple(moved(SHAPE, 0, 3))
    assert shape.moves == ((0, 2), (0, 5))
    assert what.explains_share == pytest.approx(16 / 34, abs=1e-6)
    assert list(found.finding.notes) == list(range(24))


def test_open_strings_and_repeated_strokes_do_not_break_a_shape():
    def pedalled(places: Iterable[Place]) -> list[Place | None]:
        return [one for place in places for one in (place, None, place)]

    _, what = hand_of(eighths([*pedalled(moved(SHAPE, 0, 3)), *pedalled(moved(SHAPE, 0, 6))]))
    (shape,) = what.shapes
    assert shape.moves == ((0, 3),)
    assert what.explains_share == 0.5


def test_a_shape_moved_across_equal_strings_is_a_transposed_repeat_that_the_hand_explains():
    _, what = hand_of(eighths([*moved(SHAPE, 0, 3), *moved(SHAPE, -1, 3)], tuning=FOURTHS))
    (repeat,) = [one for one in what.explains if one.what == "transposed_repeat"]
    assert repeat.explained


def test_a_shape_moved_across_unequal_strings_keeps_its_look_but_not_its_intervals():
    # Common practice: strings 3 and 2 are a major third apart, the others fourths.
    places = [*moved(SHAPE, 0, 3), *moved(SHAPE, -2, 3)]
    found, what = hand_of(eighths(places))
    assert what.shapes[0].moves == ((-2, 0),)
    assert "its intervals differ while its look does not" in found.finding.detail
    assert "at fret 3 from string 6 to 4" in found.finding.sentence
    assert "its intervals differ" not in hand_of(eighths(places, tuning=FOURTHS))[0].finding.detail


def test_a_shape_that_sounds_the_same_notes_elsewhere_is_not_called_moved():
    # Common practice: strings 6 to 3 are tuned in fourths, so a string lower five frets higher is
    # the same pitch.
    high = moved(SHAPE, -1, 3)
    found, _ = hand_of(eighths([*high, *moved(high, 1, 5)]))
    assert found.finding.sentence == (
        "One hand shape plays the same notes in two places on the neck, from string 5, fret 3 and "
        "string 6, fret 8: 16 of the 16 fretted notes."
    )
    assert "The pitches stay as they are." in found.finding.detail


def test_a_shape_that_is_once_transposed_is_called_moved_though_it_also_stays():
    high = moved(SHAPE, -1, 3)
    found, _ = hand_of(eighths([*high, *moved(high, 1, 5), *moved(high, 0, 4)]))
    assert "moved from string 5, fret 3 to string 6, fret 8" in found.finding.sentence


def test_the_same_transposition_fingered_in_another_way_is_no_by_product():
    # The second statement a fourth higher, by turns on the next string and along the same one.
    again = [(s, f + 5) if k % 2 else (s - 1, f) for k, (s, f) in enumerate(moved(SHAPE, 0, 3))]
    _, what = hand_of(eighths([*moved(SHAPE, 0, 3), *again], tuning=FOURTHS))
    (repeat,) = [one for one in what.explains if one.what == "transposed_repeat"]
    assert not repeat.explained
    assert what.shapes == ()


def test_a_line_upside_down_is_no_by_product():
    line = [5, 8, 6, 11, 9, 12, 7, 10]
    upside_down = [17 - fret for fret in line]
    _, what = hand_of(eighths([(4, f) for f in (*line, 5, 5, 9, 7, *upside_down)]))
    (turned,) = [one for one in what.explains if one.what == "inversion"]
    assert not turned.explained
    assert turned.span == Span(Fraction(6), Fraction(10))


@pytest.mark.parametrize("step", [1, 2, 3])
def test_a_chain_of_equal_steps_on_one_string_follows_from_the_hand_and_over_strings_not(step):
    # Common practice: chromatic, whole-tone and minor-third chains.
    filler = [(5, 9), (4, 4), (5, 2), (4, 7), (5, 5), (3, 2), (4, 9)]
    on_one = [(6, 1 + step * k) for k in range(5)]
    _, what = hand_of(eighths([*on_one, *filler]))
    (chain,) = [one for one in what.explains if one.what == "equal_steps"]
    assert chain.explained
    # The same pitches, from the third on on the next string, five frets lower.
    over_two = [(s, f) if k < 2 else (5, f - 5) for k, (s, f) in enumerate(moved(on_one, 0, 5))]
    _, what = hand_of(eighths([*over_two, *filler]))
    (chain,) = [one for one in what.explains if one.what == "equal_steps"]
    assert not chain.explained


def chords(shapes: Iterable[Iterable[Place]]) -> Passage:
    notes = [
        Played(at=k, length=1, string=s, fret=f)
        for k, places in enumerate(shapes)
        for s, f in places
    ]
    return performed(notes)[0]


def test_parallel_chords_of_one_shape_follow_from_the_hand_and_of_two_shapes_not():
    fifth = [(6, 0), (5, 2)]
    one_shape = [moved(fifth, 0, f) for f in (1, 4, 2, 6, 3, 8, 5, 7, 10, 9)]
    _, what = hand_of(chords(one_shape))
    (row,) = [one for one in what.explains if one.what == "parallel_chords"]
    assert row.explained
    # A fifth on strings 3 and 2 takes another shape, since these are a third apart.
    other = [moved([(3, 0), (2, 3)], 0, f) for f in (1, 3)]
    _, what = hand_of(chords([*one_shape[:8], *other]))
    (row,) = [one for one in what.explains if one.what == "parallel_chords"]
    assert not row.explained


def test_a_cell_moved_by_equal_steps_is_a_chain_that_follows_from_the_hand():
    cell = [(6, 0), (5, 2), (6, 1), (5, 4), (4, 2)]
    places = [place for fret in (1, 4, 7, 10) for place in moved(cell, 0, fret)]
    _, what = hand_of(eighths(places))
    assert any(one.what == "equal_steps" and one.explained for one in what.explains)


def test_wide_stretches_are_marked_with_a_hint_and_no_promise():
    wide = [[(6, 1), (5, 5)], [(6, 2), (5, 3)], [(6, 1), (5, 6)], [(6, 5), (5, 7)]] * 3
    found, what = hand_of(chords(wide))
    assert [int(at) for at in what.wide_stretches] == [0, 2, 4, 6, 8, 10]
    assert "warm up before, and rest between" in found.finding.detail
    assert found.finding.measures["widest_stretch_mm"] == pytest.approx(153.43, abs=0.01)


def test_costs_are_told_as_estimates_with_what_was_assumed():
    found, _ = hand_of(eighths(moved(SHAPE, 0, 3) * 2))
    assert "Costs are estimates; assumed: a millimetre beyond an easy stretch 0.1" in (
        found.finding.detail
    )


def test_places_that_nobody_wrote_explain_nothing():
    music = replace(
        eighths([*moved(SHAPE, 0, 3), *moved(SHAPE, 0, 5)]), proposed=(Proposed.FINGERING,)
    )
    assert find_hand(music, attacks_of(music)) is None
    (entry,) = left_out_of_hand(music)
    assert "were proposed, not written" in entry.why
    assert left_out_of_hand(eighths(SHAPE)) == ()


@pytest.mark.parametrize("places", [[], [(6, 3)], [None] * 20, [(6, 3)] * 20, [(6, 3), (6, 5)] * 2])
def test_next_to_nothing_is_answered_without_fuss(places):
    music = eighths(places)
    assert find_hand(music, attacks_of(music)) is None


def test_only_dead_notes_are_answered_without_fuss():
    music = eighths(SHAPE * 3, how=Technique.DEAD)
    assert find_hand(music, attacks_of(music)) is None


@given(st.lists(st.integers(0, 2), min_size=3, max_size=14), st.integers(0, 2**32 - 1))
def test_strokes_in_moved_shapes_are_counted_as_by_hand(moves, seed):
    places = np.random.default_rng(seed).integers(0, 2, len(moves) + 1)
    # Brute force: for each row of four strokes, is there one with the same moves elsewhere?
    width = SHORTEST_STROKES - 1
    at = defaultdict(set)
    for k in range(len(moves) - width + 1):
        at[tuple(moves[k : k + width])].add(int(places[k]))
    covered = {
        k + j
        for k in range(len(moves) - width + 1)
        for j in range(SHORTEST_STROKES)
        if len(at[tuple(moves[k : k + width])]) > 1 and len(set(moves[k : k + width])) > 1
    }
    counted = strokes_in_moved_shapes(np.array([moves, moves]), np.array([places, places]))
    assert counted.tolist() == [len(covered)] * 2


@given(
    st.lists(st.tuples(st.integers(3, 5), st.integers(1, 6)), min_size=8, max_size=24),
    st.integers(0, 4),
)
def test_moving_a_whole_passage_along_the_neck_moves_its_shapes(places, frets):
    here, there = row_of(eighths(places)), row_of(eighths(moved(places, 0, frets)))
    assert find_shapes(here) == find_shapes(there)


@given(st.lists(st.tuples(st.integers(3, 6), st.integers(1, 5)), min_size=8, max_size=40))
def test_statements_of_a_shape_look_alike_and_share_no_note(places):
    found = find_hand(eighths(places), attacks_of(eighths(places)))
    if found is None or not isinstance(found.finding.what, Hand):
        return
    for shape in found.finding.what.shapes:
        assert any(move != (0, 0) for move in shape.moves)
        assert len(shape.notes) == len(shape.spans) == len(shape.moves) + 1
        assert len({i for notes in shape.notes for i in notes}) == sum(map(len, shape.notes))
    assert 0.0 <= found.finding.what.explains_share <= 1.0


@pytest.mark.parametrize(("millimetres", "marked"), [(100.0, 6), (125.0, 6), (140.0, 3)])
def test_wide_stretches_are_those_beyond_the_threshold(monkeypatch, millimetres, marked):
    # Five frets from the first one on are 126 mm, six 153 mm; a power chord at fret 5 is 53 mm.
    from riffract.analysis.hand import find as hand

    monkeypatch.setattr(hand, "WIDE_STRETCH_MM", millimetres)
    wide = [[(6, 1), (5, 5)], [(6, 2), (5, 3)], [(6, 1), (5, 6)], [(6, 5), (5, 7)]] * 3
    assert len(hand_of(chords(wide))[1].wide_stretches) == marked


@pytest.mark.parametrize("strokes", [4, 6])
def test_a_planted_shape_does_not_hang_on_the_shortest_row(monkeypatch, strokes):
    monkeypatch.setattr(moved_shape, "SHORTEST_STROKES", strokes)
    row = row_of(eighths([*moved(SHAPE, 0, 3), *moved(SHAPE, 0, 5), *moved(SHAPE, 0, 8)]))
    assert [(one.length, one.starts) for one in find_shapes(row)] == [(8, (0, 8, 16))]
