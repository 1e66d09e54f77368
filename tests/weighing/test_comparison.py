"""Standings, distances and the background that ships, against other libraries and by trying all."""

import json
from importlib.resources import files

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from numpy.typing import NDArray
from scipy import stats
from tests.making import passage

from riffract.weighing.comparing import likeness, standing
from riffract.weighing.comparing.background import (
    LEVELS,
    background,
    compare_with_background,
    shares_at,
    table_text,
    weighted_quantiles,
)
from riffract.weighing.comparing.likeness import Scales, distances, shared, spread_of
from riffract.weighing.comparing.measure import Values
from riffract.weighing.comparing.measured_part import measured_part
from riffract.weighing.comparing.measures_of import GROUPS, MEASURES
from riffract.weighing.comparing.profile import Profile, profile_of
from riffract.weighing.comparing.standing import Standing, counting_itself, remarkable
from riffract.weighing.comparing.surface import surface_of
from riffract.weighing.comparing.windows import WINDOW_ATTACKS

COUNT = len(MEASURES)
TABLES = arrays(
    np.float64,
    st.tuples(st.integers(2, 30), st.just(COUNT)),
    elements=st.floats(0, 100, width=16),
)


def standing_of(
    *, below: float, equal: float = 0.0, pieces: int = 100, value: float = 0.5
) -> Standing:
    return Standing(
        measure=MEASURES[2],
        value=value,
        lowest=value,
        highest=value,
        below_share=below,
        equal_share=equal,
        pieces=pieces,
    )


@given(st.lists(st.integers(0, 20), min_size=1, max_size=40), st.integers(0, 20))
def test_the_rank_is_the_percentile_of_a_statistics_library(values, value):
    below = sum(v < value for v in values) / len(values)
    equal = sum(v == value for v in values) / len(values)
    rank = standing_of(below=below, equal=equal, pieces=len(values)).rank_share
    # scipy's `mean` kind is the mid-rank.
    assert rank == pytest.approx(stats.percentileofscore(values, value, kind="mean") / 100)


def test_a_tie_with_many_is_not_rare():
    tied = standing_of(below=0.0, equal=0.7)
    assert tied.rank_share == pytest.approx(0.35)
    assert not tied.is_remarkable
    assert tied.as_low_share == pytest.approx(71 / 101)


def test_few_pieces_cannot_make_anything_rare():
    # (b + 1) / (n + 1) with b = 0, Phipson & Smyth (2010).
    assert standing_of(below=0.0, pieces=32).as_far_share == pytest.approx(1 / 33)
    assert not standing_of(below=1.0, pieces=32).is_remarkable
    assert standing_of(below=1.0, pieces=33).is_remarkable
    assert standing_of(below=0.0, pieces=33).side == "low"


@pytest.mark.parametrize("threshold", [0.015, 0.03, 0.06])
def test_halving_or_doubling_the_threshold_keeps_the_clear_cases(threshold, monkeypatch):
    monkeypatch.setattr(standing, "REMARKABLE_SHARE", threshold)
    rare, usual = standing_of(below=1.0, pieces=1000), standing_of(below=0.8, pieces=1000)
    assert remarkable((usual, rare)) == (rare,)


def test_a_standing_is_told_in_plain_words():
    rare = standing_of(below=0.0, pieces=1363, value=0.2)
    assert rare.sentence == (
        "The share of its commonest note value: 20 %. Fewer than 1 in 100 of the passages go as "
        "low or lower."
    )
    assert counting_itself(0.5, 1) == 0.75


@given(TABLES)
def test_scales_are_the_robust_ones_of_a_statistics_library(values):
    scales = Scales.of(values)
    mad = stats.median_abs_deviation(values, axis=0)
    assert scales.middle == pytest.approx(np.median(values, axis=0))
    has = mad > 0
    assert scales.spread[has] == pytest.approx(1.4826 * mad[has], rel=1e-5)
    assert scales.spread[~has] == pytest.approx(values.std(axis=0)[~has])


