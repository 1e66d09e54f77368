"""How far a mirror is followed where a riff is repeated at once.

A riff that mirrors in itself, played three times in a row, mirrors about the middle of each
statement, and that mirror goes on as far as the repeats do: they mirror whatever it mirrors. What
lies beyond one statement is the repeat's doing. So about an axis whose limbs both lie within
statements that follow one another, no more pairs are counted than one statement has; anywhere else
a mirror is followed as far as it goes.
"""

from bisect import bisect_left
from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from riffract.analysis.finding import Pass, Reading
from riffract.analysis.mirrors.axis_walk import Walk
from riffract.analysis.mirrors.palindrome import Axis, Evidence, walked
from riffract.analysis.mirrors.rows import Item
from riffract.analysis.reordering import Ids
from riffract.music import Span

StatementRun = tuple[Span, ...]
"""Statements of one riff, each starting where the one before ends, all at one pitch."""


def statement_runs(readings: Sequence[Reading]) -> tuple[StatementRun, ...]:
    """List where riffs are repeated at once.

    Args:
        readings: how the passage is read in passes, one reading for each riff.

    Returns:
        Runs of two statements or more, riff by riff, by time.
    """
    return tuple(run for one in readings for run in _runs(one.passes) if len(run) > 1)


def _runs(passes: Sequence[Pass]) -> list[StatementRun]:
    runs = [[one.span] for one in passes[:1]]
    for one, following in pairwise(passes):
        meets = one.span.end_quarters == following.span.start_quarters
        if meets and one.transposition == following.transposition:
            runs[-1].append(following.span)
        else:
            runs.append([following.span])
    return [tuple(run) for run in runs]


def walk_along(
    items: Sequence[Item], runs: Sequence[StatementRun], *, turned: bool = False
) -> Walk:
    """Say how the axes of a row are walked.

    Definition: let a run of statements hold the items from a up to b, and no statement more than m.
    An axis whose pair m + 1, counted outwards, lies in the run on both sides is followed for m
    pairs.

    Args:
        items: the row, in order of time.
        runs: where riffs are repeated at once.
        turned: whether the row is read upside down as well.
    """
    free = Walk(turned=turned)
    if not runs or len(items) < 2:
        return free
    starts = [item.start for item in items]
    left = (np.arange(1, 2 * len(items) - 2) - 1) // 2
    right = np.arange(1, 2 * len(items) - 2) - left
    most = np.full(len(left), free.furthest_pairs, dtype=np.int64)
    for run in runs:
        edges = [bisect_left(starts, span.start_quarters) for span in run]
        edges.append(bisect_left(starts, run[-1].end_quarters))
        longest = max(after - first for first, after in pairwise(edges))
        stays = (left - longest >= edges[0]) & (right + longest < edges[-1])
        most[stays & (most > longest)] = longest
    return Walk(turned=turned, most_pairs=most)


def pairs_with_repeats(ids: Ids, axis: Axis, evidence: Evidence, walk: Walk) -> dict[str, float]:
    """Measure how far a mirror goes if the repeats of its riff are counted in.

    Returns:
        `pairs_with_repeats`, where it was not followed as far as it goes; else nothing.
    """
    if axis.reach_pairs < walk.limit_of(axis.doubled):
        return {}
    freely = walked(ids, evidence, Walk(turned=walk.turned), axis.doubled).reach_pairs
    return {"pairs_with_repeats": float(freely)} if freely > axis.reach_pairs else {}
