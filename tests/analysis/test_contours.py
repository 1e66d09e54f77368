"""Contours against published and enumerated values."""

from itertools import permutations, product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from riffract.analysis.contour import (
    Contour,
    bent_cells,
    comparison_matrix,
    contour_of,
    reduced,
    similarity,
)

heights = st.lists(st.integers(30, 80), min_size=1, max_size=9)


def points(text: str) -> Contour:
    return tuple(map(int, text))


# Marvin & Laprade, Journal of Music Theory 31/2 (1987); the values are recomputed by hand.
@pytest.mark.parametrize(
    ("a", "b", "expected"),
    [
        ("0213", "0123", 5 / 6),
        ("0213", "3120", 0.0),
        ("0231", "1302", 1 / 2),
        ("02134", "01234", 9 / 10),
        ("10324", "01234", 4 / 5),
    ],
)
def test_similarity_counts_pairs_in_one_order(a: str, b: str, expected: float) -> None:
    assert similarity(points(a), points(b)) == pytest.approx(expected)


def test_the_comparison_matrix_of_0213_is_as_printed() -> None:
    # Morris (1987), from memory; by hand.
    expected = [[0, 1, 1, 1], [-1, 0, -1, 1], [-1, 1, 0, 1], [-1, -1, -1, 0]]
    assert comparison_matrix(points("0213")).tolist() == expected


@given(
    st.integers(1, 9).flatmap(
        lambda n: st.tuples(*[st.lists(st.integers(0, 9), min_size=n, max_size=n)] * 2)
    )
)
def test_bent_cells_are_those_that_similarity_does_not_count(two) -> None:
    a, b = two
    cells = len(a) * (len(a) - 1) // 2
    if cells:
        assert similarity(a, b) == pytest.approx(1 - len(bent_cells(a, b)) / cells)
    assert bent_cells(a, a) == ()


# Morris, Music Theory Spectrum 15/2 (1993). The first is the worked example of the literature
# (from memory); all are enumerated from the definition.
@pytest.mark.parametrize(
    ("contour", "prime", "depth"),
    [
        ("0432551", "021", 2),
        ("0123", "01", 1),
        ("0213", "01", 1),
        ("0534132", "021", 2),
        ("5031426", "102", 1),
        ("142503", "1302", 1),
        ("204153", "1032", 1),
        ("01010", "010", 1),
    ],
)
def test_contours_reduce_to_their_primes(contour: str, prime: str, depth: int) -> None:
    assert reduced(points(contour)) == (points(prime), depth)


def test_contours_without_repeats_reach_eleven_primes() -> None:
    # Enumerated from the definition up to 7 points.
    primes = {
        "".join(map(str, reduced(order)[0]))
        for n in range(1, 8)
        for order in permutations(range(n))
    }
    expected = "0 01 10 021 102 120 201 1032 1302 2031 2301"
    assert primes == set(expected.split())


def test_contours_with_repeats_reach_five_primes_more() -> None:
    # Enumerated from the definition up to 6 points.
    contours = {contour_of(c) for n in range(1, 7) for c in product(range(n), repeat=n)}
    primes = {"".join(map(str, reduced(c)[0])) for c in contours}
    expected = "0 01 10 021 102 120 201 1032 1302 2031 2301 00 010 101 1021 1201"
    assert primes == set(expected.split())


def test_there_are_as_many_contours_as_the_formula_says() -> None:
    # Ordered Bell numbers (OEIS A000670).
    for n, contours in [(2, 3), (3, 13), (4, 75), (5, 541)]:
        assert len({contour_of(c) for c in product(range(n), repeat=n)}) == contours


@given(heights)
def test_a_prime_keeps_the_ends_and_the_extremes(line: list[int]) -> None:
    prime, _ = reduced(line)
    plain = contour_of(line)
    expected = contour_of([plain[0], plain[-1], max(plain), min(plain)])
    found = (prime[0], prime[-1], max(prime), min(prime))
    assert contour_of(found) == expected
    assert reduced(prime) == (prime, 0)


@given(heights, st.integers(-12, 12))
def test_contours_do_not_change_when_the_line_is_transposed(line: list[int], by: int) -> None:
    assert contour_of([height + by for height in line]) == contour_of(line)


@given(heights)
def test_a_line_is_like_itself_and_unlike_its_inversion(line: list[int]) -> None:
    assert similarity(line, line) == 1.0
    if len(set(line)) == len(line) > 1:
        assert similarity(line, [-height for height in line]) == 0.0
