"""Weighing by random versions: rows are drawn, rows that are asked twice only once."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from typing import Final

import numpy as np

from riffract.analysis.finding import Reading
from riffract.analysis.reordering import Reordering
from riffract.analysis.saying import language, speak
from riffract.weighing.chance import Chance
from riffract.weighing.sequential import DRAWS, MOST_DRAWS, TRIVIAL_DRAWS, chances_of
from riffract.weighing.verdict import LIKELY_Q
from riffract.weighing.weighed import Asked, Weighed

THREADS: Final = 2
"""Nearly every machine has two cores, and each more holds one more batch in memory; what comes out
does not depend on it."""

ALIKE: Final = 1e-6
"""Statistics this close are the same: bits are summed in single precision in places."""


def weighed_by_drawing(
    asked: Sequence[Asked], *, readings: Sequence[Reading], seed: int
) -> list[Weighed]:
    """Weigh findings by random versions of their rows.

    Args:
        asked: the findings and their rows.
        readings: the passes of the riff, which random versions keep.
        seed: of the draws.

    Returns:
        In the order asked; a finding that is not the best of its row is not told if chance does
        as well.
    """
    chance_of_row = _drawn(asked, DRAWS, readings=readings, seed=seed)
    return [_weighed_draw(one, chance_of_row) for one in asked]


def drawn_on(
    doubtful: Sequence[Weighed], *, readings: Sequence[Reading], seed: int
) -> dict[str, Weighed]:
    """Weigh some findings again, with more draws; by their ids."""
    asked = [w.asked for w in doubtful if w.asked is not None]
    chance_of_row = _drawn(asked, MOST_DRAWS, readings=readings, seed=seed)
    again = [(w, _weighed_draw(w.asked, chance_of_row)) for w in doubtful if w.asked]
    return {
        w.finding.id: replace(w, chance=new.chance, row=new.row, is_trivial=new.is_trivial)
        for w, new in again
    }


def _drawn(
    asked: Iterable[Asked], most_draws: int, *, readings: Sequence[Reading], seed: int
) -> dict[Reordering, Chance]:
    """Draw for the rows of every finding, its first rows first.

    A finding that does not stand against one null model is not asked to stand against the next:
    the largest p counts, and whether it is 0.1 or 0.9 changes no verdict, its own or another's.
    """
    asked = list(asked)
    drawn: dict[Reordering, Chance] = {}
    for turn in range(max((len(one.reorderings) for one in asked), default=0)):
        standing = {
            one.reorderings[turn]: readings if one.readings is None else one.readings
            for one in asked
            if turn < len(one.reorderings) and _stands(one.reorderings[:turn], drawn)
        }
        drawn |= _drawn_rows(standing, most_draws, seed=seed)
    return drawn


def _stands(rows: Sequence[Reordering], drawn: Mapping[Reordering, Chance]) -> bool:
    return all(drawn[row].p <= LIKELY_Q for row in rows if row in drawn)


def _drawn_rows(
    rows: Mapping[Reordering, Sequence[Reading]], most_draws: int, *, seed: int
) -> dict[Reordering, Chance]:
    """Draw for rows, both cores at once; those of the same items share their versions."""
    groups: dict[tuple[_Items, int], list[Reordering]] = defaultdict(list)
    for row, readings in rows.items():
        groups[_items_of(row), id(readings)].append(row)

    def draw(group: Sequence[Reordering]) -> list[Chance | None]:
        readings = rows[group[0]]
        return chances_of(group, readings=readings, seed=seed, most_draws=most_draws)

    # Most of the time goes into large array operations, which let other threads run; the longest
    # rows first, so that no thread waits for them at the end.
    longest_first = sorted(groups.values(), key=lambda rows: -len(rows) * len(rows[0].items))
    with ThreadPoolExecutor(THREADS, initializer=speak, initargs=(language(),)) as pool:
        drawn = list(pool.map(draw, longest_first))
    return {
        row: chance
        for rows, chances in zip(longest_first, drawn, strict=True)
        for row, chance in zip(rows, chances, strict=True)
        if chance is not None
    }


_Items = tuple[bytes, bytes, bool, bool, bool]


def _items_of(row: Reordering) -> _Items:
    kept = row.keeps_runs, row.moves_runs, row.keeps_neighbours
    return row.items.tobytes(), row.attacks.tobytes(), *kept


def _weighed_draw(asked: Asked, chance_of_row: Mapping[Reordering, Chance]) -> Weighed:
    """Weigh a finding by its draws; a lesser one of its row is not told if chance does as well.

    Of several null models the one that does best against the finding counts.
    """
    bits = asked.finding.measures.get("bits")
    chances = {row: chance_of_row[row] for row in asked.reorderings if row in chance_of_row}
    if not asked.is_best and bits is not None:
        # The draws are the best of all places, so a lesser one pays for the looking as well.
        chances = {row: replace(c, observed=round(bits, 3)) for row, c in chances.items()}
    row = max(chances, key=lambda row: chances[row].p)
    chance = chances[row]
    return Weighed(
        finding=asked.finding,
        chance=chance,
        log10_bayes=None if bits is None else bits * np.log10(2.0),
        is_trivial=_is_trivial(chance),
        asked=asked,
        row=row,
        is_told=asked.is_best or chance.p <= LIKELY_Q,
    )


def _is_trivial(chance: Chance) -> bool:
    """Whether every random version comes out the same: it could not have done otherwise."""
    if len(chance.draws) < TRIVIAL_DRAWS:
        return False
    return all(abs(draw - chance.observed) < ALIKE for draw in chance.draws)
