"""Rows that come back in reverse: values, pitches, strokes that stand out."""

from collections.abc import Collection, Sequence
from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.analysis.attacks import Attack
from riffract.analysis.description import numbered
from riffract.analysis.finding import Finding
from riffract.analysis.mirrors.axis_walk import FURTHEST_PAIRS, Walk
from riffract.analysis.mirrors.finding import FEWEST_ITEMS, FEWEST_PAIRS, ReorderableMirror
from riffract.analysis.mirrors.limits import StatementRun, walk_along
from riffract.analysis.mirrors.of_rows import Row, row_mirror
from riffract.analysis.mirrors.palindrome import Axis, Evidence, axes_of, best_bits, walked
from riffract.analysis.mirrors.rows import (
    Item,
    interval_reordering,
    scale_step_reordering,
    stroke_items,
    value_items,
)
from riffract.analysis.reordering import Floats, Ids, Reordering
from riffract.analysis.saying import say
from riffract.music import Passage, Technique

FEWEST_CHANGES: Final = 2
"""A limb that changes less often holds one thing and another, and any neighbours mirror that."""

CHUG_SHARE: Final = 1 / 3
"""A row chugs if so much of it lies in runs of one thing."""

CHUG_RUN: Final = 3
"""A run is so many equal items or more. Two in a row are common in any rhythm, and a value that is
merely frequent says nothing of what comes beside it."""

_AXES_TOLD: Final = 3
"""Different palindromes told of one row; the same one elsewhere is told with it. What lies behind
the third is weaker than it and seldom looked at."""
_WORTH_OF_BEST: Final = 0.6
"""Axes with a smaller share of the best one's evidence are not told: any row has many small
palindromes, which would hide a second one that is nearly as telling."""


def rhythm_mirrors(
    passage: Passage, attacks: Sequence[Attack], runs: Sequence[StatementRun]
) -> list[ReorderableMirror]:
    """Find where the row of values, rests among them, reads the same backwards."""
    row = _values(passage, attacks)
    return _palindromes(passage, row, walk_along(row.items, runs), keeps_runs=True)


