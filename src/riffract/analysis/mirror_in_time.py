"""Rows that come back in reverse: values, pitches, the strokes of the lowest open string."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from riffract.analysis.attacks import Attack
from riffract.analysis.description import numbered
from riffract.analysis.finding import (
    AttackContent,
    Deviation,
    Finding,
    Mirror,
    MirrorOf,
)
from riffract.analysis.mirror_distance import (
    axis_place,
    by_values,
    distance,
    note_pairs,
    notes_between,
    ratio,
    scale,
)
from riffract.analysis.mirror_finding import (
    FEWEST_ITEMS,
    FEWEST_PAIRS,
    ReorderableMirror,
    mirror_finding,
)
from riffract.analysis.mirror_rows import Item, interval_reordering, value_items
from riffract.analysis.palindrome import Axis, Evidence, Walk, axes_of, best_bits
from riffract.analysis.reordering import Ids, Reordering
from riffract.music import Passage, Span

FEWEST_CHANGES: Final = 2
"""A limb that changes less often holds one thing and another, and any neighbours mirror that."""

CHUG_SHARE: Final = 1 / 3
"""A row chugs if one thing takes up so much of it."""

_AXES_TOLD: Final = 3
_WORTH_OF_BEST: Final = 0.6


def rhythm_mirrors(
    passage: Passage, attacks: Sequence[Attack], walk: Walk
) -> list[ReorderableMirror]:
    """Find where the row of values, rests among them, reads the same backwards."""
    items = value_items(passage, attacks)
    row = numbered([(item.note is None, item.content.value_quarters) for item in items])
    kept = "pitches kept, values and rests reordered"
    mirrors = _palindromes(passage, items, row, walk, kept, of="rhythm", voice="all strings")
    return [_asked_of_runs(mirror) for mirror in mirrors]


def retrograde_mirrors(
    passage: Passage, items: Sequence[Item], voice: str, walk: Walk
) -> list[ReorderableMirror]:
    """Find where the pitches of a row come back in reverse, at whatever pace.

    A single voice has to stand against lines of the same intervals in another order as well, since
    any line that moves in small steps soon comes back to where it was.
    """
    row = numbered([item.content.pitches for item in items])
    kept = "rhythm kept, pitches reordered"
    mirrors = _palindromes(passage, items, row, walk, kept, of="retrograde", voice=voice)
    if any(len(item.content.pitches) != 1 for item in items):
        return mirrors
    of_steps = interval_reordering(items, lambda lines: best_bits(lines, Evidence.of(lines), walk))
    return [replace(m, reorderings=(*m.reorderings, of_steps)) for m in mirrors]


def weight_mirrors(
    passage: Passage, attacks: Sequence[Attack], anchors: frozenset[int], walk: Walk
) -> list[ReorderableMirror]:
    """Find where the lowest open string falls at equal distances on both sides.

    Where every attack strikes it, that is the rhythm, and nothing else.
    """
    struck = [a for a in attacks if anchors.intersection(a.notes)]
    if len(struck) == len(attacks):
        return []
    ends = [a.onset_quarters for a in struck[1:]]
    items = [
        Item(
            attack=a.index,
            start=a.onset_quarters,
            end=end,
            content=AttackContent(
                pitches=(passage.tuning.lowest_pitch,), value_quarters=end - a.onset_quarters
            ),
            note=min(anchors.intersection(a.notes)),
        )
        for a, end in zip(struck, ends, strict=False)
    ]
    row = numbered([item.content.value_quarters for item in items])
    kept = "the low string's strokes kept in number, their distances reordered"
    voice = "the lowest open string"
    mirrors = _palindromes(passage, items, row, walk, kept, of="weight", voice=voice)
    return [_asked_of_runs(mirror) for mirror in mirrors]


def _asked_of_runs(mirror: ReorderableMirror) -> ReorderableMirror:
    """Let a mirror in a row that chugs stand against orders that keep the runs as well.

    Where one stroke comes again and again between others, almost any two stretches look alike
    backwards.
    """
    of_runs = [
        replace(
            one, kept=f"{one.kept}, runs of equal ones and their neighbours kept", keeps_runs=True
        )
        for one in mirror.reorderings
        if np.bincount(one.items).max() >= CHUG_SHARE * len(one.items)
    ]
    return replace(mirror, reorderings=(*mirror.reorderings, *of_runs))


def _palindromes(
    passage: Passage,
    items: Sequence[Item],
    row: Ids,
    walk: Walk,
    kept: str,
    *,
    of: MirrorOf,
    voice: str,
) -> list[ReorderableMirror]:
    if len(items) < FEWEST_ITEMS:
        return []
    evidence = Evidence.of(row)
    reordering = Reordering(
        items=row,
        attacks=np.array([item.attack for item in items], dtype=np.int64),
        statistic=lambda orders: best_bits(row[orders], evidence, walk),
        kept=kept,
        one_note_weighs=evidence.most,
    )
    return [
        ReorderableMirror(
            finding=_palindrome_finding(passage, items, row, axes, of=of, voice=voice),
            reorderings=(reordering,),
        )
        for axes in _apart(axes_of(row, evidence, walk, worth_of_best=_WORTH_OF_BEST), row)
    ]


def _apart(axes: Sequence[Axis], row: Ids) -> list[list[Axis]]:
    """Choose axes that stand apart; those that mirror the same items are told together."""
    told: dict[tuple[int, ...], list[Axis]] = {}
    taken: list[tuple[int, int]] = []
    for axis in axes:
        if axis.reach_pairs < FEWEST_PAIRS:
            continue
        left, right = axis.pair(axis.reach_pairs - 1)
        if any(left <= b and right >= a for a, b in taken):
            continue
        word = tuple(row[left : right + 1].tolist())
        if _changes(row[(left + right + 1) // 2 : right + 1]) < FEWEST_CHANGES:
            continue
        taken.append((left, right))
        if word in told or len(told) < _AXES_TOLD:
            told.setdefault(word, []).append(axis)
    return list(told.values())


def _changes(limb: Ids) -> int:
    return int((np.diff(limb) != 0).sum())


def _palindrome_finding(
    passage: Passage,
    items: Sequence[Item],
    row: Ids,
    axes: Sequence[Axis],
    *,
    of: MirrorOf,
    voice: str,
) -> Finding:
    axis = axes[0]
    pairs = [axis.pair(k) for k in range(axis.reach_pairs)]
    agrees = [bool(row[left] == row[right]) for left, right in pairs]
    place = by_values if of == "rhythm" else axis_place(items, axis.doubled, pairs)
    centre, distances = place(items, axis.doubled, pairs)
    what = Mirror(
        of=of,
        axis_quarters=centre,
        axis_pitch=None,
        core_quarters=distance(distances, axis.core_pairs),
        reach_quarters=distance(distances, len(distances)),
        left=Span(items[pairs[-1][0]].start, centre),
        right=Span(centre, items[pairs[-1][1]].end),
        limb_ratio=ratio(*distances[-1]),
        scale=scale(distances),
        deviations=tuple(
            Deviation(
                at_quarters=items[right].start,
                expected=items[left].content,
                found=items[right].content,
            )
            for (left, right), agree in zip(pairs, agrees, strict=True)
            if not agree
        ),
        pairs=tuple(note_pairs(passage, items, pairs, about=None)),
    )
    outermost = [a.pair(a.reach_pairs - 1) for a in axes]
    return mirror_finding(
        passage,
        what,
        spans=[Span(items[left].start, items[right].end) for left, right in outermost],
        notes=notes_between(items, pairs),
        bits=axis.bits,
        pairs_agree=sum(agrees),
        voice=voice,
    )
