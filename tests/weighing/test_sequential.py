"""Drawing until it is plain: as valid as drawing all, and the same whatever is asked beside it."""

from dataclasses import replace
from itertools import pairwise, permutations

import numpy as np
import pytest
from bench.controls import CONTROLS
from bench.plants import PLANTS

from riffract.analysis.mirrors.palindrome import Evidence, best_bits
from riffract.analysis.reordering import Ids, Reordering
from riffract.weighing import null_model, sequential, short_cell
from riffract.weighing.chance import Chance
from riffract.weighing.sequential import DRAWS, ENOUGH_AS_GOOD, chances_of, most_draws_for
from riffract.weighing.weigh import study_passage


def palindromes(row: Ids) -> Reordering:
    evidence = Evidence.of(row)
    return Reordering(
        items=row,
        attacks=np.arange(len(row)),
        statistic=lambda orders: best_bits(row[orders], evidence),
        kept="",
        one_note_weighs=1.0,
    )


def rising(row: Ids) -> Reordering:
    """Ask how often the row rises."""
    return replace(
        palindromes(row),
        statistic=lambda orders: (np.diff(row[orders], axis=1) > 0).sum(axis=1).astype(float),
    )


def chance(row: Reordering, seed: int = 1) -> Chance:
    (drawn,) = chances_of([row], readings=(), seed=seed)
    assert drawn is not None
    return drawn


def test_drawing_stops_at_the_tenth_version_that_does_as_well():
    row = np.random.default_rng(1).integers(0, 5, 30)
    drawn = chance(palindromes(row))
    as_good = [draw >= drawn.observed - 1e-9 for draw in drawn.draws]
    assert sum(as_good) == ENOUGH_AS_GOOD
    assert as_good[-1]
    assert drawn.p == pytest.approx((ENOUGH_AS_GOOD + 1) / (len(as_good) + 1))


def test_a_stopped_p_value_is_no_smaller_than_besag_and_cliffords():
    # Besag & Clifford, Biometrika 78/2 (1991), 301-304: stopped at the h-th of l draws, p = h / l.
    for seed in range(40):
        row = np.random.default_rng(seed).integers(0, 5, 24)
        drawn = chance(palindromes(row))
        if len(drawn.draws) < DRAWS:
            assert drawn.p >= ENOUGH_AS_GOOD / len(drawn.draws)


def test_the_p_value_agrees_with_counting_every_order():
    row = np.array([3, 1, 4, 0, 5, 2, 6])
    asked = rising(row)
    every = asked.statistic(np.array(list(permutations(range(7)))))
    exact = float((every >= asked.observed).mean())
    drawn = [chance(asked, seed).p for seed in range(30)]
    # Each is known to about a third of itself, the mean of thirty to a sixteenth.
    assert np.mean(drawn) == pytest.approx(exact, rel=0.25)


def test_random_rows_have_small_p_values_as_rarely_as_those_say():
    rng = np.random.default_rng(3)
    p_values = np.array([chance(rising(rng.permutation(12)), k).p for k in range(400)])
    # Of 400 at a level a, more than 400 a + 2.6 sqrt(400 a (1 - a)) come once in two hundred times.
    for level in (0.01, 0.05, 0.1, 0.2):
        most = 400 * level + 2.6 * (400 * level * (1 - level)) ** 0.5
        assert (p_values <= level).sum() <= most


def test_rows_asked_together_have_the_answers_they_have_alone():
    row = np.random.default_rng(4).integers(0, 6, 40)
    together = chances_of([palindromes(row), rising(row)], readings=(), seed=7)
    alone = [chances_of([one], readings=(), seed=7)[0] for one in (palindromes(row), rising(row))]
    assert together == alone


def test_a_row_that_comes_out_the_same_is_drawn_often_enough_to_call_it_trivial():
    flat = replace(palindromes(np.arange(12)), statistic=lambda orders: np.zeros(len(orders)))
    drawn = chance(flat)
    assert drawn.p == 1.0
    assert len(drawn.draws) >= sequential.TRIVIAL_DRAWS


def test_long_rows_get_fewer_versions_but_never_too_few_to_judge_by():
    assert most_draws_for(300) == DRAWS
    assert most_draws_for(100_000) < DRAWS
    assert most_draws_for(10**9) == sequential.TRIVIAL_DRAWS


def test_where_neighbours_leave_no_choice_nothing_is_asked():
    row = replace(palindromes(np.arange(20)), keeps_neighbours=True)
    assert chances_of([row], readings=(), seed=1) == [None]


# ---- how much hangs on the thresholds --------------------------------------------------------

THRESHOLDS = [
    (sequential, "ENOUGH_AS_GOOD"),
    (sequential, "DRAWS_AT_ONCE"),
    (sequential, "FIRST_DRAWS"),
    (sequential, "TRIVIAL_DRAWS"),
    (sequential, "ITEMS_AT_ONCE"),
    (sequential, "ITEMS_DRAWN"),
    (short_cell, "LONGEST_CELL"),
    (short_cell, "FEWEST_ROUNDS"),
]


@pytest.mark.parametrize("factor", [0.5, 2.0])
@pytest.mark.parametrize(("module", "name"), THRESHOLDS, ids=[f"{name}" for _, name in THRESHOLDS])
def test_half_or_double_a_threshold_changes_no_verdict(module, name, factor, monkeypatch):
    monkeypatch.setattr(module, name, max(int(getattr(module, name) * factor), 1))
    plant = PLANTS["retrograde"](1)
    found = [f for f in study_passage(plant.music).of_kind(plant.kind) if f.is_solid]
    assert any(plant.is_named(f.finding.what) and plant.is_placed(f.finding) for f in found)
    for control in ("uniform", "first-order chain"):
        study = study_passage(CONTROLS[control].draw(0))
        assert not [f for f in study.findings if f.is_solid]


@pytest.mark.parametrize("share", [0.8, 0.98])
def test_a_chain_is_asked_at_neighbouring_shares_too(share, monkeypatch):
    monkeypatch.setattr(sequential, "DIFFERENT_SHARE", share)
    study = study_passage(CONTROLS["first-order chain"].draw(0))
    assert not [f for f in study.findings if f.is_solid]


@pytest.mark.parametrize("share", [0.85, 0.95])
def test_a_cell_is_short_enough_at_neighbouring_shares_too(share, monkeypatch):
    monkeypatch.setattr(short_cell, "LEAST_SHARE", share)
    assert short_cell.short_cell(np.array([0, 1, 1, 2] * 6)) == 4
    assert short_cell.short_cell(np.random.default_rng(1).integers(0, 6, 60)) is None


def test_neighbours_are_kept_by_every_version_of_a_chain():
    rng = np.random.default_rng(2)
    row = replace(palindromes(rng.integers(0, 4, 60)), keeps_neighbours=True)
    cells = null_model.cells_of(row, ())
    orders = null_model.orders_of(row, cells)(30, rng)
    pairs = [sorted(pairwise(line)) for line in row.items[orders].tolist()]
    own = row.items.tolist()
    assert all(one == sorted(pairwise(own)) for one in pairs)
