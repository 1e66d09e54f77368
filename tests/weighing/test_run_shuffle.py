"""Orders that keep runs: the shuffle of Altschul & Erickson, Mol. Biol. Evol. 2/6 (1985), 526-538,
against every order counted by hand."""

from collections import Counter
from itertools import groupby, pairwise, permutations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from riffract.analysis.reordering import Ids
from riffract.weighing.run_shuffle import moved_run_orders, run_orders

ROWS = st.lists(st.integers(0, 3), min_size=1, max_size=40).map(np.array)


def runs_of(row: Ids) -> list[tuple[int, int]]:
    return [(int(kind), len(list(group))) for kind, group in groupby(row.tolist())]


@given(row=ROWS, seed=st.integers(0, 1000))
def test_every_run_and_every_neighbourhood_is_kept(row, seed):
    runs = runs_of(row)
    for order in run_orders(row, 3, np.random.default_rng(seed)):
        assert sorted(order.tolist()) == list(range(len(row)))
        drawn = runs_of(row[order])
        assert Counter(pairwise(drawn)) == Counter(pairwise(runs))
        assert (drawn[0], drawn[-1]) == (runs[0], runs[-1])


def test_all_orders_are_equally_likely():
    row = np.array([0, 1, 0, 2, 1, 0, 0, 1, 2, 0, 1])
    runs = runs_of(row)
    wanted = Counter(pairwise(runs))
    inner = permutations(runs[1:-1])
    possible = {
        order
        for middle in inner
        if Counter(pairwise(order := (runs[0], *middle, runs[-1]))) == wanted
    }
    draws = 400 * len(possible)
    orders = run_orders(row, draws, np.random.default_rng(7))
    seen = Counter(tuple(runs_of(row[order])) for order in orders)
    assert set(seen) == possible
    assert len(possible) > 4
    # Chi squared with so many degrees of freedom stays below mean + 4 standard deviations.
    freedom = len(possible) - 1
    chi_squared = sum((count - 400) ** 2 / 400 for count in seen.values())
    assert chi_squared < freedom + 4 * (2 * freedom) ** 0.5


@given(row=ROWS, seed=st.integers(0, 1000))
def test_moved_runs_stay_as_long_as_they_were(row, seed):
    for order in moved_run_orders(row, 3, np.random.default_rng(seed)):
        assert sorted(order.tolist()) == list(range(len(row)))
        assert sorted(runs_of(row[order])) == sorted(runs_of(row))


def test_runs_are_moved_to_every_place_where_like_does_not_meet_like():
    row = np.array([0, 1, 0, 2, 1, 0, 0, 1, 2, 0, 1])
    possible = {
        order
        for order in permutations(runs_of(row))
        if all(one[0] != next_[0] for one, next_ in pairwise(order))
    }
    orders = moved_run_orders(row, 100 * len(possible), np.random.default_rng(7))
    seen = Counter(tuple(runs_of(row[order])) for order in orders)
    assert set(seen) == possible
    # Nearly equally likely: no order comes three times as often as it should.
    assert max(seen.values()) < 300


def test_a_palindrome_seldom_comes_back_where_its_runs_are_moved():
    # Keeping the neighbours as well keeps half of a palindrome, since each pair stands there twice.
    half = [1, 3, 2, 2, 1, 1, 6, 1, 2, 2, 1, 4, 1]
    row = np.array([*half, *half[::-1]])
    rng = np.random.default_rng(2)
    mirrors = [
        sum((row[order] == row[order][::-1]).mean() > 0.7 for order in draw(row, 400, rng))
        for draw in (run_orders, moved_run_orders)
    ]
    assert mirrors[1] <= 4 < mirrors[0]
