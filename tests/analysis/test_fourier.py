"""Fourier magnitudes of pitch classes against published values."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.reference_tables import rows_of

from riffract.analysis.fourier import magnitudes, shares
from riffract.analysis.pitch_class_set import pcs_of, set_sizes
from riffract.analysis.set_class import set_class_of


def plain(pcs: tuple[int, ...]) -> list[float]:
    return [float(pc in pcs) for pc in range(12)]


# Quinn, Perspectives of New Music 44/2-45/1 (2006-07), and Amiot, Music Through Fourier Space
# (2016): each collection is the extreme of one coefficient; values from the definition.
@pytest.mark.parametrize(
    ("pcs", "k", "expected"),
    [
        ((0, 1, 4, 5, 8, 9), 3, 3 * 2**0.5),
        ((0, 1, 3, 4, 6, 7, 9, 10), 4, 4.0),
        ((0, 2, 4, 5, 7, 9, 11), 5, 2 + 3**0.5),
        ((0, 2, 4, 6, 8, 10), 6, 6.0),
        ((0, 1, 2, 6, 7, 8), 2, 4.0),
    ],
)
def test_each_collection_is_the_extreme_of_one_magnitude(
    pcs: tuple[int, ...], k: int, expected: float
) -> None:
    found = magnitudes(plain(pcs))
    assert found[k] == pytest.approx(expected)
    of_size = [m for m in range(4096) if m.bit_count() == len(pcs)]
    assert found[k] == pytest.approx(max(magnitudes(plain(pcs_of(m)))[k] for m in of_size))


def test_all_magnitudes_agree_with_the_reference_table() -> None:
    for row in rows_of("dft_magnitudes.csv"):
        pcs = tuple(map(int, row["pitch_classes"].split()))
        expected = [float(row[f"f{k}"]) for k in range(7)]
        assert magnitudes(plain(pcs)) == pytest.approx(expected, abs=2e-6)


def test_all_maxima_agree_with_the_reference_table() -> None:
    best: dict[tuple[int, int], dict[str, float]] = {}
    for mask in range(1, 4095):
        found = magnitudes(plain(pcs_of(mask)))
        for k in range(1, 7):
            best.setdefault((int(set_sizes()[mask]), k), {})[set_class_of(mask).forte] = found[k]
    for row in rows_of("dft_maxima.csv"):
        for k in range(1, 7):
            by_class = best[int(row["cardinality"]), k]
            top = max(by_class.values())
            assert top == pytest.approx(float(row[f"max_f{k}"]), abs=2e-6)
            classes = {forte for forte, value in by_class.items() if value > top - 1e-6}
            assert classes == set(row[f"classes_at_max_f{k}"].split())


# Parseval, recomputed: a hexatonic set is all f3, a diatonic one mostly f5.
def test_shares_name_the_collection() -> None:
    assert shares(plain((0, 1, 4, 5, 8, 9)))[3] == pytest.approx(1.0)
    assert shares(plain((0, 1, 3, 4, 6, 7, 9, 10)))[4] == pytest.approx(1.0)
    diatonic = shares(plain((0, 2, 4, 5, 7, 9, 11)))
    assert diatonic[5] == pytest.approx(2 * (2 + 3**0.5) ** 2 / 35)


# The traps: Z-related sets and complements have one spectrum, so that it does not identify a set;
# magnitudes grow with the size of a set, shares do not.
def test_sets_of_one_interval_vector_and_complements_share_their_magnitudes() -> None:
    assert magnitudes(plain((0, 1, 4, 6)))[1:] == pytest.approx(magnitudes(plain((0, 1, 3, 7)))[1:])
    for mask in range(1, 4095):
        pcs, others = pcs_of(mask), pcs_of(4095 ^ mask)
        assert magnitudes(plain(pcs))[1:] == pytest.approx(magnitudes(plain(others))[1:], abs=1e-9)


def test_shares_do_not_grow_with_the_size_of_a_set() -> None:
    triad, hexatonic = (0, 4, 8), (0, 1, 4, 5, 8, 9)
    assert magnitudes(plain(hexatonic))[3] > magnitudes(plain(triad))[3]
    assert shares(plain(triad))[3] < shares(plain(hexatonic))[3] == pytest.approx(1.0)
    assert shares([2.0 * w for w in plain(triad)]) == pytest.approx(shares(plain(triad)))


weights = st.lists(st.floats(0, 10), min_size=12, max_size=12)


@given(weights)
def test_powers_add_up_to_the_squared_weights(w: list[float]) -> None:
    f = magnitudes(w)
    total = f[0] ** 2 + 2 * sum(x**2 for x in f[1:6]) + f[6] ** 2
    assert total == pytest.approx(12 * sum(x**2 for x in w), abs=1e-6)


@given(weights, st.integers(0, 11))
def test_magnitudes_do_not_change_when_the_set_is_transposed(w: list[float], n: int) -> None:
    assert magnitudes(w[n:] + w[:n]) == pytest.approx(magnitudes(w), abs=1e-6)


def test_an_even_spread_has_no_shares() -> None:
    assert set(shares([1.0] * 12).values()) == {0.0}


def test_wrong_weights_are_refused() -> None:
    with pytest.raises(ValueError, match="12 weights"):
        magnitudes([1.0] * 11)
    with pytest.raises(ValueError, match="12 weights"):
        magnitudes([-1.0] * 12)
