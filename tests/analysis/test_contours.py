"""Contours against published and enumerated values."""

from collections import Counter
from itertools import permutations, product
from math import factorial

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.reference_tables import rows_of

from riffract.analysis.contour import (
    Contour,
    adjacency_series,
    bent_cells,
    comparison_matrix,
    contour_of,
    direction_vector,
    interval_vector,
    reduced,
    representative,
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


# Friedmann, Journal of Music Theory 29/2 (1985), from memory; values recomputed by hand.
@pytest.mark.parametrize(
    ("contour", "signs", "sums", "counts"),
    [
        ("0213", "+-+", (9, 1), (5, 1)),
        ("2031", "-+-", (5, 5), (3, 3)),
        ("10324", "-+-+", (18, 2), (8, 2)),
        ("0312", "+-+", (7, 3), (4, 2)),
    ],
)
def test_adjacency_and_interval_vectors_are_as_published(contour, signs, sums, counts):
    line = points(contour)
    assert "".join("+" if step > 0 else "-" for step in adjacency_series(line)) == signs
    assert interval_vector(line) == sums
    assert direction_vector(line) == counts


@given(heights)
def test_the_vectors_of_the_reverse_change_places(line: list[int]) -> None:
    assert interval_vector(line[::-1]) == interval_vector(line)[::-1]
    assert direction_vector([-height for height in line]) == direction_vector(line)[::-1]


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


def test_there_are_as_many_classes_as_the_formula_says() -> None:
    # (n! + 2^h h!)/4 with h = floor(n/2) for contours without repeats, by Burnside's lemma; ordered
    # Bell numbers for those with repeats.
    for n in range(2, 8):
        half = n // 2
        classes = {representative(order) for order in permutations(range(n))}
        assert len(classes) == (factorial(n) + 2**half * factorial(half)) // 4
    for n, contours, classes_with_repeats in [(2, 3, 2), (3, 13, 5), (4, 75, 24), (5, 541, 143)]:
        found = {contour_of(c) for c in product(range(n), repeat=n)}
        assert len(found) == contours
        assert len({representative(c) for c in found}) == classes_with_repeats


def test_all_classes_agree_with_the_reference_table() -> None:
    rows = rows_of("contour_classes.csv")
    counts = Counter(representative(o) for n in range(2, 6) for o in permutations(range(n)))
    assert len(rows) == len(counts)
    for row in rows:
        form = points(row["representative_lexicographic"])
        assert counts[form] == int(row["members_count"])
        assert {representative(points(member)) for member in row["members"].split()} == {form}


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
