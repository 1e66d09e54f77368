"""Two mirrors that share no note are told both, each against what chance makes of its own notes."""

from fractions import Fraction

import numpy as np
import pytest
from tests.making import passage

from riffract.analysis.finding import Mirror
from riffract.analysis.mirrors import in_time as mirror_in_time
from riffract.weighing.study import WeighedFinding
from riffract.weighing.weigh import study_passage

FIRST = (3, 1, 2, 6, 1, 1, 2)
"""Sixteenths, ours; with its reverse two bars of 4/4."""
SECOND = (2, 4, 1, 3, 1, 2, 3)


def rhythm_mirrors(values: list[int]) -> list[WeighedFinding]:
    pitches = np.random.default_rng(5).integers(40, 60, len(values)).tolist()
    line = [(pitch, Fraction(value, 4)) for pitch, value in zip(pitches, values, strict=True)]
    found = study_passage(passage(line)).findings
    return [
        f for f in found if isinstance(f.finding.what, Mirror) and f.finding.what.of == "rhythm"
    ]


def axes(found: list[WeighedFinding]) -> set[Fraction]:
    return {f.finding.what.axis_quarters for f in found if isinstance(f.finding.what, Mirror)}


def both() -> list[int]:
    return [*FIRST, *FIRST[::-1], *SECOND, *SECOND[::-1]]


def test_two_rhythms_that_each_read_the_same_backwards_are_both_solid():
    found = rhythm_mirrors(both())
    assert axes([f for f in found if f.is_solid]) == {Fraction(4), Fraction(12)}


@pytest.mark.parametrize("run", [3, 4])
def test_which_runs_count_as_chugging_moves_neither(run: int, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(mirror_in_time, "CHUG_RUN", run)
    assert axes([f for f in rhythm_mirrors(both()) if f.is_solid]) == {Fraction(4), Fraction(12)}


def test_the_lesser_one_is_asked_of_the_notes_that_the_better_one_leaves():
    asked = [f.chance.model for f in rhythm_mirrors(both()) if f.chance is not None]
    assert sorted("all but the better mirrors" in model for model in asked)[-1]


@pytest.mark.parametrize("seed", range(12))
def test_beside_one_mirror_other_values_in_any_order_hold_no_solid_second_one(seed: int):
    """Own expectation: chance gives one in twenty at most; of these twelve none."""
    rest = np.random.default_rng(seed).permutation([*SECOND, *SECOND]).tolist()
    solid = [f for f in rhythm_mirrors([*FIRST, *FIRST[::-1], *rest]) if f.is_solid]
    assert axes(solid) <= {Fraction(4)}


def test_a_row_chugs_by_its_runs_not_by_a_frequent_value():
    chugging = np.array([0, 0, 0, 0, 1, 0, 0, 0, 2, 0, 0, 0])
    frequent = np.array([0, 1, 0, 0, 2, 0, 1, 0, 0, 2, 0, 1])
    assert mirror_in_time.chugs(chugging)
    assert not mirror_in_time.chugs(frequent)
