"""Limbs of a line: by hand, by brute force, and by their laws."""

from itertools import combinations, pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riffract.analysis.gestures.limbs import LineLimb, limbs_of, step_costs

lines = st.lists(st.integers(40, 76), min_size=1, max_size=40)


def shape(pitches: list[int]) -> list[tuple[int, int, str]]:
    return [(x.start, x.stop, x.direction) for x in limbs_of(pitches)]


def test_a_scale_is_one_limb() -> None:
    assert shape([12, 11, 9, 7, 5, 4, 2, 0]) == [(0, 8, "falling")]
    assert shape([0, 2]) == [(0, 2, "rising")]


def test_small_returns_stay_within_a_limb_and_larger_ones_do_not() -> None:
    # Common practice: a neighbour note is an ornament, a returning sixth is a new start.
    assert shape([12, 10, 11, 8, 7, 8, 5, 3, 0]) == [(0, 9, "falling")]
    assert shape([12, 10, 7, 15, 12, 10, 7]) == [(0, 3, "falling"), (3, 7, "falling")]


def test_to_and_fro_goes_nowhere() -> None:
    assert shape([0, 7] * 8) == [(0, 16, "turning")]
    assert shape([5, 6] * 8) == [(0, 16, "level")]


def test_a_fall_in_zigzag_is_a_fall() -> None:
    zigzag = [24 - 2 * i + (i % 2) * 3 for i in range(12)]
    assert shape(zigzag) == [(0, 12, "falling")]


def test_a_pitch_that_stands_still_is_level() -> None:
    assert shape([0] * 9) == [(0, 9, "level")]
    found = shape([9, 7, 5, 3, 2, *[0] * 14, 2, 4, 5, 7, 9])
    assert [direction for _, _, direction in found] == ["falling", "level", "rising"]


def test_a_slow_fall_of_repeated_notes_is_a_fall() -> None:
    gallop = [pitch for pitch in range(12, 0, -1) for _ in range(8)]
    assert shape(gallop) == [(0, 96, "falling")]


def test_a_turning_note_belongs_to_the_limb_that_it_ends() -> None:
    assert shape([9, 5, 0, 5, 9]) == [(0, 3, "falling"), (3, 5, "rising")]


@pytest.mark.parametrize(("strokes", "in_the_climb"), [(1, 1), (2, 1), (3, 2), (4, 2), (5, 3)])
@pytest.mark.parametrize("sign", [1, -1])
def test_both_limbs_share_the_strokes_of_the_pitch_they_turn_at(strokes, in_the_climb, sign):
    # Common practice: a line that is followed by its reverse turns between the two.
    climb, fall = [0, 2, 4, 7, 9], [9, 7, 4, 2, 0]
    line = [sign * pitch for pitch in [*climb, *[12] * strokes, *fall]]
    stop = len(climb) + in_the_climb
    assert [(x.start, x.stop) for x in limbs_of(line)] == [(0, stop), (stop, len(line))]


def test_an_odd_turning_stroke_starts_a_limb_where_that_cut_is_cheaper():
    line = [0, 4, 7, 12, 12, 12, 7, 4, 0]
    on_the_beat = [4.0 - (0.001 if i == 3 else 0.0) for i in range(len(line) - 1)]
    assert [x.start for x in limbs_of(line, cut_costs=on_the_beat)] == [0, 4]


def test_a_pass_starts_on_the_stroke_where_it_starts():
    line = [0, 4, 7, 12, 12, 12, 7, 4, 0]
    new_pass = [-4.0 if i == 2 else 4.0 for i in range(len(line) - 1)]
    assert [x.start for x in limbs_of(line, cut_costs=new_pass)] == [0, 3]


@given(st.lists(st.integers(1, 7), min_size=2, max_size=12), st.integers(1, 3))
def test_a_climb_and_its_reverse_are_two_equal_limbs(steps: list[int], pairs: int) -> None:
    climb = [sum(steps[:i]) for i in range(len(steps) + 1)]
    line = [*climb, *[climb[-1]] * 2 * (pairs - 1), *climb[::-1]]
    limbs = limbs_of(line)
    assert len(limbs) in {1, 2}
    if len(limbs) == 2:
        assert limbs[0].stop == len(line) / 2


def test_a_last_note_far_above_a_fall_stands_by_itself() -> None:
    assert shape([9, 7, 5, 3, 2, 0, 7]) == [(0, 6, "falling"), (6, 7, "level")]


def test_cuts_fall_where_they_are_cheap() -> None:
    cheap = [4.0, 3.5, 4.0, 4.0]
    found = limbs_of([9, 5, 0, 5, 9], cut_costs=cheap)
    assert [limb.start for limb in found] == [0, 2]


def test_short_lines_have_a_limb_and_empty_ones_none() -> None:
    assert limbs_of([]) == ()
    assert shape([60]) == [(0, 1, "level")]


def cost(pitches: list[int], starts: list[int], tolerance: float) -> float:
    steps = step_costs(pitches, tolerance)
    bounds = [*starts, len(pitches)]
    total = tolerance * (len(starts) - 1)
    for start, stop in pairwise(bounds):
        within = steps[start : stop - 1]
        total += min(sum(step[kind] for step in within) for kind in range(3))
    return total


def cheapest(pitches: list[int], tolerance: float) -> float:
    """Try every split."""
    inner = range(1, len(pitches))
    splits = ([0, *cuts] for k in range(len(pitches)) for cuts in combinations(inner, k))
    return min(cost(pitches, split, tolerance) for split in splits)


@settings(max_examples=60)
@given(st.lists(st.integers(0, 14), min_size=2, max_size=11), st.sampled_from([2.0, 4.0, 7.0]))
def test_no_split_is_cheaper(pitches: list[int], tolerance: float) -> None:
    starts = [limb.start for limb in limbs_of(pitches, tolerance_semitones=tolerance)]
    assert cost(pitches, starts, tolerance) == pytest.approx(cheapest(pitches, tolerance))


@given(lines)
def test_limbs_fill_the_line_without_gaps(pitches: list[int]) -> None:
    limbs = limbs_of(pitches)
    assert limbs[0].start == 0
    assert limbs[-1].stop == len(pitches)
    assert all(a.stop == b.start for a, b in pairwise(limbs))
    assert all(limb.start < limb.stop for limb in limbs)


@given(lines, st.integers(-30, 30))
def test_transposing_changes_no_limb(pitches: list[int], by: int) -> None:
    assert limbs_of([pitch + by for pitch in pitches]) == limbs_of(pitches)


@given(lines)
def test_turning_the_line_upside_down_swaps_falls_and_rises(pitches: list[int]) -> None:
    swapped = {"falling": "rising", "rising": "falling"}
    mirrored = [
        LineLimb(
            start=limb.start,
            stop=limb.stop,
            direction=swapped.get(limb.direction, limb.direction),  # type: ignore[arg-type]
        )
        for limb in limbs_of([-pitch for pitch in pitches])
    ]
    assert mirrored == list(limbs_of(pitches))


@given(lines)
def test_a_larger_tolerance_never_makes_more_limbs(pitches: list[int]) -> None:
    counts = [len(limbs_of(pitches, tolerance_semitones=t)) for t in (1.0, 4.0, 12.0, 100.0)]
    assert counts[-1] == 1
    assert counts == sorted(counts, reverse=True)
