"""The measures of agreement between patterns found and patterns annotated."""

from itertools import product

import mir_eval
import pytest
from bench.pattern_metrics import Agreement, establishment, occurrence, three_layers
from hypothesis import given
from hypothesis import strategies as st

A = [
    frozenset({(0, 60), (1, 62), (2, 64), (3, 65)}),
    frozenset({(8, 67), (9, 69), (10, 71), (11, 72)}),
]
A_SHORT = [frozenset({(0, 60), (1, 62), (2, 64)}), frozenset({(8, 67), (9, 69), (10, 71)})]
B = [frozenset({(t, 72), (t + 1, 71), (t + 2, 69)}) for t in (4, 12, 20)]

occurrences = st.frozensets(
    st.tuples(st.integers(0, 5), st.integers(60, 62)), min_size=1, max_size=6
)
pattern_lists = st.lists(st.lists(occurrences, min_size=1, max_size=3), min_size=1, max_size=4)


def values(agreement: Agreement) -> tuple[float, float, float]:
    return agreement.precision, agreement.recall, agreement.f1


# Worked by hand from the published formulas (Collins; Meredith), and computed independently.
@pytest.mark.parametrize(
    ("measure", "expected"),
    [
        (establishment, (0.875, 0.875, 0.875)),
        (occurrence, (0.875, 0.7083, 0.7829)),
        (three_layers, (0.8286, 0.8286, 0.8286)),
    ],
)
def test_the_worked_example_scores_as_worked(measure, expected):
    assert values(measure([A, B], [A_SHORT, B[:2]])) == pytest.approx(expected, abs=5e-5)


def as_reference_lists(
    patterns: list[list[frozenset[tuple[int, int]]]],
) -> list[list[list[tuple[int, int]]]]:
    return [[sorted(occurrence) for occurrence in pattern] for pattern in patterns]


# mir_eval, an independent implementation, as reference library.
@given(pattern_lists, pattern_lists)
def test_establishment_and_three_layers_agree_with_the_reference_library(truth, found):
    lists = as_reference_lists(truth), as_reference_lists(found)
    f1, precision, recall = mir_eval.pattern.establishment_FPR(*lists)
    assert values(establishment(truth, found)) == pytest.approx((precision, recall, f1))
    f1, precision, recall = mir_eval.pattern.three_layer_FPR(*lists)
    assert values(three_layers(truth, found)) == pytest.approx((precision, recall, f1))


# The library weighs a pattern by the number of partners that it is established with; the
# definition counts it once. So they agree where no pattern has two such partners.
@given(pattern_lists, pattern_lists, st.sampled_from([0.5, 0.75]))
def test_occurrences_agree_with_the_reference_library_one_to_one(truth, found, threshold):
    pairs = [
        (i, j)
        for (i, p), (j, q) in product(enumerate(truth), enumerate(found))
        if establishment([p], [q]).precision >= threshold
    ]
    rows, columns = [i for i, _ in pairs], [j for _, j in pairs]
    if len(set(rows)) < len(rows) or len(set(columns)) < len(columns):
        return
    lists = as_reference_lists(truth), as_reference_lists(found)
    f1, precision, recall = mir_eval.pattern.occurrence_FPR(*lists, thres=threshold)
    assert values(occurrence(truth, found, threshold=threshold)) == pytest.approx(
        (precision, recall, f1)
    )


def test_a_pattern_established_twice_counts_once():
    # Truth A is established by both; precision is the mean over both found, recall that of A.
    assert values(occurrence([A], [A, A_SHORT])) == pytest.approx((0.875, 1.0, 0.9333), abs=5e-5)


@pytest.mark.parametrize("measure", [establishment, occurrence, three_layers])
def test_everything_right_scores_one_and_nothing_found_scores_zero(measure):
    assert values(measure([A, B], [B, A])) == (1, 1, 1)
    assert values(measure([A, B], [])) == (0, 0, 0)


@given(pattern_lists, pattern_lists)
def test_swapping_truth_and_finding_swaps_precision_and_recall(truth, found):
    for measure in (establishment, occurrence, three_layers):
        one, other = measure(truth, found), measure(found, truth)
        assert (one.precision, one.recall) == pytest.approx((other.recall, other.precision))
