"""Rows that come back in reverse: values, pitches, the strokes of the lowest open string."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
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
    Pairs,
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
from riffract.analysis.mirror_rows import Item, JoinedRow, value_items
from riffract.analysis.palindrome import Axis, axes_of, best_bits, item_bits
from riffract.analysis.reordering import Ids, Reordering
from riffract.music import Passage, Span

FEWEST_RUNS: Final = 2
"""A run that repeats one item, with a single pair around it, is no mirror."""

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
    joined = JoinedRow.of(row)
    bits_of = item_bits(joined.row)
    reordering = Reordering(
        items=joined.row,
        attacks=np.array([items[first].attack for first, _ in joined.runs], dtype=np.int64),
        statistic=lambda orders: best_bits(joined.row[orders], bits_of),
        kept=kept,
        one_note_weighs=float(bits_of.max()),
    )
    return [
        ReorderableMirror(
            finding=_palindrome_finding(passage, items, row, unfolded, of=of, voice=voice),
            reordering=reordering,
        )
        for unfolded in _apart(axes_of(joined.row, bits_of), joined)
    ]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Unfolded:
    """An axis among the items of a row.

    Attributes:
        doubled: twice its place.
        pairs: outwards.
        bits: evidence.
        again: outermost pairs of further axes about which the same items mirror.
    """

    doubled: int
    pairs: Pairs
    bits: float
    again: tuple[tuple[int, int], ...]


def _apart(axes: Sequence[Axis], joined: JoinedRow) -> list[_Unfolded]:
    """Choose axes that stand apart; those that mirror the same items are told together."""
    told: dict[tuple[int, ...], _Unfolded] = {}
    taken: list[tuple[int, int]] = []
    for axis in axes:
        if axis.reach_pairs < FEWEST_RUNS or axis.bits < _WORTH_OF_BEST * axes[0].bits:
            continue
        left, right = axis.pair(axis.reach_pairs - 1)
        doubled, pairs = joined.unfolded(axis)
        if len(pairs) < FEWEST_PAIRS or any(left <= b and right >= a for a, b in taken):
            continue
        taken.append((left, right))
        word = tuple(joined.row[left : right + 1].tolist())
        if word in told:
            told[word] = replace(told[word], again=(*told[word].again, pairs[-1]))
        elif len(told) < _AXES_TOLD:
            told[word] = _Unfolded(doubled=doubled, pairs=pairs, bits=axis.bits, again=())
    return list(told.values())


def _palindrome_finding(
    passage: Passage,
    items: Sequence[Item],
    row: Ids,
    axis: _Unfolded,
    *,
    of: MirrorOf,
    voice: str,
) -> Finding:
    agrees = [bool(row[left] == row[right]) for left, right in axis.pairs]
    core = agrees.index(False) if False in agrees else len(agrees)
    place = by_values if of == "rhythm" else axis_place(items, axis.doubled, axis.pairs)
    centre, distances = place(items, axis.doubled, axis.pairs)
    what = Mirror(
        of=of,
        axis_quarters=centre,
        axis_pitch=None,
        core_quarters=distance(distances, core),
        reach_quarters=distance(distances, len(distances)),
        left=Span(items[axis.pairs[-1][0]].start, centre),
        right=Span(centre, items[axis.pairs[-1][1]].end),
        limb_ratio=ratio(*distances[-1]),
        scale=scale(distances),
        deviations=tuple(
            Deviation(
                at_quarters=items[right].start,
                expected=items[left].content,
                found=items[right].content,
            )
            for (left, right), agree in zip(axis.pairs, agrees, strict=True)
            if not agree
        ),
        pairs=tuple(note_pairs(passage, items, axis.pairs, about=None)),
    )
    outermost = [axis.pairs[-1], *axis.again]
    return mirror_finding(
        passage,
        what,
        spans=[Span(items[left].start, items[right].end) for left, right in outermost],
        notes=notes_between(items, axis.pairs),
        bits=axis.bits,
        pairs_agree=sum(agrees),
        voice=voice,
    )
