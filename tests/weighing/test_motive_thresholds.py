"""Halving or doubling what was chosen does not change what comes back, or that noise does not."""

from fractions import Fraction
from importlib import import_module
from math import log2

import numpy as np
import pytest
from tests.making import passage
from tests.weighing.test_of_motives import best_of, pedal, planted, smallest_p, up, walk

from riffract.analysis.finding import Motive

CHOICES = [
    ("analysis.motives.change", "KEPT_TIMES_SHARE", (Fraction(1, 4), Fraction(3, 4))),
    ("analysis.motives.extension", "DROP_BITS", (5.0, 20.0)),
    ("analysis.motives.extension", "_OTHER_TIME_BITS", (log2(0.125), log2(0.5))),
    ("analysis.motives.extension", "FURTHEST_NOTES", (256, 1024)),
    ("analysis.motives.line", "CHANGED_SHARE", (Fraction(1, 4), Fraction(3, 4))),
    ("analysis.motives.prices", "ANY_INTERVAL_SHARE", (0.05, 0.2)),
    ("analysis.motives.prices", "MOST_TELLING_BITS", (3.5, 6.0)),
    ("analysis.motives.prices", "DOUBLED_BITS", (1.0, 4.0)),
    ("analysis.motives.prices", "SCALED_BITS", (2.0, 8.0)),
    ("analysis.motives.runs", "SEEDS_PER_EVENT", (2.0, 8.0)),
    ("analysis.motives.search", "RUNS_FOLLOWED", (2, 8)),
    ("analysis.motives.search", "MOST_RETURNS", (64, 256)),
    ("analysis.motives.told", "FEWEST_NOTES", (3, 6)),
    ("analysis.motives.told", "SAME_SHARE", (0.25, 0.75)),
    ("analysis.motives.told", "MOST_TOLD", (6, 24)),
    ("weighing.motive_versions", "PEDAL_SHARE", (0.1, 0.4)),
    ("weighing.motive_versions", "CELL_NOTES", (3, 6)),
    ("weighing.motive_versions", "FEWEST_CELLS", (6, 12)),
    ("weighing.of_motives", "VERSIONS", (30, 120)),
    ("weighing.of_motives", "HOPELESS_P", (0.15, 0.6)),
]


@pytest.mark.parametrize(
    ("module", "name", "value"),
    [
        pytest.param(module, name, value, id=f"{name} {value}")
        for module, name, values in CHOICES
        for value in values
    ],
)
def test_neighbouring_choices_give_the_same_answers(monkeypatch, module, name, value):
    monkeypatch.setattr(import_module(f"riffract.{module}"), name, value)
    found = best_of(planted(np.random.default_rng(3), up))
    assert isinstance(found.finding.what, Motive)
    assert found.finding.what.transform.transposition == 5
    assert len(found.finding.what.return_.notes) >= 12
    assert found.chance is not None
    assert found.chance.p <= 0.005
    for make in (walk, pedal):
        assert smallest_p(passage(make(np.random.default_rng(77), 40)), [], 1) > 0.05


@pytest.mark.parametrize("factor", [0.5, 2.0])
def test_changes_and_notes_put_in_may_be_twice_or_half_as_dear(monkeypatch, factor):
    moves = import_module("riffract.analysis.motives.extension").MOVES
    dearer = {
        move: price if move == (1, 1) else price - log2(factor) for move, price in moves.items()
    }
    monkeypatch.setattr("riffract.analysis.motives.extension.MOVES", dearer)
    found = best_of(planted(np.random.default_rng(3), up))
    assert isinstance(found.finding.what, Motive)
    assert found.finding.what.transform.transposition == 5
    assert found.chance is not None
    assert found.chance.p <= 0.005
