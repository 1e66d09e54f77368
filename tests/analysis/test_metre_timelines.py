"""Rhythms that go round, against published and recomputed tables."""

from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.reference_tables import rows_of

from riffract.analysis.metre.timeline import (
    chord_sum,
    evenness,
    interonset_intervals,
    is_non_retrogradable,
    is_rhythmically_odd,
    off_beatness,
    pairwise_variability,
)

# Toussaint, The Geometry of Musical Rhythm (2013): son is written there as onsets 0 3 6 10 12.
SIX = {
    "shiko": "x...x.x...x.x...",
    "son": "x..x..x...x.x...",
    "rumba": "x..x...x..x.x...",
    "soukous": "x..x..x...xx....",
    "gahu": "x..x..x...x...x.",
    "bossa nova": "x..x..x...x..x..",
}


def onsets_in(pattern: str) -> tuple[int, ...]:
    return tuple(k for k, sign in enumerate(pattern) if sign == "x")


def euclidean(onsets: int, pulses: int) -> tuple[int, ...]:
    """Spread onsets as evenly as whole pulses allow: Bjorklund (2003), Toussaint (2005)."""
    return tuple(i for i in range(pulses) if i * onsets % pulses < onsets)


def test_every_timeline_of_the_table_has_its_measures():
    # timelines.csv: ten timelines (Toussaint) and 27 Euclidean rhythms, all computed.
    rows = rows_of("timelines.csv")
    assert len(rows) == 37
    for row in rows:
        onsets, pulses = onsets_in(row["pattern"]), int(row["pulses"])
        intervals = interonset_intervals(onsets, pulses)
        odd, off = row["rhythmic_oddity"], row["offbeatness"]
        assert (len(row["pattern"]), len(onsets)) == (pulses, int(row["onsets"]))
        assert "-".join(map(str, intervals)) == row["interonset_intervals"]
        assert is_rhythmically_odd(onsets, pulses) == (bool(int(odd)) if odd else None)
        assert off_beatness(onsets, pulses) == (int(off) if off else None)
        assert chord_sum(onsets, pulses) == pytest.approx(float(row["chord_evenness"]), abs=1e-6)
        assert pairwise_variability(intervals) == pytest.approx(
            float(row["npvi_one_cycle"]), abs=1e-4
        )
        is_palindrome = list(intervals) == list(intervals)[::-1]
        assert is_palindrome == bool(int(row["intervals_palindromic_from_start"]))


def test_chords_tell_the_six_apart():
    # From memory, by the same author: distances along the circle would not, they add up to 48 each.
    assert len({round(chord_sum(onsets_in(p), 16), 4) for p in SIX.values()}) == 6


# Grabe & Low (2002), worked values: alternating 1 and 2, alternating 3 and 1, and equal durations.
@pytest.mark.parametrize(
    ("durations", "npvi"), [((1, 2) * 4, 66.667), ((3, 1) * 4, 100.0), ((2,) * 5, 0.0)]
)
def test_pairwise_variability_has_its_published_values(durations, npvi):
    assert pairwise_variability(durations) == pytest.approx(npvi, abs=1e-3)


@pytest.mark.parametrize("length", range(1, 13))
def test_as_many_rows_of_durations_are_palindromes_as_there_can_be(length):
    # Palindromic compositions of n: 2^floor(n/2) (enumeration); equal rows say nothing.
    words = (
        [
            w
            for k in range(1, length + 1)
            for w in product(range(1, length + 1), repeat=k)
            if sum(w) == length
        ]
        if length < 7
        else []
    )
    for word in words:
        says = is_non_retrogradable(word)
        is_equal_or_short = len(word) < 3 or len(set(word)) == 1
        assert says is None if is_equal_or_short else says == (word == word[::-1])
    if words:
        assert sum(w == w[::-1] for w in words) == 2 ** (length // 2)


def test_what_is_not_defined_is_none_and_not_nothing():
    assert is_rhythmically_odd((0, 2), 5) is None
    assert off_beatness((0, 1, 3), 7) is None
    assert off_beatness((0,), 3) is None
    assert pairwise_variability((4,)) is None
    assert evenness((0,), 4) is None
    assert is_non_retrogradable((1, 1, 1)) is None


def test_onsets_that_do_not_fit_their_cycle_are_refused():
    with pytest.raises(ValueError, match=r"onsets must rise, got \(3, 1\)"):
        interonset_intervals((3, 1), 8)
    with pytest.raises(ValueError, match=r"onsets must lie in 0\.\.7, got \(0, 8\)"):
        chord_sum((0, 8), 8)
    with pytest.raises(ValueError, match="a cycle has one pulse or more, got 0"):
        chord_sum((), 0)


cycles = st.integers(2, 24).flatmap(
    lambda n: st.tuples(st.sets(st.integers(0, n - 1), min_size=2), st.just(n), st.integers(0, n))
)


@given(cycles)
def test_turning_a_cycle_changes_nothing_that_is_said_of_the_circle(cycle):
    struck, pulses, turn = cycle
    onsets = tuple(sorted(struck))
    turned = tuple(sorted((onset + turn) % pulses for onset in onsets))
    assert chord_sum(turned, pulses) == pytest.approx(chord_sum(onsets, pulses))
    assert is_rhythmically_odd(turned, pulses) == is_rhythmically_odd(onsets, pulses)


@given(cycles, st.integers(2, 4))
def test_finer_pulses_change_no_evenness(cycle, times):
    struck, pulses, _ = cycle
    onsets = tuple(sorted(struck))
    finer = tuple(onset * times for onset in onsets)
    assert evenness(finer, pulses * times) == pytest.approx(evenness(onsets, pulses))


@pytest.mark.parametrize(("onsets", "pulses"), [(2, 4), (3, 12), (5, 15), (7, 7)])
def test_regular_polygons_are_the_most_even(onsets, pulses):
    assert evenness(euclidean(onsets, pulses), pulses) == pytest.approx(1.0)


def test_no_rhythm_of_five_in_sixteen_is_more_even_than_the_euclidean_one():
    from itertools import combinations

    best = max(chord_sum((0, *rest), 16) for rest in combinations(range(1, 16), 4))
    assert chord_sum(euclidean(5, 16), 16) == pytest.approx(best)
