"""All orders of a few items, counted out instead of drawn."""

from collections.abc import Callable, Iterator
from math import factorial, prod
from typing import Final

import numpy as np

from riffract.analysis.reordering import Floats, Ids
from riffract.weighing.chance import Chance

MOST_ORDERS: Final = 20_000
"""Up to so many different orders are counted out; that takes a few hundredths of a second."""

FIRST_DRAWS, DRAWS = 99, 999
_ENOUGH_AS_GOOD: Final = 8
"""If more of the first draws do as well, p is at least 0.1, twice what any verdict asks for, and
further draws would change nothing."""


def different_orders(ids: Ids) -> int:
    """Count the different orders of a row: n! over the product of the factorials of its counts.

    >>> different_orders(np.array([0, 1, 2, 1, 0]))
    30
    """
    counts = np.bincount(ids).tolist()
    return factorial(len(ids)) // prod(map(factorial, counts))


def chance_of_order(
    ids: Ids, statistic: Callable[[Ids], Floats], *, model: str, seed: int
) -> Chance:
    """Ask how often another order of the same items does as well.

    If there are few enough, all different ones are counted, and p is the share that does: never 0,
    since the order itself is one of them. Else orders are drawn.

    Args:
        ids: equal numbers are equal items. Shape: (items,).
        statistic: larger is more striking; takes rows, shape (rows, items), gives one value each.
        model: what stays and what is left to chance, in words.
        seed: of the draws.
    """
    observed = float(statistic(ids[None, :])[0])
    if different_orders(ids) <= MOST_ORDERS:
        values = statistic(np.array(list(_orders(np.bincount(ids).tolist()))))
        p = float((values >= observed - 1e-9).mean())
        return Chance(observed=observed, draws=(), model=model, seed=seed, exact_p=p)
    rng = np.random.default_rng(seed)
    draws = statistic(rng.permuted(np.tile(ids, (FIRST_DRAWS, 1)), axis=1)).tolist()
    if sum(draw >= observed - 1e-9 for draw in draws) <= _ENOUGH_AS_GOOD:
        rows = rng.permuted(np.tile(ids, (DRAWS - FIRST_DRAWS, 1)), axis=1)
        draws += statistic(rows).tolist()
    return Chance(observed=observed, draws=tuple(draws), model=model, seed=seed)


def _orders(counts: list[int]) -> Iterator[list[int]]:
    """List the different orders of a multiset, given how often each number comes."""
    if not any(counts):
        yield []
        return
    for number, count in enumerate(counts):
        if count:
            counts[number] -= 1
            for rest in _orders(counts):
                yield [number, *rest]
            counts[number] += 1
