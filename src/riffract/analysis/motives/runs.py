"""Where a line repeats the intervals of another without a break, found by their words.

A word is a few intervals in a row. Equal words are brought together by sorting, so that lines are
compared in far fewer steps than they have pairs of notes; words that touch on one diagonal make a
run. Words of one interval over and over are left out: a scale agrees with every scale.

Source: seeds of a local alignment (Altschul et al., J. Mol. Biol. 215 (1990), 403-410, from
memory).
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from riffract.analysis.reordering import Floats, Ids

SHORTEST_WORD, LONGEST_WORD = 2, 7
"""Intervals in a word: two find what is bent after every third note; more than seven do not fit
into a whole number that a processor holds."""

SEEDS_PER_EVENT: Final = 4.0
"""How many pairs of equal words there may be for each note: words are made longer in longer lines,
and in such that repeat themselves, so that the work grows no faster than the line; a return has to
be longer there anyway to mean anything."""

_WIDEST: Final = 63
"""Wider intervals make no word: five octaves are more than a line leaps, and an interval up or down
then fits into seven bits."""
_LETTERS: Final = 2 * _WIDEST + 1


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Runs:
    """Stretches of two lines with the same intervals, as columns.

    Attributes:
        draw: which version of the lines. Shape: (runs,).
        source, back: first event in the source, as it is read, and in the return.
        steps: how many intervals agree.
    """

    draw: Ids
    source: Ids
    back: Ids
    steps: Ids


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Versions:
    """Versions of a line.

    Attributes:
        heights: pitches. Shape: (draws, events).
        segments: numbers of stretches without a gap. Shape: (events,).
    """

    heights: Ids
    segments: Ids


def word_length(source: Versions, back: Versions) -> int:
    """Choose how many intervals make a word, so that not too many pairs of words are equal.

    Args:
        source: the line that an idea may come from, in one version.
        back: the line in which it may return, in one version.
    """
    most = SEEDS_PER_EVENT * max(min(source.heights.shape[1], back.heights.shape[1]), 1)
    for word in range(SHORTEST_WORD, LONGEST_WORD):
        own, count = np.unique(_words(source, word)[2], return_counts=True)
        others, times = np.unique(_words(back, word)[2], return_counts=True)
        _, first, second = np.intersect1d(own, others, return_indices=True)
        if int(count[first] @ times[second]) <= most:
            return word
    return LONGEST_WORD


def exact_runs(source: Versions, back: Versions, *, word: int, inverted: bool) -> Runs:
    """Find the longest stretches in which two lines have the same intervals.

    Args:
        source: the line that an idea may come from, as it is read.
        back: the line in which it may return, in as many versions.
        word: how many intervals in a row have to agree at least.
        inverted: whether the source's intervals are turned upside down.
    """
    read = Versions(heights=-source.heights, segments=source.segments) if inverted else source
    draw, first, second = _equal_words(_words(read, word), _words(back, word))
    events, others = source.heights.shape[1], back.heights.shape[1]
    diagonal = draw * (events + others) + second - first + events
    # One more than there are events, so that no run goes on from one diagonal to the next.
    key = diagonal * (events + 1) + first
    order = np.argsort(key)
    starts = np.flatnonzero(np.diff(key[order], prepend=-2) != 1)
    rows = order[starts]
    counts = np.diff(np.append(starts, len(key)))
    return Runs(draw=draw[rows], source=first[rows], back=second[rows], steps=counts + word - 1)


def _words(line: Versions, word: int) -> tuple[Ids, Ids, Ids]:
    """Give the words of a line that say something: draw, first event, and the word as a number."""
    draws, events = line.heights.shape
    places = events - word
    if places < 1:
        empty = np.zeros(0, dtype=np.int64)
        return empty, empty, empty
    steps = np.diff(line.heights, axis=1)
    number = np.repeat(np.arange(draws)[:, None], places, axis=1)
    says = np.zeros((draws, places), dtype=np.bool_)
    fits = np.ones((draws, places), dtype=np.bool_)
    for k in range(word):
        letter = steps[:, k : k + places]
        fits &= np.abs(letter) <= _WIDEST
        says |= letter != steps[:, :places]
        number = number * _LETTERS + np.clip(letter, -_WIDEST, _WIDEST) + _WIDEST
    is_whole = line.segments[word:] == line.segments[:places]
    draw, first = np.nonzero(says & fits & is_whole)
    return draw, first, number[draw, first]


def _equal_words(source: tuple[Ids, Ids, Ids], back: tuple[Ids, Ids, Ids]) -> tuple[Ids, Ids, Ids]:
    """Pair equal words: draw, event of the source, event of the return."""
    draw, first, number = source
    order = np.argsort(number, kind="stable")
    ordered = number[order]
    low = np.searchsorted(ordered, back[2], side="left")
    counts = np.searchsorted(ordered, back[2], side="right") - low
    which = np.repeat(np.arange(len(counts)), counts)
    within = np.arange(len(which)) - np.repeat(np.cumsum(counts) - counts, counts)
    rows = order[low[which] + within]
    return draw[rows], first[rows], back[1][which]


def first_of_each(draw: Ids, bits: Floats, most: int) -> Ids:
    """Choose the best rows of each draw, at most so many; draws in order, the best first."""
    order = np.lexsort((-bits, draw))
    ordered = draw[order]
    starts = np.searchsorted(ordered, ordered, side="left")
    return np.asarray(order[np.arange(len(order)) - starts < most])