@given(TABLES)
def test_the_distance_is_the_formula_written_out(values):
    scales = Scales.of(values)
    found = distances(values, values[0], scales)
    for row, distance in zip(values, found, strict=True):
        means = []
        for group in GROUPS:
            squares = [
                min(abs(row[k] - values[0][k]) / scales.spread[k], 4.0) ** 2
                for k in group
                if scales.spread[k] > 0
            ]
            means += [sum(squares) / len(squares)] if squares else []
        expected = (sum(means) / len(means)) ** 0.5 if means else 0.0
        assert distance == pytest.approx(expected, abs=1e-9)
    assert found[0] == 0.0


@given(TABLES)
def test_distances_are_symmetric_and_keep_the_triangle(values):
    scales = Scales.of(values)
    a, b, c = values[0], values[1], values[-1]

    def apart(x: Values, y: Values) -> float:
        return float(distances(x[None, :], y, scales)[0])

    assert apart(a, b) == pytest.approx(apart(b, a))
    assert apart(a, c) <= apart(a, b) + apart(b, c) + 1e-9


@pytest.mark.parametrize("furthest", [2.0, 4.0, 8.0])
def test_where_differences_are_cut_does_not_change_the_nearest(furthest, monkeypatch):
    monkeypatch.setattr(likeness, "FURTHEST_SPREADS", furthest)
    rng = np.random.default_rng(1)
    values = rng.normal(size=(200, COUNT))
    near = values[17] + rng.normal(scale=0.1, size=COUNT)
    assert int(np.argmin(distances(values, near, Scales.of(values)))) == 17


@pytest.mark.parametrize("agrees", [0.25, 0.5, 0.75])
@pytest.mark.parametrize("out", [0.5, 1.0, 2.0])
def test_what_two_share_stands_out_in_both_at_any_near_threshold(agrees, out, monkeypatch):
    monkeypatch.setattr(likeness, "AGREES_SPREADS", agrees)
    monkeypatch.setattr(likeness, "STANDS_OUT_SPREADS", out)
    scales = Scales(middle=np.zeros(COUNT), spread=np.ones(COUNT))
    mine, other = np.zeros(COUNT), np.zeros(COUNT)
    mine[3], other[3] = 3.0, 2.9
    mine[5], other[5] = 3.0, 0.0
    assert shared(other, mine, scales) == (MEASURES[3],)


def test_a_measure_in_which_all_are_alike_counts_nothing():
    assert spread_of(np.array([0.0]), np.array([0.0])).tolist() == [0.0]
    scales = Scales(middle=np.zeros(COUNT), spread=np.zeros(COUNT))
    assert distances(np.ones((1, COUNT)), np.zeros(COUNT), scales).tolist() == [0.0]
    assert shared(np.ones(COUNT), np.zeros(COUNT), scales) == ()


@given(st.lists(st.tuples(st.integers(0, 50), st.integers(1, 4)), min_size=1, max_size=60))
def test_weighted_quantiles_are_those_of_a_numerical_library(rows):
    values = np.array([v for v, _ in rows], dtype=np.float64)
    weights = np.array([w for _, w in rows], dtype=np.float64)
    levels = np.array(LEVELS) / 100
    expected = np.quantile(values, levels, weights=weights, method="inverted_cdf")
    found = np.array(weighted_quantiles(values, weights))
    # At a step the two may differ by rounding of the cumulative weight: both are quantiles then.
    heights = np.array([weights[values <= v].sum() / weights.sum() for v in found])
    assert ((found == expected) | np.isclose(heights, levels)).all()