def equal_values_mirror(passage: Passage, attacks: Sequence[Attack]) -> Finding | None:
    """Tell that all values are equal, so that the rhythm mirrors about any point: trivially.

    Returns:
        One finding about the middle of the passage; `None` if values differ, or there are few.
    """
    row = _values(passage, attacks)
    if len(row.items) < FEWEST_ITEMS or row.ids.any():
        return None
    pairs = min(len(row.items) // 2, FURTHEST_PAIRS)
    axis = Axis(doubled=len(row.items) - 1, bits=0.0, core_pairs=pairs, reach_pairs=pairs)
    found = row_mirror(passage, row, [axis], Evidence.of(row.ids), Walk())
    said = say("All values are equal, so the rhythm reads the same backwards from any point.")
    return replace(found, sentence=said)


def _values(passage: Passage, attacks: Sequence[Attack]) -> Row:
    items = value_items(passage, attacks)
    return Row(
        items=items,
        ids=numbered([(item.note is None, item.content.value_quarters) for item in items]),
        of="rhythm",
        voice="all strings",
        kept=say("pitches kept, values and rests reordered"),
    )


def retrograde_mirrors(
    passage: Passage, items: Sequence[Item], voice: str, runs: Sequence[StatementRun]
) -> list[ReorderableMirror]:
    """Find where the pitches of a row come back in reverse, at whatever pace.

    A single voice has to stand against lines of the same intervals, and of the same steps of its
    scale, in another order as well, since any line that moves in small steps soon comes back to
    where it was, the sooner the fewer places it has.
    """
    row = Row(
        items=items,
        ids=numbered([item.content.pitches for item in items]),
        of="retrograde",
        voice=voice,
        kept=say("rhythm kept, pitches reordered"),
    )
    walk = walk_along(items, runs)
    mirrors = _palindromes(passage, row, walk)
    if not mirrors or any(len(item.content.pitches) != 1 for item in items):
        return mirrors
    of_steps = [
        reordering(items, lambda lines: best_bits(lines, Evidence.of(lines), walk))
        for reordering in (interval_reordering, scale_step_reordering)
    ]
    return [replace(m, reorderings=(*of_steps, *m.reorderings)) for m in mirrors]


def weight_mirrors(
    passage: Passage,
    attacks: Sequence[Attack],
    anchors: frozenset[int],
    runs: Sequence[StatementRun],
) -> list[ReorderableMirror]:
    """Find where what stands out falls at equal distances on both sides.

    That is the lowest open string, and where they are other attacks than its strokes, what is
    accented and what is palm-muted. Where every attack does, that is the rhythm, and nothing else.
    """
    notes = passage.notes
    groups: list[tuple[str, Collection[int]]] = [
        ("the lowest open string", anchors),
        ("the accents", np.flatnonzero(notes.has(Technique.ACCENT)).tolist()),
        ("the palm-muted strokes", np.flatnonzero(notes.has(Technique.PALM_MUTE)).tolist()),
    ]
    mirrors: list[ReorderableMirror] = []
    asked: list[list[int]] = [[a.index for a in attacks]]
    for voice, group in groups:
        members = frozenset(group)
        struck = [a for a in attacks if members.intersection(a.notes)]
        if [a.index for a in struck] in asked:
            continue
        asked.append([a.index for a in struck])
        items = stroke_items(struck, members, passage)
        row = Row(
            items=items,
            ids=numbered([item.content.value_quarters for item in items]),
            of="weight",
            voice=voice,
            kept=say("{voice} kept in number, their distances reordered", voice=say(voice)),
        )
        mirrors += _palindromes(passage, row, walk_along(items, runs), keeps_runs=True)
    return mirrors


def chugs(ids: Ids) -> bool:
    """Tell whether much of a row lies in runs of one thing.

    Args:
        ids: numbers of the items. Shape: (items,).

    >>> chugs(np.array([0, 0, 0, 0, 1, 0, 0, 0])), chugs(np.array([0, 1, 0, 0, 2, 0, 1, 0]))
    (True, False)
    """
    starts = np.flatnonzero(np.diff(ids, prepend=-1))
    lengths = np.diff(starts, append=len(ids))
    return bool(lengths[lengths >= CHUG_RUN].sum() >= CHUG_SHARE * len(ids))


def _palindromes(
    passage: Passage, row: Row, walk: Walk, *, keeps_runs: bool = False
) -> list[ReorderableMirror]:
    if len(row.items) < FEWEST_ITEMS:
        return []
    evidence = Evidence.of(row.ids)
    told = _apart(axes_of(row.ids, evidence, walk, worth_of_best=_WORTH_OF_BEST), row.ids)
    asked = [
        _asked(row, evidence, walk, keeps_runs=keeps_runs, told_before=told[:place])
        for place in range(max(len(told), 1))
    ]
    mirrors = [
        ReorderableMirror(
            finding=row_mirror(passage, row, axes, evidence, walk),
            reorderings=reorderings,
            is_best=reorderings is asked[0],
        )
        for axes, reorderings in zip(told, asked, strict=False)
    ]
    within = [one for axes in told for one in _within(row.ids, axes[0], evidence, walk)]
    return mirrors + [
        ReorderableMirror(
            finding=row_mirror(passage, row, axes, evidence, walk),
            reorderings=asked[0],
            is_best=False,
        )
        for axes in within
    ]


def _asked(
    row: Row,
    evidence: Evidence,
    walk: Walk,
    *,
    keeps_runs: bool,
    told_before: Sequence[Sequence[Axis]],
) -> tuple[Reordering, ...]:
    """Say what a mirror of a row has to stand against: the best of the row in other orders.

    Beside others, it is asked of what they leave: their items stay where they are, and axes within
    them do not count. Were all reordered, it would have to be as good as the best of a longer row,
    and a passage of two good mirrors would have one.

    A mirror in a row that chugs has to stand against orders that keep the runs as well: where one
    stroke comes again and again between others, almost any two stretches look alike backwards.
    """
    ids = row.ids
    held = [axis.pair(axis.reach_pairs - 1) for axes in told_before for axis in axes]
    rest = _outside(held, len(ids))
    counts = _turning_outside(held, len(ids)) if held else None

    def best_of_rest(orders: Ids) -> Floats:
        rows = np.tile(ids, (len(orders), 1))
        rows[:, rest] = ids[rest][orders]
        return best_bits(rows, evidence, walk, counts=counts)

    freely = Reordering(
        items=ids[rest],
        attacks=np.array([row.items[k].attack for k in rest.tolist()], dtype=np.int64),
        statistic=best_of_rest,
        kept=say("{kept}, all but the better mirrors", kept=row.kept) if held else row.kept,
        one_note_weighs=evidence.most,
    )
    if not (keeps_runs and chugs(ids)):
        return (freely,)
    kept = say("{kept}, runs of equal ones kept", kept=freely.kept)
    return freely, replace(freely, kept=kept, keeps_runs=True, moves_runs=True)


def _outside(held: Sequence[tuple[int, int]], items: int) -> Ids:
    """List the items that lie in none of some stretches, both ends of each included."""
    is_held = np.zeros(items, dtype=np.bool_)
    for first, last in held:
        is_held[first : last + 1] = True
    return np.flatnonzero(~is_held)


def _turning_outside(held: Sequence[tuple[int, int]], items: int) -> NDArray[np.bool_]:
    """Say which axes turn outside some stretches. Shape: (2 items - 3,)."""
    doubled = np.arange(1, 2 * items - 2)
    turns = np.ones(len(doubled), dtype=np.bool_)
    for first, last in held:
        turns &= (doubled < 2 * first) | (doubled > 2 * last)
    return turns


def _apart(axes: Sequence[Axis], ids: Ids) -> list[list[Axis]]:
    """Choose axes that stand apart; those that mirror the same items are told together."""
    told: dict[tuple[int, ...], list[Axis]] = {}
    taken: list[tuple[int, int]] = []
    for axis in axes:
        if not _is_mirror(axis, ids):
            continue
        left, right = axis.pair(axis.reach_pairs - 1)
        if any(left <= b and right >= a for a, b in taken):
            continue
        taken.append((left, right))
        word = tuple(ids[left : right + 1].tolist())
        if word in told or len(told) < _AXES_TOLD:
            told.setdefault(word, []).append(axis)
    return list(told.values())


def _within(ids: Ids, axis: Axis, evidence: Evidence, walk: Walk) -> list[list[Axis]]:
    """Find the best mirror that lies within the left limb of another, and its image in the right.

    A limb that mirrors in itself comes back as it was, and not only in reverse.
    """
    outermost, innermost = axis.pair(axis.reach_pairs - 1)[0], axis.pair(0)[0]
    limb = ids[outermost : innermost + 1]
    if len(limb) < FEWEST_ITEMS:
        return []
    walk_there = walk.within(outermost, len(limb))
    inner = next((a for a in _best_axes(limb, evidence, walk_there) if _is_mirror(a, limb)), None)
    if inner is None:
        return []
    here = replace(inner, doubled=inner.doubled + 2 * outermost)
    image = walked(ids, evidence, walk, 2 * axis.doubled - here.doubled)
    comes_back = image.core_pairs >= here.reach_pairs
    return [[here, replace(image, reach_pairs=here.reach_pairs)] if comes_back else [here]]


def _best_axes(limb: Ids, evidence: Evidence, walk: Walk) -> Sequence[Axis]:
    return axes_of(limb, evidence, walk, worth_of_best=_WORTH_OF_BEST)


def _is_mirror(axis: Axis, ids: Ids) -> bool:
    if axis.reach_pairs < FEWEST_PAIRS:
        return False
    left, right = axis.pair(axis.reach_pairs - 1)
    return _changes(ids[(left + right + 1) // 2 : right + 1]) >= FEWEST_CHANGES


def _changes(limb: Ids) -> int:
    return int((np.diff(limb) != 0).sum())
