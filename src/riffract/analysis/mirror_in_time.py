"""Rows that come back in reverse: values, pitches, the strokes of the lowest open string."""

from collections.abc import Sequence
from typing import Final

import numpy as np

from riffract.analysis.attacks import Attack
from riffract.analysis.cover import numbered
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
from riffract.analysis.mirror_rows import Item, value_items
from riffract.analysis.palindrome import Axis, axes_of, best_bits, item_bits
from riffract.analysis.reordering import Ids, Reordering
from riffract.music import Passage, Span

_AXES_TOLD: Final = 3


_WORTH_OF_BEST: Final = 0.6


def rhythm_mirrors(passage: Passage, attacks: Sequence[Attack]) -> list[ReorderableMirror]:
    """Find where the row of values, rests among them, reads the same backwards."""
    items = value_items(passage, attacks)
    row = numbered([(item.note is None, item.content.value_quarters) for item in items])
    return _palindromes(
        passage,
        items,
        row,
        of="rhythm",
        voice="all strings",
        kept="pitches kept, values and rests reordered",
    )


def retrograde_mirrors(
    passage: Passage, items: Sequence[Item], voice: str
) -> list[ReorderableMirror]:
    """Find where the pitches of a row come back in reverse, at whatever pace."""
    row = numbered([item.content.pitches for item in items])
    return _palindromes(
        passage,
        items,
        row,
        of="retrograde",
        voice=voice,
        kept="rhythm kept, pitches reordered",
    )


def weight_mirrors(
    passage: Passage, attacks: Sequence[Attack], anchors: frozenset[int]
) -> list[ReorderableMirror]:
    """Find where the lowest open string falls at equal distances on both sides."""
    struck = [a for a in attacks if anchors.intersection(a.notes)]
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
    return _palindromes(
        passage,
        items,
        row,
        of="weight",
        voice="the lowest open string",
        kept="the low string's strokes kept in number, their distances reordered",
    )


def _palindromes(
    passage: Passage,
    items: Sequence[Item],
    row: Ids,
    *,
    of: MirrorOf,
    voice: str,
    kept: str,
) -> list[ReorderableMirror]:
    if len(items) < FEWEST_ITEMS:
        return []
    bits_of = item_bits(row)
    reordering = Reordering(
        items=row,
        attacks=np.array([item.attack for item in items], dtype=np.int64),
        statistic=lambda orders: best_bits(row[orders], bits_of),
        kept=kept,
        one_note_weighs=float(bits_of.max()),
    )
    return [
        ReorderableMirror(
            finding=_palindrome_finding(passage, items, row, axes, of=of, voice=voice),
            reordering=reordering,
        )
        for axes in _apart(axes_of(row, bits_of), row)
    ]


def _apart(axes: Sequence[Axis], row: Ids) -> list[list[Axis]]:
    """Choose axes that stand apart; those that mirror the same items are told together."""
    told: dict[tuple[int, ...], list[Axis]] = {}
    for axis in axes:
        if axis.reach_pairs < FEWEST_PAIRS or axis.bits < _WORTH_OF_BEST * axes[0].bits:
            continue
        left, right = axis.pair(axis.reach_pairs - 1)
        word = tuple(row[left : right + 1].tolist())
        taken = [other.pair(other.reach_pairs - 1) for group in told.values() for other in group]
        if any(left <= r and right >= lo for lo, r in taken):
            continue
        if word in told or len(told) < _AXES_TOLD:
            told.setdefault(word, []).append(axis)
    return list(told.values())


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
    place = by_values if of == "rhythm" else axis_place(items, axis, pairs)
    centre, distances = place(items, axis, pairs)
    what = Mirror(
        of=of,
        axis_quarters=centre,
        axis_pitch=None,
        core_quarters=distance(distances, axis.core_pairs),
        reach_quarters=distance(distances, axis.reach_pairs),
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
    others = [a.pair(a.reach_pairs - 1) for a in axes]
    return mirror_finding(
        passage,
        what,
        spans=[Span(items[left].start, items[right].end) for left, right in others],
        notes=notes_between(items, pairs),
        bits=axis.bits,
        pairs_agree=sum(agrees),
        voice=voice,
    )
