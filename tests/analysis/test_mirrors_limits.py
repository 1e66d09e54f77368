"""A mirror is cut only where a riff's own repeats would carry it on, and then says so."""

from fractions import Fraction

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.making import passage

from riffract.analysis.finding import Mirror
from riffract.analysis.mirrors.axis_walk import FURTHEST_PAIRS, Walk
from riffract.analysis.mirrors.in_time import retrograde_mirrors
from riffract.analysis.mirrors.limits import walk_along
from riffract.analysis.mirrors.palindrome import Evidence, axis_bits, walked
from riffract.analysis.mirrors.rows import attack_items
from riffract.music import Passage
from riffract.music.span import Span
from riffract.weighing.view import view_of
from riffract.weighing.weigh import study_passage

SMALL = [(40, 1), (47, 2), (43, 1), (48, 3), (43, 1), (47, 2), (40, 2)]
"""Ours: nearly the same backwards in itself, in pitch."""
MIDDLE = [(52, 1), (55, 3), (50, 2), (57, 1), (45, 3), (49, 2)]


def sixteenths(line: list[tuple[int, int]]) -> Passage:
    return passage([(pitch, Fraction(value, 4)) for pitch, value in line])


def retrogrades(music: Passage) -> list[tuple[Mirror, float, str]]:
    return [
        (f.finding.what, f.finding.measures["pairs_agree"], f.finding.detail)
        for f in study_passage(music).findings
        if isinstance(f.finding.what, Mirror) and f.finding.what.of == "retrograde"
    ]


def test_a_mirror_that_ends_as_it_began_is_followed_to_its_end():
    half = [*SMALL, *MIDDLE]
    music = sixteenths([(60, 2), (61, 1), (66, 1), *half, *half[::-1], (68, 3), (63, 1)])
    what, pairs, detail = max(retrogrades(music), key=lambda found: found[1])
    assert pairs == len(half)
    assert what.reach_quarters == sum(Fraction(v, 4) for _, v in half)
    assert "statement" not in detail


def test_a_riff_repeated_at_once_limits_its_mirror_where_both_limbs_stay_in_it():
    riff = [(40, 2), (47, 2), (43, 2), (50, 2), (43, 2), (47, 2), (40, 2), (52, 2)]
    music = sixteenths(riff * 4)
    runs = [tuple(Span(Fraction(4 * k), Fraction(4 * k + 4)) for k in range(4))]
    walk = walk_along(attack_items(music, view_of(music, seed=1).attacks), runs)
    # The peak of the second statement: nine pairs outwards its limbs still lie in the four.
    assert walk.limit_of(2 * 11) == len(riff)
    # That of the first: the left limb leaves them before.
    assert walk.limit_of(2 * 3) == FURTHEST_PAIRS


def test_the_detail_says_what_the_repeats_add():
    line = [(pitch, 2) for pitch in (40, 47, 43, 50, 43, 47, 40, 52)] * 4
    music = sixteenths(line)
    attacks = view_of(music, seed=1).attacks
    runs = [tuple(Span(Fraction(4 * k), Fraction(4 * k + 4)) for k in range(4))]
    items = attack_items(music, attacks)
    (one, *_) = retrograde_mirrors(music, items, "all strings", runs)
    measures = one.finding.measures
    assert measures["pairs"] == 8
    assert measures["pairs_with_repeats"] > measures["pairs"]
    assert "one statement of the riff" in one.finding.detail


@given(
    st.lists(st.integers(0, 2), min_size=4, max_size=18),
    st.lists(st.integers(1, 9), min_size=33, max_size=33),
    st.booleans(),
)
def test_walking_all_axes_at_once_keeps_each_limit(row: list[int], most: list[int], turned: bool):
    ids = np.array(row, dtype=np.int64)
    limits = np.array(most[: 2 * len(row) - 3], dtype=np.int64)
    walk, evidence = Walk(turned=turned, most_pairs=limits), Evidence.of(ids)
    at_once = axis_bits(ids[None, :], evidence, walk)[0]
    one_by_one = [walked(ids, evidence, walk, d).bits for d in range(1, 2 * len(row) - 2)]
    np.testing.assert_allclose(at_once, one_by_one, atol=1e-3)


@settings(deadline=None)
@given(st.integers(2, 6), st.integers(2, 7), st.integers(0, 5), st.integers(0, 5))
def test_limits_bind_where_both_limbs_lie_within_the_repeats(
    times: int, length: int, before: int, after: int
):
    count = before + times * length + after
    music = sixteenths([(40 + k % 7, 1) for k in range(count)])
    items = attack_items(music, view_of(music, seed=1).attacks)
    starts = [Fraction(before + k * length, 4) for k in range(times)]
    run = tuple(Span(start, start + Fraction(length, 4)) for start in starts)
    walk = walk_along(items, [run])
    first, end = before, before + times * length
    for doubled in range(1, 2 * count - 2):
        left = (doubled - 1) // 2 - length
        is_inside = left >= first and doubled - left < end
        assert walk.limit_of(doubled) == (length if is_inside else FURTHEST_PAIRS)
