"""Whether a finding stands without any one of its notes, and if not, which note carries it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from riffract.analysis.attacks import Attack
from riffract.analysis.reordering import Floats, Ids, Reordering
from riffract.weighing.chance import TIE, Chance
from riffract.weighing.sequential import DRAWS_AT_ONCE
from riffract.weighing.verdict import LIKELY_Q
from riffract.weighing.weighed import Weighed

MOST_ITEMS: Final = 20_000_000
"""Items of all altered rows together: about a second. Beyond, a bound takes their place."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Altered:
    """Rows in which one attack is another one, and which attack that is.

    Attributes:
        rows: indices of items, each row altered at one attack. Shape: (rows, items).
        attacks: the attack altered in each row. Shape: (rows,).
    """

    rows: Ids
    attacks: Ids


def tried_without_each_note(weighed: Weighed, q: float, attacks: Sequence[Attack]) -> Weighed:
    """Find out whether a finding would still be likely if any one of its notes were another one.

    Definition: each attack of the finding in turn is made to show another note, and the statistic
    is asked again. If the row is one of notes, that is the commonest other one of it; if it is one
    of steps between notes, the steps to the note and from it change places. So nothing holds any
    more that the note took part in, and it is as good as left out, but all others stay in their
    places. The finding survives if for each of them p' q / p ≤ 0.05,
    where p' is the share of random versions that do as well as the altered row: if it would still
    be called likely, all else being equal. The note that it falls with, or falls furthest with if
    there are several, carries it.

    Args:
        weighed: a finding whose chance was drawn; others are given back as they are.
        q: its p value adjusted for everything that was looked at.
        attacks: of the passage.
    """
    row, chance = weighed.row, weighed.chance
    if row is None or chance is None or not chance.draws or chance.exact_p is not None:
        return weighed
    least = _p_that_is_likely(chance.p, q)
    altered = _altered(weighed, row, attacks) if _is_best(weighed) else None
    if altered is None:
        without = chance.observed - row.one_note_weighs
        is_likely = bool(_p_of(chance, np.array([without]))[0] <= least)
        return replace(weighed, survives=is_likely)
    p_values = _p_of(chance, _asked_again(row, altered.rows))
    worst = int(p_values.argmax())
    if p_values[worst] <= least:
        return replace(weighed, survives=True, carried_by=None)
    carrier = _note_of(weighed, attacks[int(altered.attacks[worst])])
    return replace(weighed, survives=False, carried_by=carrier)


def _p_that_is_likely(p: float, q: float) -> float:
    """Give the p value that would be just likely, were it adjusted as much as this one."""
    return LIKELY_Q * p / q + TIE


def _is_best(weighed: Weighed) -> bool:
    return weighed.asked is not None and weighed.asked.is_best


def _altered(weighed: Weighed, row: Reordering, attacks: Sequence[Attack]) -> _Altered | None:
    """Alter a row at each attack of a finding; `None` if that cannot be, or takes too long."""
    places = _places_of(weighed.finding.notes, row, attacks)
    if len(places) * len(row.items) > MOST_ITEMS:
        return None
    others = _other_items(row.items)
    if others is None or not places:
        return None
    rows = np.tile(np.arange(len(row.items)), (len(places), 1))
    each = np.arange(len(places))
    at = np.array(list(places.values()), dtype=np.int64)
    if row.are_steps:
        onward = np.minimum(at + 1, len(row.items) - 1)
        rows[each, at], rows[each, onward] = onward, at
    else:
        rows[each, at] = others[at]
    return _Altered(rows=rows, attacks=np.array(list(places), dtype=np.int64))


def _places_of(
    notes: Sequence[int], row: Reordering, attacks: Sequence[Attack]
) -> Mapping[int, int]:
    """Give for each attack of a finding the first item of the row that belongs to it."""
    borne_out = set(notes)
    wanted = {attack.index for attack in attacks if not borne_out.isdisjoint(attack.notes)}
    places: dict[int, int] = {}
    for place, attack in enumerate(row.attacks.tolist()):
        if attack in wanted:
            places.setdefault(attack, place)
    return places


def _other_items(items: Ids) -> Ids | None:
    """Give for each item where the commonest other one stands; `None` if all are alike."""
    counts = np.bincount(items)
    commonest = np.argsort(-counts, kind="stable")[:2]
    if len(commonest) < 2 or not counts[commonest[1]]:
        return None
    first, second = (int(np.flatnonzero(items == kind)[0]) for kind in commonest)
    return np.where(items == commonest[0], second, first)


def _asked_again(row: Reordering, rows: Ids) -> Floats:
    batches = range(0, len(rows), DRAWS_AT_ONCE)
    return np.concatenate([row.statistic(rows[k : k + DRAWS_AT_ONCE]) for k in batches])


def _p_of(chance: Chance, statistics: Floats) -> Floats:
    """Tell how many of the draws do as well, for each statistic; never 0."""
    draws = np.sort(np.array(chance.draws))
    as_good = len(draws) - np.searchsorted(draws, statistics - TIE)
    return np.asarray((as_good + 1) / (len(draws) + 1), dtype=np.float64)


def _note_of(weighed: Weighed, attack: Attack) -> int:
    return next(note for note in weighed.finding.notes if note in attack.notes)
