"""Pitch-class sets and set classes against Forte's list, and by their laws."""

from math import comb

import pytest
from tests.reference_tables import rows_of

from riffract.analysis.pitch_class_set import (
    ALL_TWELVE,
    SETS,
    interval_class_vector,
    inverted,
    mask_of,
    pcs_of,
    set_sizes,
    transposed,
    transpositions_onto_itself,
)
from riffract.analysis.set_class import set_class_of, set_classes


def digits(text: str) -> tuple[int, ...]:
    return tuple("0123456789TE".index(d) for d in text)


# Forte, The Structure of Atonal Music (1973), appendix 1, and Rahn, Basic Atonal Theory (1980), as
# tabulated in the encyclopedia list of set classes. The last six are those where the two differ.
PUBLISHED_CLASSES = [
    ("3-5", "016", "016", (1, 0, 0, 0, 1, 1)),
    ("3-11", "037", "037", (0, 0, 1, 1, 1, 0)),
    ("4-Z15", "0146", "0146", (1, 1, 1, 1, 1, 1)),
    ("4-Z29", "0137", "0137", (1, 1, 1, 1, 1, 1)),
    ("6-Z28", "013569", "013569", (2, 2, 4, 3, 2, 2)),
    ("6-Z49", "013479", "013479", (2, 2, 4, 3, 2, 2)),
    ("6-20", "014589", "014589", (3, 0, 3, 6, 3, 0)),
    ("6-35", "02468T", "02468T", (0, 6, 0, 6, 0, 3)),
    ("7-35", "013568T", "013568T", (2, 5, 4, 3, 6, 1)),
    ("8-28", "0134679T", "0134679T", (4, 4, 8, 4, 4, 4)),
    ("5-20", "01568", "01378", (2, 1, 1, 2, 3, 1)),
    ("6-Z29", "023679", "013689", (2, 2, 4, 2, 3, 2)),
    ("6-31", "014579", "013589", (2, 2, 3, 4, 3, 1)),
    ("7-Z18", "0145679", "0123589", (4, 3, 4, 4, 4, 2)),
    ("7-20", "0125679", "0124789", (4, 3, 3, 4, 5, 2)),
    ("8-26", "0134578T", "0124579T", (4, 5, 6, 5, 6, 2)),
]


@pytest.mark.parametrize(("forte", "rahn", "forte_form", "vector"), PUBLISHED_CLASSES)
def test_classes_are_numbered_and_packed_as_published(
    forte: str, rahn: str, forte_form: str, vector: tuple[int, ...]
) -> None:
    found = set_class_of(mask_of(digits(rahn)))
    assert (found.forte, found.prime_form) == (forte, digits(rahn))
    assert found.forte_form == digits(forte_form)
    assert found.vector == vector


def test_the_two_packings_differ_for_exactly_six_classes() -> None:
    # Enumerated; the list is in Rahn (1980), from memory.
    differing = {c.forte for c in set_classes()[0] if c.prime_form != c.forte_form}
    assert differing == {"5-20", "6-Z29", "6-31", "7-Z18", "7-20", "8-26"}


def test_there_are_as_many_classes_of_each_size_as_bracelets() -> None:
    # OEIS A000029 for the total of 224; the row by Burnside's lemma.
    sizes = [c.size for c in set_classes()[0]]
    assert [sizes.count(n) for n in range(13)] == [1, 1, 6, 12, 29, 38, 50, 38, 29, 12, 6, 1, 1]


def test_all_224_classes_agree_with_the_reference_table() -> None:
    rows = rows_of("set_classes.csv")
    classes, _ = set_classes()
    assert len(rows) == len(classes) == 224
    for row, found in zip(rows, classes, strict=True):
        mask = mask_of(digits(row["prime_rahn"]))
        assert found.forte == row["forte"]
        assert found.prime_form == digits(row["prime_rahn"])
        assert found.forte_form == digits(row["prime_forte"])
        assert " ".join(map(str, found.vector)) == row["ic_vector"]
        assert found.forms == int(row["distinct_forms_TI"])
        assert " ".join(map(str, transpositions_onto_itself(mask))) == row["t_levels"]
        mirrors = [n for n in range(12) if inverted(mask, n) == mask]
        assert " ".join(map(str, mirrors)) == row["i_indices"]
        assert set_class_of(ALL_TWELVE ^ mask).forte == row["complement"]


def test_chance_shares_agree_with_the_reference_table() -> None:
    for row in rows_of("set_class_frequencies.csv"):
        found = set_class_of(mask_of(digits(row["prime_rahn"])))
        assert found.chance_share == pytest.approx(float(row["probability_if_uniform"]), abs=1e-6)


def test_trichords_are_as_likely_as_enumerated() -> None:
    # 24 or 12 of the 220 three-note subsets of the twelve; 4 for the augmented triad.
    shares = {c.forte: c.chance_share for c in set_classes()[0] if c.size == 3}
    assert shares["3-5"] == 24 / 220
    assert shares["3-9"] == 12 / 220
    assert shares["3-12"] == 4 / 220
    assert sum(shares.values()) == pytest.approx(1.0)


def test_every_set_has_the_class_of_all_its_transpositions_and_inversions() -> None:
    _, of_set = set_classes()
    for mask in range(SETS):
        for n in range(12):
            assert of_set[transposed(mask, n)] == of_set[mask] == of_set[inverted(mask, n)]


def test_transpositions_and_inversions_compose_as_a_group() -> None:
    # T_m T_n = T_m+n and I_m I_n = T_m-n: Rahn (1980), from memory. Exhausted over a dozen sets.
    for mask in (0, 1, 67, 145, 819, 1387, 2741, ALL_TWELVE):
        for m in range(12):
            for n in range(12):
                assert transposed(transposed(mask, n), m) == transposed(mask, m + n)
                assert inverted(inverted(mask, n), m) == transposed(mask, m - n)


def test_vectors_count_every_pair_once() -> None:
    sizes = set_sizes()
    for mask in range(SETS):
        assert sum(interval_class_vector(mask)) == comb(int(sizes[mask]), 2)
        assert mask_of(pcs_of(mask)) == mask


def test_names_hold_for_both_forms_of_a_class() -> None:
    # Common practice: major and minor triads are one class.
    assert set_class_of(mask_of([0, 4, 7])).name == "a major or minor triad (037)"
    assert set_class_of(mask_of([0, 3, 7])).name == "a major or minor triad (037)"
    assert set_class_of(mask_of([0, 1, 4, 6])).name == "a four-note set (0146)"