@given(st.lists(st.integers(0, 30), min_size=5, max_size=200), st.integers(0, 30))
def test_the_share_read_from_quantiles_is_near_the_true_one(values, value):
    row = np.array(values, dtype=np.float64)
    below, equal = shares_at(weighted_quantiles(row, np.ones(len(row))), float(value))
    # Levels lie five hundredths apart at most, so neither end can be farther off than that.
    assert below == pytest.approx((row < value).mean(), abs=0.0501)
    assert below + equal == pytest.approx((row <= value).mean(), abs=0.0501)


def test_a_profile_takes_the_lower_middle_window():
    windows = np.tile(np.array([[3.0], [1.0], [2.0], [9.0]], dtype=np.float32), COUNT)
    profile = Profile(window_attacks=8, windows=windows, turns=np.zeros(0, dtype=np.int64))
    assert profile.values.tolist() == [2.0] * COUNT


def test_the_background_says_what_it_is_and_covers_every_length_and_measure():
    table = background()
    assert {"CC0 1.0", "OpenScore Lieder Corpus", "commit"} <= {
        word
        for word in ("CC0 1.0", "OpenScore Lieder Corpus", "commit")
        if word in table["provenance"]
    }
    names = {m.name for m in MEASURES} - set(table["unfit"])
    for attacks in WINDOW_ATTACKS:
        of_length = table["windows"][str(attacks)]
        assert set(of_length["quantiles"]) == names
        assert of_length["pieces"] >= 300
        assert all(len(row) == len(LEVELS) for row in of_length["quantiles"].values())
        assert all(row == sorted(row) for row in of_length["quantiles"].values())
    size = len(files("riffract.weighing.comparing").joinpath("background.json").read_bytes())
    assert size < 60_000


def test_a_plain_scale_is_diatonic_and_common_and_a_whole_tone_run_is_rare():
    # Common practice: songs and quartets of the 19th century keep to the diatonic scale.
    scale = [60, 62, 64, 65, 67, 65, 64, 62] * 4
    whole = [60, 62, 64, 66, 68, 70, 68, 66] * 4
    found = {}
    for name, notes in (("scale", scale), ("whole", whole)):
        profile = profile_of(surface_of(passage([(p, 1) for p in notes])), 32)
        assert profile is not None
        comparison = compare_with_background(profile)
        found[name] = {s.measure.name: s for s in comparison.standings}
    assert found["scale"]["diatonic_fit"].value == 1.0
    assert not found["scale"]["diatonic_fit"].is_remarkable
    assert found["whole"]["whole_tone_fit"].is_remarkable
    assert found["whole"]["fourier_6_share"].side == "high"
    assert found["whole"]["fourier_6_share"].is_remarkable


def test_a_comparison_says_what_it_is_worth():
    profile = profile_of(surface_of(passage([(60 + k % 7, 1) for k in range(32)])), 32)
    assert profile is not None
    comparison = compare_with_background(profile)
    assert "Rare here means rare against" in comparison.caution
    assert "each piece counting as one" in comparison.caution
    assert "0 in 100 of them written for strings and frets" in comparison.caution
    assert "Not compared, since its pieces were chosen by it: chord_share" in comparison.caution
    assert comparison.by_measures == comparison.by_line == ()
    assert 0 < comparison.as_far_share <= 1


def test_the_table_counts_each_piece_as_one():
    rng = np.random.default_rng(1)

    def part(pitches: list[int], count: int) -> NDArray[np.float32]:
        notes = [(int(p), 1) for p in rng.choice(pitches, count)]
        return measured_part(passage(notes)).windows[0].values

    # One long piece of repeated notes must not outweigh two short ones that move.
    rows = [(0, part([60], 400)), (1, part([60, 64], 8)), (2, part([60, 64], 8))]
    table = json.loads(table_text({8: rows}, title="t", provenance="p"))
    quantiles = table["windows"]["8"]["quantiles"]["repeat_share"]
    assert table["windows"]["8"]["pieces"] == 3
    assert quantiles[LEVELS.index(50)] < 1.0
    assert quantiles[LEVELS.index(70)] == 1.0
