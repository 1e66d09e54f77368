"""How well patterns found agree with patterns marked by hand: the standard measures.

A pattern is a row of occurrences, an occurrence a set of points. All measures come as precision
(what was found is right), recall (what is right was found) and their harmonic mean F1.

Sources: Collins, task descriptions "Discovery of repeated themes and sections", 2013-2017;
Meredith, "COSIATEC and SIATECCompress", 2013, for the three-layer measure (formulas from memory,
checked against a worked example and a reference library in the tests).
"""

from collections.abc import Callable, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Point = tuple[float, ...]
Occurrences = Sequence[AbstractSet[Point]]
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Agreement:
    """Precision and recall, 0..1."""

    precision: float
    recall: float

    @property
    def f1(self) -> float:
        """Harmonic mean of both; 0 where both are 0."""
        total = self.precision + self.recall
        return 2 * self.precision * self.recall / total if total else 0.0


NOTHING = Agreement(precision=0.0, recall=0.0)


def establishment(truth: Sequence[Occurrences], found: Sequence[Occurrences]) -> Agreement:
    """Ask whether at least one occurrence of each pattern is there.

    Definition: s(P, Q) = |P and Q| / max(|P|, |Q|) of two occurrences; a pattern pair scores the
    largest s of its occurrences. Precision is the mean over patterns found of their best score,
    recall the mean over true patterns.
    """
    return _mean_of_best(_pairwise(truth, found, lambda p, q: float(_cardinality(p, q).max())))


def occurrence(
    truth: Sequence[Occurrences], found: Sequence[Occurrences], *, threshold: float = 0.75
) -> Agreement:
    """Ask whether all occurrences of the patterns that were established are there.

    Definition: only pattern pairs that establish one another with a score of at least `threshold`
    count. Within a pair, precision is the mean over found occurrences of the best s, recall the
    mean over true occurrences. Precision is the mean of the best over patterns found that are in
    such a pair, recall the mean over true patterns that are.
    """

    def scores(p: Occurrences, q: Occurrences) -> Agreement:
        matrix = _cardinality(p, q)
        return _mean_of_best(matrix) if matrix.max() >= threshold else NOTHING

    pairs = [[scores(p, q) for q in found] for p in truth]
    if not any(one.precision for row in pairs for one in row):
        return NOTHING
    precisions = np.array([[one.precision for one in row] for row in pairs]).max(axis=0)
    recalls = np.array([[one.recall for one in row] for row in pairs]).max(axis=1)
    return Agreement(
        precision=float(precisions[precisions > 0].mean()),
        recall=float(recalls[recalls > 0].mean()),
    )


def three_layers(truth: Sequence[Occurrences], found: Sequence[Occurrences]) -> Agreement:
    """Ask for points, occurrences and patterns at once.

    Definition: F1 of points between two occurrences; from the best of those F1 of occurrences
    between two patterns; from the best of those precision and recall of patterns.
    """
    return _mean_of_best(_pairwise(truth, found, lambda p, q: _mean_of_best(_points_f1(p, q)).f1))


def _pairwise(
    truth: Sequence[Occurrences],
    found: Sequence[Occurrences],
    score: Callable[[Occurrences, Occurrences], float],
) -> Floats:
    """Score every true pattern against every one found. Shape: (true, found)."""
    return np.array([[score(p, q) for q in found] for p in truth], dtype=np.float64)


def _mean_of_best(scores: Floats) -> Agreement:
    if not scores.size:
        return NOTHING
    return Agreement(
        precision=float(scores.max(axis=0).mean()), recall=float(scores.max(axis=1).mean())
    )


def _cardinality(p: Occurrences, q: Occurrences) -> Floats:
    return np.array([[len(a & b) / max(len(a), len(b)) for b in q] for a in p])


def _points_f1(p: Occurrences, q: Occurrences) -> Floats:
    return np.array([[2 * len(a & b) / (len(a) + len(b)) for b in q] for a in p])
