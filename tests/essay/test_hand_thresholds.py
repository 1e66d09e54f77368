"""Thresholds of what is set by hand: halved, doubled or next to it, they decide nothing else."""

from fractions import Fraction
from importlib.resources import files

import pytest
from tests import making

from riffract.essay.by_hand import axis as hand_axis
from riffract.essay.by_hand import riff as hand_riff
from riffract.essay.by_hand.axis import axes_by_hand
from riffract.essay.by_hand.measured import chance_text
from riffract.essay.by_hand.riff import attacks_within, riff_by_hand
from riffract.formats.tab import read_tab
from riffract.weighing.view import View, view_of


@pytest.fixture(scope="module")
def view() -> View:
    found = read_tab((files("riffract.demo") / "passage.tab").read_text(encoding="utf-8")).passage
    assert found is not None
    return view_of(found, seed=1)


@pytest.mark.parametrize("draws", [249, 499, 998])
def test_more_orders_or_fewer_tell_the_same_axes_from_chance(view: View, monkeypatch, draws: int):
    monkeypatch.setattr(hand_axis, "DRAWS", draws)
    best = max(axes_by_hand(view, "rhythm"), key=lambda axis: axis.bits)
    assert (best.at_quarters, best.p < 0.05) == (Fraction(345, 8), True)
    assert all(axis.p > 0.05 for axis in axes_by_hand(view, "retrograde"))


@pytest.mark.parametrize("fewest", [3, 4, 5, 8])
def test_the_fewest_things_of_a_row_do_not_decide_about_longer_ones(view, monkeypatch, fewest):
    before = axes_by_hand(view, "rhythm")
    monkeypatch.setattr(hand_axis, "FEWEST_ITEMS", fewest)
    assert axes_by_hand(view, "rhythm") == before


@pytest.mark.parametrize("fewest", [2, 3, 4])
def test_the_fewest_attacks_of_a_riff_do_not_decide_about_longer_ones(view, monkeypatch, fewest):
    first, count = attacks_within(view.attacks, view.readings[0].template)
    before = riff_by_hand(view.passage, first, count)
    monkeypatch.setattr(hand_riff, "FEWEST_ATTACKS", fewest)
    assert riff_by_hand(view.passage, first, count) == before


@pytest.mark.parametrize("odds", [5e5, 1e6, 2e6])
def test_the_largest_odds_that_are_told_do_not_make_a_weak_riff_strong(view, monkeypatch, odds):
    monkeypatch.setattr(hand_riff, "_MOST_ODDS", odds)
    first, count = attacks_within(view.attacks, view.readings[0].template)
    strong = riff_by_hand(view.passage, first, count)
    weak = riff_by_hand(view.passage, 0, len(view.attacks))
    assert strong.most_chance == 1 / odds
    assert chance_text(weak.most_chance) == "no better than chance"


@pytest.mark.parametrize("same", [5e-4, 1e-3, 2e-3])
def test_sums_that_count_as_equal_do_not_change_a_chance(monkeypatch, same: float):
    # A palindrome of values, so that its axis is as good as any order can be.
    values = [1, 2, 1, 3, 4, 3, 1, 2, 1]
    one = view_of(making.passage([(45 + i % 3, v) for i, v in enumerate(values)]), seed=1)
    before = [axis.p for axis in axes_by_hand(one, "rhythm")]
    monkeypatch.setattr(hand_axis, "_SAME_BITS", same)
    assert [axis.p for axis in axes_by_hand(one, "rhythm")] == before
