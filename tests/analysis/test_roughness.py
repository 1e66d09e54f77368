"""Roughness against computed tables, and by its laws."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.reference_tables import rows_of

from riffract.analysis.drones import roughness
from riffract.analysis.drones.roughness import (
    roughness_between,
    roughness_of,
    roughness_of_rows,
    sethares,
    vassilakis,
)
from riffract.music.notes import NO_PITCH

A2, A4 = 45, 69


def test_all_values_agree_with_the_reference_table() -> None:
    one, half = np.array(1.0), np.array(0.5)
    for row in rows_of("roughness_checks.csv"):
        n = int(row["semitones"])
        low, high = np.array(440.0), np.array(float(row["f2_hz_over_440"]))
        pure = sethares(low, high, one, one), vassilakis(low, high, one, one)
        assert pure[0] == pytest.approx(float(row["sethares_pure_equal"]), abs=2e-8)
        assert pure[1] == pytest.approx(float(row["vassilakis_pure_equal"]), abs=2e-8)
        uneven = vassilakis(low, high, one, half)
        assert uneven == pytest.approx(float(row["vassilakis_pure_1_to_0.5"]), abs=2e-8)
        for model, name in ((sethares, "sethares"), (vassilakis, "vassilakis")):
            expected = float(row[f"{name}_6partials_from_110hz"])
            assert roughness_of((A2, A2 + n), model) == pytest.approx(expected, abs=1e-6)


# Derived: the bracket exp(-3.5 u) - exp(-5.75 u) is greatest at u = ln(5.75 / 3.5) / 2.25 = .2206,
# where it is .1808; so 19.3 Hz above 100 Hz, 25.8 Hz above 440 Hz, 36.5 Hz above 1000 Hz.
@pytest.mark.parametrize(
    ("f1_hz", "apart_hz"), [(100, 19.3), (200, 21.2), (440, 25.8), (1000, 36.5)]
)
def test_pure_tones_are_roughest_at_a_register_bound_distance(
    f1_hz: float, apart_hz: float
) -> None:
    apart = np.arange(1, 1000) / 10
    values = sethares(np.array(float(f1_hz)), f1_hz + apart, np.array(1.0), np.array(1.0))
    assert apart[values.argmax()] == pytest.approx(apart_hz, abs=0.15)
    assert values.max() == pytest.approx(0.180775, abs=1e-5)


def test_a_low_third_is_rougher_than_a_low_semitone_between_pure_tones() -> None:
    # The trap of the register: at 100 Hz the roughest pure interval is a minor third.
    one, low = np.array(1.0), np.array(100.0)
    by_semitones = [float(sethares(low, low * 2 ** (n / 12), one, one)) for n in range(1, 8)]
    assert by_semitones.index(max(by_semitones)) + 1 == 3


pitches = st.lists(st.integers(20, 100), min_size=1, max_size=6)


@given(pitches)
def test_rows_are_as_rough_as_their_notes_and_silent_strings_add_nothing(row: list[int]) -> None:
    padded = np.array([[*row, NO_PITCH], [NO_PITCH] * (len(row) + 1)])
    assert roughness_of_rows(padded) == pytest.approx(np.array([roughness_of(row), 0.0]))


@given(st.integers(20, 100), st.integers(20, 100))
def test_roughness_is_the_same_either_way_and_never_negative(a: int, b: int) -> None:
    assert roughness_between(a, b) == pytest.approx(roughness_between(b, a))
    assert roughness_between(a, b) >= 0


@pytest.mark.parametrize("partials", [4, 8])
def test_more_or_fewer_partials_leave_the_fifth_and_octave_smoothest(
    partials: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(roughness, "PARTIALS", partials)
    roughness._between.cache_clear()
    try:
        values = {n: roughness_between(A2, A2 + n) for n in range(1, 13)}
        assert sorted(values, key=lambda n: values[n])[:2] == [12, 7]
    finally:
        roughness._between.cache_clear()
