"""Lines that come back upside down, forwards or backwards."""

from collections.abc import Callable, Sequence
from fractions import Fraction

import numpy as np

from riffract.analysis.cover import numbered
from riffract.analysis.finding import (
    AttackContent,
    Deviation,
    Finding,
    Mirror,
)
from riffract.analysis.mirror_distance import (
    axis_place,
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
from riffract.analysis.mirror_rows import Item, pitches_of
from riffract.analysis.palindrome import Axis, axes_of, best_bits
from riffract.analysis.reordering import Floats, Ids, Reordering
from riffract.analysis.upside_down import best_run, best_run_bits, interval_bits, intervals_of
from riffract.music import Passage, Span


def inversion_mirrors(passage: Passage, voice: Sequence[Item]) -> list[ReorderableMirror]:
    """Find the stretch of a voice that best comes back upside down; at most one."""
    pitches = pitches_of(voice)
    if len(pitches) < FEWEST_ITEMS:
        return []
    bits_of = interval_bits(pitches)
    run = best_run(pitches, bits_of)
    if run is None or run.notes <= FEWEST_PAIRS:
        return []
    left = range(run.start, run.start + run.notes)
    pairs = [(k, k + run.lag) for k in left]
    about = Fraction(int(pitches[left[0]] + pitches[left[0] + run.lag]), 2)
    sums = [int(pitches[a] + pitches[b]) for a, b in pairs]
    agrees = [total == 2 * about for total in sums]
    first, last = voice[pairs[0][0]], voice[pairs[-1][0]]
    image, end = voice[pairs[0][1]], voice[pairs[-1][1]]
    source, answer = Span(first.start, last.end), Span(image.start, end.end)
    core = next((k for k, ok in enumerate(agrees) if not ok), len(agrees))
    what = Mirror(
        of="inversion",
        axis_quarters=image.start,
        axis_pitch=about,
        core_quarters=voice[pairs[core - 1][1]].end - image.start if core else Fraction(0),
        reach_quarters=answer.length_quarters,
        left=source,
        right=answer,
        limb_ratio=ratio(source.length_quarters, answer.length_quarters),
        scale=scale([(voice[a].end - first.start, voice[b].end - image.start) for a, b in pairs]),
        deviations=tuple(
            Deviation(
                at_quarters=voice[b].start,
                expected=AttackContent(
                    pitches=(int(2 * about) - int(pitches[a]),),
                    value_quarters=voice[a].content.value_quarters,
                ),
                found=voice[b].content,
            )
            for (a, b), ok in zip(pairs, agrees, strict=True)
            if not ok
        ),
        pairs=tuple(note_pairs(passage, voice, pairs, about=about)),
    )
    finding = mirror_finding(
        passage,
        what,
        spans=[source, answer],
        notes=tuple(sorted({i for p in what.pairs for i in (p.left, p.right)})),
        bits=run.bits,
        pairs_agree=sum(agrees),
        voice="the moving voice",
    )
    reordering = _pitch_reordering(voice, bits_of, lambda rows: best_run_bits(rows, bits_of))
    return [ReorderableMirror(finding=finding, reordering=reordering)]


def retrograde_inversion_mirrors(
    passage: Passage, voice: Sequence[Item]
) -> list[ReorderableMirror]:
    """Find the axis about which a voice is best turned half around; at most one."""
    pitches = pitches_of(voice)
    if len(pitches) < FEWEST_ITEMS:
        return []
    bits_of = interval_bits(pitches)
    row = intervals_of(pitches[None, :])[0]
    reordering = _pitch_reordering(
        voice, bits_of, lambda rows: best_bits(intervals_of(rows), bits_of)
    )
    axis = next((a for a in axes_of(row, bits_of) if a.reach_pairs >= FEWEST_PAIRS), None)
    if axis is None:
        return []
    # Interval k lies between notes k and k + 1, so pairs of intervals frame pairs of notes.
    note_axis = Axis(
        doubled=axis.doubled + 1,
        bits=axis.bits,
        core_pairs=axis.core_pairs,
        reach_pairs=axis.reach_pairs + (axis.doubled % 2 == 0),
    )
    finding = _turned_finding(passage, voice, pitches, note_axis)
    return [ReorderableMirror(finding=finding, reordering=reordering)]


def _turned_finding(passage: Passage, voice: Sequence[Item], pitches: Ids, axis: Axis) -> Finding:
    pairs = [axis.pair(k) for k in range(axis.reach_pairs)]
    sums = [int(pitches[a] + pitches[b]) for a, b in pairs]
    common = max(set(sums), key=lambda total: (sums.count(total), -sums.index(total)))
    about = Fraction(common, 2)
    agrees = [total == common for total in sums]
    core = next((k for k, ok in enumerate(agrees) if not ok), len(agrees))
    centre, distances = axis_place(voice, axis, pairs)(voice, axis, pairs)
    what = Mirror(
        of="retrograde_inversion",
        axis_quarters=centre,
        axis_pitch=about,
        core_quarters=distance(distances, core),
        reach_quarters=distance(distances, axis.reach_pairs),
        left=Span(voice[pairs[-1][0]].start, centre),
        right=Span(centre, voice[pairs[-1][1]].end),
        limb_ratio=ratio(*distances[-1]),
        scale=scale(distances),
        deviations=tuple(
            Deviation(
                at_quarters=voice[b].start,
                expected=AttackContent(
                    pitches=(common - int(pitches[a]),),
                    value_quarters=voice[a].content.value_quarters,
                ),
                found=voice[b].content,
            )
            for (a, b), ok in zip(pairs, agrees, strict=True)
            if not ok
        ),
        pairs=tuple(note_pairs(passage, voice, pairs, about=about)),
    )
    return mirror_finding(
        passage,
        what,
        spans=[Span(voice[pairs[-1][0]].start, voice[pairs[-1][1]].end)],
        notes=notes_between(voice, pairs),
        bits=axis.bits,
        pairs_agree=sum(agrees),
        voice="the moving voice",
    )


def _pitch_reordering(
    voice: Sequence[Item], bits_of: Floats, of_rows: Callable[[Ids], Floats]
) -> Reordering:
    pitches = pitches_of(voice)
    return Reordering(
        items=numbered(pitches.tolist()),
        attacks=np.array([item.attack for item in voice], dtype=np.int64),
        statistic=lambda orders: of_rows(pitches[orders]),
        kept="rhythm kept, pitches of the moving voice reordered",
        one_note_weighs=2.0 * float(bits_of[intervals_of(pitches[None, :])[0]].max()),
    )
