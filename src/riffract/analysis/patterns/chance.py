"""Would any line come back so well? A bound on the chance, computed, not drawn.

Chance: the rhythm is kept, and so is how often each pitch occurs, or each step (from a note to the
next of its line); which comes when is left to chance. Under it a note takes minus log2 of the
share of its pitch, or step, in bits. A description that spells a pattern once, and then only names
its places, is shorter by some bits; chance makes a description k or more bits shorter with a
probability of at most 2^-k, whatever the description (by Kraft's and Markov's inequalities). Since
what comes back and where are named in it, all that was looked at is paid for.

Source: the no-hypercompression inequality, Grünwald, The Minimum Description Length Principle
(2007), from memory; the code is ours.
"""

from itertools import pairwise
from math import comb, log2
from typing import Final

import numpy as np

from riffract.analysis.patterns.discovery import PointPattern
from riffract.analysis.patterns.lines import NONE, PointSet
from riffract.analysis.patterns.occurrences import Bools, Floats

CHANCE_MODEL: Final = (
    "rhythm kept, and how often each pitch occurs, or each step of the lines; their order left to "
    "chance, whichever of the two does better"
)


def height_bits(points: PointSet) -> tuple[Floats, ...]:
    """Tell how many bits the height of each point takes, its onset being known, in two ways.

    Definition: minus log2 of the share that the height has among all points; and minus log2 of the
    share that its step has among all steps within lines, where the first point of a line takes
    log2 of the number of heights. Notes that keep leaving a pedal and coming back to it are cheap
    by the first way, a scale by the second.

    Returns:
        Bits, twice. Shapes: (points,).
    """
    _, kind, count = np.unique(points.height, return_inverse=True, return_counts=True)
    by_height = np.log2(len(points) / count)[kind]
    before = np.full(len(points), NONE, dtype=np.int64)
    linked = np.flatnonzero(points.follower != NONE)
    before[points.follower[linked]] = linked
    by_step = np.full(len(points), np.log2(max(len(count), 1)))
    inner = np.flatnonzero(before != NONE)
    step = points.height[inner] - points.height[before[inner]]
    _, kind, count = np.unique(step, return_inverse=True, return_counts=True)
    by_step[inner] = np.log2(len(inner) / count)[kind]
    return by_height, by_step


def evidence_bits(
    points: PointSet, pattern: PointPattern, bits: Floats, known: Bools | None = None
) -> float:
    """Tell by how many bits naming the pattern shortens the description of the heights.

    Definition: the bits of its further new occurrences, the dearest left out, since it is spelled;
    for each of those less log2(attacks) + log2(heights) for its place and log2 C(n, m) for which m
    of its n notes are missing; less 3 log2(points) + 1 for where the pattern starts, how long it
    is, how often it stands and whether it is a row of one line or of all; and, where it leaves out
    some notes of a row of all, log2 of the choices.

    Args:
        points: where it stands.
        pattern: the pattern.
        bits: what each height takes (one of `height_bits`). Shape: (points,).
        known: which points are told by something else; they are not counted. Shape: (points,).
    """
    size = len(pattern.example)
    untold = np.flatnonzero(np.ones(len(points), np.bool_) if known is None else ~known)
    attacks = len(np.unique(points.onset_ticks[untold]))
    place_bits = log2(attacks) + log2(len(np.unique(points.height)))
    new = [place for place in pattern.places if place.is_new]
    spelled = [float(bits[list(place.points)].sum()) for place in new]
    gains = [
        own - place_bits - log2(comb(size, size - len(place.points)))
        for own, place in zip(spelled, new, strict=True)
    ]
    del gains[int(np.argmax(spelled))]
    naming = 3 * log2(len(untold)) + 1 + _choice_bits(points, pattern.example)
    return sum(gains) - naming


def chance_p(bits: float) -> float:
    """Bound the chance of being so many bits shorter.

    >>> chance_p(3.0), chance_p(-1.0)
    (0.125, 1.0)
    """
    return float(0.5 ** max(bits, 0.0))


def _choice_bits(points: PointSet, example: tuple[int, ...]) -> float:
    """Tell how many bits it takes to say which points of a stretch make up a pattern."""
    if all(points.follower[a] == b for a, b in pairwise(example)):
        return 0.0
    onset = points.onset_ticks
    first = int(np.searchsorted(onset, onset[example[0]]))
    last = int(np.searchsorted(onset, onset[example[-1]], side="right"))
    return log2(comb(last - first, len(example)))
