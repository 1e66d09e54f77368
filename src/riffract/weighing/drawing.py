"""Weighing by random versions: rows are drawn, rows that are asked twice only once."""

from collections.abc import Iterable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from functools import partial
from typing import Final

import numpy as np

from riffract.analysis.finding import Reading
from riffract.analysis.reordering import Reordering
from riffract.weighing.chance import Chance
from riffract.weighing.null_model import DRAWS, MOST_DRAWS, chance_of
from riffract.weighing.verdict import LIKELY_Q
from riffract.weighing.weighed import Asked, Weighed

THREADS: Final = 2


def weighed_by_drawing(
    asked: Sequence[Asked], *, readings: Sequence[Reading], seed: int
) -> list[Weighed]:
    """Weigh findings by random versions of their rows.

    Args:
        asked: the findings and their rows.
        readings: the passes of the riff, which random versions keep.
        seed: of the draws.

    Returns:
        In the order asked; a finding that is not the best of its row is left out if chance does
        as well.
    """
    chance_of_row = _drawn(asked, DRAWS, readings=readings, seed=seed)
    each = (_weighed_draw(one, chance_of_row) for one in asked)
    return [weighed for weighed in each if weighed is not None]


def drawn_on(
    doubtful: Sequence[Weighed], *, readings: Sequence[Reading], seed: int
) -> dict[str, Weighed]:
    """Weigh some findings again, with more draws; by their ids."""
    asked = [w.asked for w in doubtful if w.asked is not None]
    chance_of_row = _drawn(asked, MOST_DRAWS, readings=readings, seed=seed)
    again = [(w, _weighed_draw(w.asked, chance_of_row)) for w in doubtful if w.asked]
    return {w.finding.id: replace(new, rivals=w.rivals) for w, new in again if new is not None}


def _drawn(
    asked: Iterable[Asked], most_draws: int, *, readings: Sequence[Reading], seed: int
) -> dict[Reordering, Chance]:
    rows = list(dict.fromkeys(row for one in asked for row in one.reorderings))
    draw = partial(chance_of, readings=readings, seed=seed, most_draws=most_draws)
    # Most of the time goes into large array operations, which let other threads run.
    with ThreadPoolExecutor(THREADS) as pool:
        chances = zip(rows, pool.map(draw, rows), strict=True)
        return {row: chance for row, chance in chances if chance is not None}


def _weighed_draw(asked: Asked, chance_of_row: Mapping[Reordering, Chance]) -> Weighed | None:
    """Weigh a finding by its draws; a lesser one of its row is dropped if chance does as well.

    Of several null models the one that does best against the finding counts.
    """
    bits = asked.finding.measures.get("bits")
    chances = [chance_of_row[row] for row in asked.reorderings if row in chance_of_row]
    if not asked.is_best and bits is not None:
        # The draws are the best of all places, so a lesser one pays for the looking as well.
        chances = [replace(chance, observed=round(bits, 3)) for chance in chances]
    chance = max(chances, key=lambda c: c.p)
    if not asked.is_best and chance.p > LIKELY_Q:
        return None
    weighs = max(row.one_note_weighs for row in asked.reorderings)
    return Weighed(
        finding=asked.finding,
        chance=chance,
        log10_bayes=None if bits is None else bits * np.log10(2.0),
        survives=_survives(chance, weighs),
        is_trivial=_is_trivial(chance),
        asked=asked,
    )


def _survives(chance: Chance, one_note_weighs: float) -> bool:
    """Whether the statistic would still beat 19 in 20 draws with one note's share taken off."""
    if not chance.draws:
        return True
    return chance.observed - one_note_weighs >= float(np.quantile(chance.draws, 0.95))


def _is_trivial(chance: Chance) -> bool:
    """Whether every random version comes out the same: it could not have done otherwise."""
    return bool(chance.draws) and all(abs(d - chance.observed) < 1e-6 for d in chance.draws)
