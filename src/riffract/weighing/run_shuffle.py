"""Random orders of a row that keep its runs and what stands next to what.

Where a riff chugs, short equal strokes come in runs between longer ones. Values dealt out one by
one would lose that texture, and then the real row, all runs, would mirror far better than any of
them. So runs are moved as they are, and only between places with the same neighbours.

Source: Altschul & Erickson, Mol. Biol. Evol. 2/6 (1985), 526-538, a shuffle that keeps doublets as
a random Eulerian trail; the tree of last exits is drawn by Wilson's algorithm (STOC 1996, 296-303,
from memory).
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from random import Random

import numpy as np

from riffract.analysis.reordering import Ids

_Run = tuple[int, int]
"""A run: the number of its item, and how many there are."""


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
    runs = np.split(np.arange(len(row)), np.flatnonzero(np.diff(row)) + 1)
    kinds = [(int(row[run[0]]), len(run)) for run in runs]
    followers: dict[_Run, list[int]] = defaultdict(list)
    for follower, kind in enumerate(kinds[:-1], start=1):
        followers[kind].append(follower)
    chance = Random(int(rng.integers(2**62)))  # noqa: S311  # nothing secret
    return np.array(
        [
            np.concatenate([runs[k] for k in _random_trail(kinds, followers, chance)])
            for _ in range(count)
        ]
    )


def _random_trail(
    kinds: Sequence[_Run], followers: Mapping[_Run, Sequence[int]], chance: Random
) -> list[int]:
    """Order the runs by a random trail from the first one that uses each step once."""
    last_exits = _random_tree(kinds, followers, chance)
    ways = {}
    for kind, nexts in followers.items():
        others = [follower for follower in nexts if follower != last_exits.get(kind)]
        chance.shuffle(others)
        ways[kind] = [last_exits[kind], *others] if kind in last_exits else others
    trail = [0]
    while way := ways.get(kinds[trail[-1]]):
        trail.append(way.pop())
    return trail


def _random_tree(
    kinds: Sequence[_Run], followers: Mapping[_Run, Sequence[int]], chance: Random
) -> dict[_Run, int]:
    """Choose by which step each kind of run is left for good, so that the last run is reached."""
    exits: dict[_Run, int] = {}
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
