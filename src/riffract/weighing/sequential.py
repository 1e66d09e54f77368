"""Drawing random versions of a row until it is plain how rare the music is among them.

Most questions are answered soon: chance does as well in one version of three, and a few dozen show
it. Only what is rare needs many. So versions are drawn one after the other until ten of them have
done as well as the music, or until there are enough.
"""

from collections.abc import Callable, Sequence
from typing import Final

import numpy as np

from riffract.analysis.finding import Ignored, Reading
from riffract.analysis.reordering import Floats, Ids, Reordering
from riffract.analysis.saying import in_digits, say
from riffract.weighing.chance import TIE, Chance
from riffract.weighing.null_model import cells_of, orders_of

ENOUGH_AS_GOOD: Final = 10
"""Versions that do as well, after which no more are drawn: p is then known to about a third of
itself, which is enough to tell that it is not small."""

DRAWS: Final = 999
"""Versions at most: p can then be as small as 0.001."""

MOST_DRAWS: Final = 4999
"""Versions at most where none has done as well and only their number stands in the way."""

TRIVIAL_DRAWS: Final = 99
"""Versions that must all come out the same before a finding is called trivially true."""

DIFFERENT_SHARE: Final = 0.9
"""Of 99 versions that keep all neighbours, this share must differ, which means that some 500 orders
are possible: with fewer, even the rarest could hardly be told from chance."""

FIRST_DRAWS: Final = 20
"""Twice as many as are enough: what chance does every other time is told after one batch."""
DRAWS_AT_ONCE: Final = 150
"""Few enough that a batch stays in the processor's cache."""

ITEMS_AT_ONCE: Final = 2_000_000
"""Items of all versions in a batch: with what a statistic needs beside them, some 100 MB."""

ITEMS_DRAWN: Final = 20_000_000
"""Items of all versions of a row: a few seconds. Rows of more than 20,000 items get fewer versions
than others."""

_Draw = Callable[[int, np.random.Generator], Ids]


def most_draws_for(items: int, wanted: int = DRAWS) -> int:
    """Tell how many versions of a row are drawn at most.

    >>> most_draws_for(300), most_draws_for(100_000)
    (999, 200)
    """
    return min(wanted, max(ITEMS_DRAWN // max(items, 1), TRIVIAL_DRAWS))


def fewer_versions(items: int) -> tuple[Ignored, ...]:
    """Say how few versions are drawn of rows so long, and what follows; nothing of shorter ones.

    >>> fewer_versions(2_000)
    ()
    >>> fewer_versions(100_000)[0].why
    'of rows so long only 200 are drawn, so p is never below 0.005, and little is called firm'
    """
    most = most_draws_for(items)
    if most >= DRAWS:
        return ()
    why = say(
        "of rows so long only {most} are drawn, so p is never below {least}, and little is called "
        "firm",
        most=most,
        least=in_digits(f"{1 / (most + 1):.2g}"),
    )
    return (Ignored(what=say("further random versions"), why=why, where=say("everywhere")),)


def chances_of(
    rows: Sequence[Reordering],
    *,
    readings: Sequence[Reading],
    seed: int,
    most_draws: int = DRAWS,
) -> list[Chance | None]:
    """Ask how often a random version of a row does as well as the row itself, by every statistic.

    Definition: versions are drawn until h = 10 of them do as well, or until there are n. With b of
    m versions as good, p = (b + 1) / (m + 1). Where drawing stopped early, Besag and Clifford show
    that h / m is a valid p value; ours is never smaller.

    Args:
        rows: the same items, kept in the same way, under one or several statistics; they all see
            the same versions.
        readings: the passes that are kept, if there are any.
        seed: of the draws; with more of them the first ones stay the same.
        most_draws: how many there are if few of the first ones do as well.

    Returns:
        The chances, in the order of the rows; `None` if what is kept leaves too few orders to ask
        anything of them.

    Source: Besag & Clifford, Biometrika 78/2 (1991), 301-304; Phipson & Smyth, Stat. Appl. Genet.
    Mol. Biol. 9/1 (2010), art. 39.
    """
    items = rows[0].items
    cells = cells_of(rows[0], readings)
    draw = orders_of(rows[0], cells)
    rng = np.random.default_rng(seed)
    if not _leaves_enough(rows[0], draw):
        return [None] * len(rows)
    tallies = [_Tally(row) for row in rows]
    drawn, most = 0, most_draws_for(len(items), most_draws)
    while drawn < most and any(tally.is_open for tally in tallies):
        orders = draw(_batch(drawn, most, len(items)), rng)
        drawn += len(orders)
        for tally in tallies:
            tally.take(orders)
    return [tally.chance(kept=cells.kept, seed=seed) for tally in tallies]


def _batch(drawn: int, most: int, items: int) -> int:
    """Give the size of the next batch: twice what there is, as long as it fits."""
    return min(max(drawn, FIRST_DRAWS), _room(items), most - drawn)


def _room(items: int) -> int:
    return max(min(DRAWS_AT_ONCE, ITEMS_AT_ONCE // max(items, 1)), 1)


def _leaves_enough(row: Reordering, draw: _Draw) -> bool:
    """Whether enough different orders are left to ask anything of them."""
    if not (row.keeps_runs or row.keeps_neighbours):
        return True
    count = min(TRIVIAL_DRAWS, _room(len(row.items)))
    orders = row.items[draw(count, np.random.default_rng(0))]
    fewest = DIFFERENT_SHARE * count if row.keeps_neighbours else 2
    return len({order.tobytes() for order in orders}) >= fewest


class _Tally:
    """The draws of one statistic, and whether there are enough of them."""

    def __init__(self, row: Reordering) -> None:
        self._row = row
        self._observed = row.observed
        self._draws: Floats = np.zeros(0)
        self.is_open = True

    def take(self, orders: Ids) -> None:
        """Draw on, and stop right at the version that is enough."""
        if not self.is_open:
            return
        self._draws = np.concatenate([self._draws, self._row.statistic(orders)])
        as_good = np.flatnonzero(self._draws >= self._observed - TIE)
        if self._all_alike():
            self.is_open = len(self._draws) < TRIVIAL_DRAWS
        elif len(as_good) >= ENOUGH_AS_GOOD:
            self._draws = self._draws[: as_good[ENOUGH_AS_GOOD - 1] + 1]
            self.is_open = False

    def _all_alike(self) -> bool:
        return bool((np.abs(self._draws - self._observed) <= TIE).all())

    def chance(self, *, kept: str, seed: int) -> Chance:
        """Give what was drawn."""
        model = f"{self._row.kept}; {kept}" if kept else self._row.kept
        draws = tuple(self._draws.tolist())
        return Chance(observed=self._observed, draws=draws, model=model, seed=seed)
