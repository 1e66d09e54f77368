"""P values, their adjustment for many, and random versions that keep the repeats."""

import csv
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st

from riffract.analysis.finding import Pass, Reading
from riffract.analysis.mirrors.palindrome import Evidence, best_bits
from riffract.analysis.reordering import Ids, Reordering
from riffract.music import Span
from riffract.weighing.chance import Chance, adjusted_for_many
from riffract.weighing.null_model import Cells, cells_of, orders_of, random_orders
from riffract.weighing.sequential import chances_of

SHARED = Path(__file__).parents[3] / "shared" / "data" / "reference"

# Benjamini & Hochberg, JRSS B 57/1 (1995), 289-300, the worked example of 15 p values, as quoted
# by the documentation of statistics libraries; the adjusted values were recomputed.
PUBLISHED_P = [
    *(0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459),
    *(0.3240, 0.4262, 0.5719, 0.6528, 0.7590, 1.000),
]
ADJUSTED = [0.0015, 0.0030, 0.0095, 0.035625, 0.0603, 0.063857, 0.063857, 0.0645, 0.0765]


def test_the_published_example_is_adjusted_as_published():
    adjusted = adjusted_for_many(PUBLISHED_P)
    assert adjusted[:9] == pytest.approx(ADJUSTED, abs=5e-7)
    assert sum(q <= 0.05 for q in adjusted) == 4


def test_the_reference_table_is_adjusted_row_by_row():
    table = SHARED / "multiple_testing_example.csv"
    if not table.exists():
        pytest.skip("the shared reference tables are not here")
    rows = list(csv.DictReader(table.read_text(encoding="utf-8").splitlines()))
    adjusted = adjusted_for_many([float(row["p"]) for row in rows])
    assert adjusted == pytest.approx([float(row["bh_adjusted"]) for row in rows], abs=1e-4)


@given(st.lists(st.floats(1e-9, 1.0), min_size=1, max_size=40))
def test_the_adjustment_equals_that_of_a_statistics_library(p_values):
    assert adjusted_for_many(p_values) == pytest.approx(
        scipy.stats.false_discovery_control(p_values), abs=1e-9
    )


@pytest.mark.parametrize(
    # Phipson & Smyth, Stat. Appl. Genet. Mol. Biol. 9/1 (2010), art. 39: (b + 1) / (m + 1).
    ("as_good", "draws", "p"),
    [(0, 99, 0.01), (0, 999, 0.001), (4, 99, 0.05), (49, 999, 0.05)],
)
def test_a_drawn_p_value_counts_the_music_itself(as_good, draws, p):
    chance = Chance(
        observed=1.0, draws=(1.0,) * as_good + (0.0,) * (draws - as_good), model="", seed=1
    )
    assert chance.p == pytest.approx(p)


def test_nothing_to_adjust_gives_nothing():
    assert adjusted_for_many([]) == ()


def asked(row: np.ndarray, attacks: np.ndarray | None = None) -> Reordering:
    bits = Evidence.of(row)
    return Reordering(
        items=row,
        attacks=np.arange(len(row)) if attacks is None else attacks,
        statistic=lambda orders: best_bits(row[orders], bits),
        kept="",
        one_note_weighs=1.0,
    )


def passes_of(length: int, count: int) -> Reading:
    whole = Span(0, 1)  # type: ignore[arg-type]  # where it stands plays no part here
    passes = tuple(
        Pass(
            span=whole,
            edits=(),
            truncated="none",
            pairs=tuple((k, number * length + k) for k in range(length)),
        )
        for number in range(count)
    )
    return Reading(template=whole, passes=passes, other=(), bits=0.0)


@given(st.integers(2, 5), st.integers(2, 7), st.integers(0, 10_000))
def test_every_statement_is_reordered_alike_and_nothing_is_lost(statements, length, seed):
    index = np.arange(statements * length)
    cells = Cells(statement=index // length, place=index % length, kept="")
    (order,) = random_orders(cells, 1, np.random.default_rng(seed))
    assert sorted(order.tolist()) == index.tolist()
    by_statement = order.reshape(statements, length)
    assert np.all(by_statement - by_statement[0] == (np.arange(statements) * length)[:, None])


def test_a_short_cell_that_repeats_is_kept_whatever_the_passes_are():
    row = np.array([0, 1, 1, 2] * 6)
    assert cells_of(asked(row), [passes_of(12, 2)]).place.max() == 3


def test_items_outside_all_passes_are_reordered_among_themselves():
    rng = np.random.default_rng(3)
    row = rng.permutation(26)
    cells = cells_of(asked(row), [passes_of(12, 2)])
    orders = random_orders(cells, 20, rng)
    assert np.all(np.sort(orders[:, 24:], axis=1) == [24, 25])
    assert len(np.unique(orders[:, 24:], axis=0)) == 2


def drawn(row: Ids, seed: int) -> Chance:
    (chance,) = chances_of([asked(row)], readings=(), seed=seed)
    assert chance is not None
    return chance


def test_a_palindrome_is_beyond_chance_and_keeps_its_draws():
    half = [0, 3, 1, 4, 2, 5, 6, 7]
    chance = drawn(np.array(half + half[::-1]), seed=1)
    assert chance.p <= 0.002
    assert len(chance.draws) == 999
    assert chance.effect > 3.0


def test_a_cell_that_mirrors_in_any_order_is_not_beyond_chance():
    chance = drawn(np.array([2, 1, 1] * 10), seed=1)
    assert chance.p == 1.0


def test_the_same_seed_draws_the_same():
    row = np.random.default_rng(5).integers(0, 6, 40)
    assert drawn(row, seed=9) == drawn(row, seed=9)


def test_of_random_rows_no_more_than_one_in_twenty_or_so_beats_nineteen_in_twenty():
    rng = np.random.default_rng(11)
    p_values = [drawn(rng.integers(0, 8, 60), seed=k).p for k in range(120)]
    # With 120 rows at 5 %, more than 13 would come about once in a hundred times.
    assert sum(p <= 0.05 for p in p_values) <= 13


def test_a_row_whose_runs_can_stand_in_one_order_only_cannot_be_asked():
    row = np.array([0, 1, 1, 2, 1, 0])
    assert chances_of([replace(asked(row), keeps_runs=True)], readings=(), seed=1) == [None]


def test_where_runs_are_kept_all_statements_follow_alike():
    riff = np.array([0, 1, 1, 0, 2, 2, 2, 0, 1, 0, 3, 1])
    row = np.concatenate([riff, riff])
    cells = cells_of(asked(row), [passes_of(12, 2)])
    orders = orders_of(replace(asked(row), keeps_runs=True), cells)(20, np.random.default_rng(3))
    assert np.all(orders[:, 12:] == orders[:, :12] + 12)
    assert len(np.unique(row[orders], axis=0)) > 1
    assert all(sorted(order[:12].tolist()) == list(range(12)) for order in orders)
