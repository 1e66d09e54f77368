"""Random versions of a row that keep what is not at issue.

A riff comes back. If its attacks were reordered over the whole passage, every repeat would be
lost, and whatever a riff does once would look too good to be chance, since it does it every time.
So the row is reordered within one statement of the riff, and every other statement follows: the
repeats are kept, and only the order inside them is left to chance.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np

from riffract.analysis.finding import Reading
from riffract.analysis.reordering import Floats, Ids, Reordering
from riffract.analysis.saying import say
from riffract.weighing.run_shuffle import moved_run_orders, neighbour_orders, run_orders
from riffract.weighing.short_cell import short_cell


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cells:
    """Which items of a row repeat which others.

    Attributes:
        statement: number of the statement that an item belongs to. Shape: (items,).
        place: its place in the statement; equal places are reordered alike. Shape: (items,).
        kept: what this keeps, in words; empty if all items are reordered freely.
    """

    statement: Ids
    place: Ids
    kept: str


def cells_of(reordering: Reordering, readings: Sequence[Reading]) -> Cells:
    """Find out how a row repeats itself: as a short cell, else as the passes of the riff.

    Args:
        reordering: the row.
        readings: how the passage is read in passes, one for each riff.
    """
    index = np.arange(len(reordering.items))
    period = short_cell(reordering.items)
    if period is not None:
        return Cells(
            statement=index // period, place=index % period, kept=say("its short cell kept")
        )
    if not readings:
        return Cells(statement=np.zeros_like(index), place=index, kept="")
    statement_of, place_of = _passes_of_attacks(readings)
    # Each stretch between passes is reordered within itself, as a statement of its own would be.
    stretch = sum(len(reading.passes) for reading in readings)
    free_place = 2 * (max(place_of.values(), default=0) + 1)
    seen: dict[tuple[int, int], int] = {}
    statement, place = np.empty_like(index), np.empty_like(index)
    was_outside = False
    for k, attack in enumerate(reordering.attacks.tolist()):
        is_outside = attack not in statement_of
        if is_outside:
            stretch += not was_outside
            statement[k], place[k] = stretch, free_place + k
        else:
            key = (statement_of[attack], place_of[attack])
            nth = seen.get(key, 0)
            seen[key] = nth + 1
            statement[k], place[k] = key[0], 2 * key[1] + min(nth, 1)
        was_outside = is_outside
    return Cells(statement=statement, place=place, kept=say("the repeats kept"))


def _passes_of_attacks(readings: Sequence[Reading]) -> tuple[dict[int, int], dict[int, int]]:
    statement_of: dict[int, int] = {}
    place_of: dict[int, int] = {}
    for number, one in enumerate(one for reading in readings for one in reading.passes):
        for template_attack, attack in one.pairs:
            statement_of[attack] = number
            place_of[attack] = template_attack
    return statement_of, place_of


def orders_of(reordering: Reordering, cells: Cells) -> Callable[[int, np.random.Generator], Ids]:
    """Give what draws orders of a row, by what the row asks to be kept.

    Returns:
        A function of a count and a generator that gives permutations of the items' indices, shape
        (count, items).
    """
    if reordering.keeps_neighbours:
        return partial(_trails, reordering.items, cells, neighbour_orders)
    if reordering.keeps_runs:
        shuffle = moved_run_orders if reordering.moves_runs else run_orders
        return partial(_trails, reordering.items, cells, shuffle)
    return partial(random_orders, cells)


def random_orders(cells: Cells, count: int, rng: np.random.Generator) -> Ids:
    """Draw orders of a row in which all statements are reordered alike.

    Returns:
        Permutations of the items' indices. Shape: (count, items).

    >>> two = Cells(statement=np.array([0, 0, 0, 1, 1, 1]), place=np.array([0, 1, 2, 0, 1, 2]),
    ...             kept="")
    >>> order = random_orders(two, 1, np.random.default_rng(1))[0]
    >>> bool(np.all(order[3:] == order[:3] + 3))
    True
    """
    return _alike(cells, rng.random((count, int(cells.place.max()) + 1)))


_Shuffle = Callable[[Ids, int, np.random.Generator], Ids]


def _trails(
    items: Ids, cells: Cells, shuffle: _Shuffle, count: int, rng: np.random.Generator
) -> Ids:
    """Draw orders that keep runs or neighbours within each riff, and all statements of it alike."""
    sizes = np.bincount(cells.statement)
    together = np.flatnonzero(sizes[cells.statement] > 1)
    if not len(together):
        return np.tile(np.arange(len(items)), (count, 1))
    # Each place shows what its first statement has there; places of two riffs never mix.
    places, first = np.unique(cells.place[together], return_index=True)
    shown, riff = items[together[first]], cells.statement[together[first]]
    order = np.lexsort((places, riff))
    row = np.unique(np.stack([riff, shown])[:, order], axis=1, return_inverse=True)[1].ravel()
    keys = np.zeros((count, int(cells.place.max()) + 1))
    ranks = np.argsort(shuffle(row, count, rng), axis=1) / len(row)
    keys[:, places[order]] = ranks
    return _alike(cells, keys)


def _alike(cells: Cells, keys: Floats) -> Ids:
    """Order the items of every statement by the keys of their places, which lie below 1."""
    slots = np.lexsort((cells.place, cells.statement))
    drawn = np.argsort(keys[:, cells.place] + cells.statement, axis=1)
    orders = np.empty_like(drawn)
    orders[:, slots] = drawn
    return orders
