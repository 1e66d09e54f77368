"""Random orders of a row that keep what stands next to what.

Where a riff chugs, short equal strokes come in runs between longer ones. Values dealt out one by
one would lose that texture, and then the real row, all runs, would mirror far better than any of
them. So runs are moved as they are, and only between places with the same neighbours. And where
some notes hang together, as in a voice that always leaves a pitch for one of two others, whatever
three of them make comes back by itself; so a row may be asked to keep its pairs of neighbours.

A row that reads the same backwards has every pair of neighbours in both orders, though, so keeping
them keeps half of what is asked. Such rows are asked to keep their runs only, wherever they stand.

The first two are random trails: an order of the row is a walk over the kinds of its items that uses
each step from one kind to another as often as the row does.

Source: Altschul & Erickson, Mol. Biol. Evol. 2/6 (1985), 526-538, a shuffle that keeps doublets as
a random Eulerian trail; the tree of last exits is drawn by Wilson's algorithm (STOC 1996, 296-303,
from memory).
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from random import Random

import numpy as np

from riffract.analysis.reordering import Ids


def run_orders(row: Ids, count: int, rng: np.random.Generator) -> Ids:
    """Draw orders of a row that keep its runs, and how often each run follows each other one.

    The first run and the last one stay where they are; all other such orders are equally likely.

    Args:
        row: numbers of the items, at least one. Shape: (items,).
        count: how many orders are wanted.
        rng: of the draws.

    Returns:
        Permutations of the items' indices. Shape: (count, items).

    >>> row = np.array([0, 1, 1, 0, 2, 0])
    >>> sorted({str(row[order]) for order in run_orders(row, 20, np.random.default_rng(1))})
    ['[0 1 1 0 2 0]', '[0 2 0 1 1 0]']
    """
    starts = np.flatnonzero(np.diff(row, prepend=row[0] - 1))
    lengths = np.diff(starts, append=len(row))
    kinds = np.unique(np.stack([row[starts], lengths]), axis=1, return_inverse=True)[1].ravel()
    trails = _random_trails(kinds, count, rng)
    turn = np.empty_like(trails)
    np.put_along_axis(turn, trails, np.arange(len(kinds))[None, :], axis=1)
    run_of_item = np.repeat(np.arange(len(kinds)), lengths)
    return np.argsort(turn[:, run_of_item], axis=1, kind="stable")


def neighbour_orders(row: Ids, count: int, rng: np.random.Generator) -> Ids:
    """Draw orders of a row that keep how often each item follows each other one.

    The first item and the last one stay; all other such orders are equally likely.

    Args:
        row: numbers of the items, at least one. Shape: (items,).
        count: how many orders are wanted.
        rng: of the draws.

    Returns:
        Permutations of the items' indices. Shape: (count, items).

    >>> row = np.array([0, 1, 0, 2, 2, 0])
    >>> sorted({str(row[order]) for order in neighbour_orders(row, 20, np.random.default_rng(1))})
    ['[0 1 0 2 2 0]', '[0 2 2 0 1 0]']
    """
    return _random_trails(np.unique(row, return_inverse=True)[1].ravel(), count, rng)


def moved_run_orders(row: Ids, count: int, rng: np.random.Generator) -> Ids:
    """Draw orders of a row that keep its runs, but not what stands next to them.

    No run meets another of the same item, so that all are as long as they were. An item with r of
    the n runs that are left comes next with the odds r / (n - 2 r + 1): those of the orders that
    start with it, where the others all differ. Where several items have many runs, orders are not
    quite equally likely.

    Args:
        row: numbers of the items, at least one. Shape: (items,).
        count: how many orders are wanted.
        rng: of the draws.

    Returns:
        Permutations of the items' indices. Shape: (count, items).

    >>> row = np.array([0, 1, 1, 0, 2])
    >>> orders = moved_run_orders(row, 9, np.random.default_rng(1))
    >>> {int(np.flatnonzero(np.diff(row[order]) == 0).size) for order in orders}
    {1}
    """
    starts = np.flatnonzero(np.diff(row, prepend=row[0] - 1))
    kind_of_run = np.unique(row[starts], return_inverse=True)[1].ravel()
    kinds = _kinds_apart(np.bincount(kind_of_run), count, rng)
    # The runs of each kind are dealt out to its places at random.
    dealt = np.argsort(kind_of_run + rng.random((count, len(starts))), axis=1)
    turn = np.empty_like(dealt)
    np.put_along_axis(turn, dealt, np.argsort(kinds, axis=1, kind="stable"), axis=1)
    run_of_item = np.repeat(np.arange(len(starts)), np.diff(starts, append=len(row)))
    return np.argsort(turn[:, run_of_item], axis=1, kind="stable")


def _kinds_apart(counts: Ids, count: int, rng: np.random.Generator) -> Ids:
    """Draw rows of so many items of each kind, none beside its like. Shape: (count, items)."""
    each, total = np.arange(count), int(counts.sum())
    left = np.tile(counts.astype(np.float64), (count, 1))
    kinds = np.empty((count, total), dtype=np.int64)
    chance = rng.random((total, count))
    for k in range(total):
        # Once a kind has half of what is left and one more, it has to come next.
        others = np.maximum(total - k - 2.0 * left + 1.0, 1e-9)
        weights = left / others
        if k:
            weights[each, kinds[:, k - 1]] = 0.0
        sums = np.cumsum(weights, axis=1)
        kinds[:, k] = (sums <= (chance[k] * sums[:, -1])[:, None]).sum(axis=1)
        left[each, kinds[:, k]] -= 1.0
    return kinds


def _random_trails(kinds: Ids, count: int, rng: np.random.Generator) -> Ids:
    """Draw random trails from the first item that use each step once. Shape: (count, items).

    All trails walk at once: each leaves a kind by its steps in a random order, by its last exit at
    the end.
    """
    steps = kinds[:-1]
    keys = rng.random((count, len(steps)))
    draws, exits = _last_exits(kinds, count, rng)
    keys[draws, exits] = 2.0
    ways = np.argsort(4.0 * steps + keys, axis=1)
    first_way = np.searchsorted(np.sort(steps), np.arange(int(kinds.max()) + 1))
    next_way = np.tile(first_way, (count, 1))
    trails = np.zeros((count, len(kinds)), dtype=np.int64)
    each = np.arange(count)
    for k in range(1, len(kinds)):
        here = kinds[trails[:, k - 1]]
        trails[:, k] = ways[each, next_way[each, here]] + 1
        next_way[each, here] += 1
    return trails


def _last_exits(kinds: Ids, count: int, rng: np.random.Generator) -> tuple[Ids, Ids]:
    """Draw by which steps the kinds are left for good; as draws and steps, in parallel."""
    chance = Random(int(rng.integers(2**62)))  # noqa: S311  # nothing secret
    followers: dict[int, list[int]] = defaultdict(list)
    row = kinds.tolist()
    for follower, kind in enumerate(row[:-1], start=1):
        followers[kind].append(follower)
    trees = [_random_tree(row, followers, chance) for _ in range(count)]
    draws = np.repeat(np.arange(count), [len(tree) for tree in trees])
    return draws, np.array([exit_ - 1 for tree in trees for exit_ in tree.values()], dtype=np.int64)


def _random_tree(
    kinds: Sequence[int], followers: Mapping[int, Sequence[int]], chance: Random
) -> dict[int, int]:
    """Choose by which follower each kind is left for good, so that the last item is reached."""
    exits: dict[int, int] = {}
    reached = {kinds[-1]}
    for start in followers:
        at = start
        while at not in reached:
            exits[at] = chance.choice(followers[at])
            at = kinds[exits[at]]
        at = start
        while at not in reached:
            reached.add(at)
            at = kinds[exits[at]]
    return exits
