"""Lines that come back upside down, forwards or backwards."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from riffract.analysis.description import numbered
from riffract.analysis.finding import (
    AttackContent,
    Deviation,
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
from riffract.analysis.mirror_rows import Item, interval_reordering, pitches_of
from riffract.analysis.palindrome import Evidence, Walk, axes_of, best_bits
from riffract.analysis.reordering import Floats, Ids, Reordering
from riffract.analysis.upside_down import best_run, best_run_bits
from riffract.music import Passage, Span


def inversion_mirrors(passage: Passage, voice: Sequence[Item]) -> list[ReorderableMirror]:
    """Find the stretch of a voice that best comes back upside down; at most one."""
    pitches = pitches_of(voice)
    if len(pitches) < FEWEST_ITEMS:
        return []
    evidence = Evidence.of(pitches)
    run = best_run(pitches, evidence)
    if run is None or run.notes <= FEWEST_PAIRS:
        return []
    pairs = [(k, k + run.lag) for k in range(run.start, run.start + run.notes)]
    (first, image), (last, end) = pairs[0], pairs[-1]
    source = Span(voice[first].start, voice[last].end)
    answer = Span(voice[image].start, voice[end].end)
    turned = _Turned.of(voice, pairs, run.pitch_sum)
    what = Mirror(
        of="inversion",
        axis_quarters=answer.start_quarters,
        axis_pitch=turned.about,
        core_quarters=(
            voice[pairs[turned.core - 1][1]].end - answer.start_quarters
            if turned.core
            else Fraction(0)
        ),
        reach_quarters=answer.length_quarters,
        left=source,
        right=answer,
        limb_ratio=ratio(source.length_quarters, answer.length_quarters),
        scale=scale(
            [
                (voice[a].end - source.start_quarters, voice[b].end - answer.start_quarters)
                for a, b in pairs
            ]
        ),
        deviations=turned.deviations,
        pairs=tuple(note_pairs(passage, voice, pairs, about=turned.about)),
    )
    finding = mirror_finding(
        passage,
        what,
        spans=[source, answer],
        notes=tuple(sorted({i for p in what.pairs for i in (p.left, p.right)})),
        bits=run.bits,
        pairs_agree=turned.agreeing,
        voice="the moving voice",
    )
    reorderings = (
        _pitch_reordering(voice, evidence, lambda lines: best_run_bits(lines, evidence)),
        interval_reordering(voice, lambda lines: best_run_bits(lines, Evidence.of(lines))),
    )
    return [ReorderableMirror(finding=finding, reorderings=reorderings)]


def retrograde_inversion_mirrors(
    passage: Passage, voice: Sequence[Item], walk: Walk
) -> list[ReorderableMirror]:
    """Find the axis about which a voice is best turned half around; at most one."""
    pitches = pitches_of(voice)
    if len(pitches) < FEWEST_ITEMS:
        return []
    evidence = Evidence.of(pitches)
    axes = axes_of(pitches, evidence, walk, worth_of_best=0.5)
    axis = next((a for a in axes if a.reach_pairs >= FEWEST_PAIRS), None)
    if axis is None or axis.pitch_sum is None:
        return []
    pairs = [axis.pair(k) for k in range(axis.reach_pairs)]
    centre, distances = axis_place(voice, axis.doubled, pairs)(voice, axis.doubled, pairs)
    turned = _Turned.of(voice, pairs, axis.pitch_sum)
    what = Mirror(
        of="retrograde_inversion",
        axis_quarters=centre,
        axis_pitch=turned.about,
        core_quarters=distance(distances, turned.core),
        reach_quarters=distance(distances, axis.reach_pairs),
        left=Span(voice[pairs[-1][0]].start, centre),
        right=Span(centre, voice[pairs[-1][1]].end),
        limb_ratio=ratio(*distances[-1]),
        scale=scale(distances),
        deviations=turned.deviations,
        pairs=tuple(note_pairs(passage, voice, pairs, about=turned.about)),
    )
    finding = mirror_finding(
        passage,
        what,
        spans=[Span(voice[pairs[-1][0]].start, voice[pairs[-1][1]].end)],
        notes=notes_between(voice, pairs),
        bits=axis.bits,
        pairs_agree=turned.agreeing,
        voice="the moving voice",
    )
    reorderings = (
        _pitch_reordering(voice, evidence, lambda lines: best_bits(lines, evidence, walk)),
        interval_reordering(voice, lambda lines: best_bits(lines, Evidence.of(lines), walk)),
    )
    return [ReorderableMirror(finding=finding, reorderings=reorderings)]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Turned:
    """Pairs of notes that should add up to one sum.

    Attributes:
        about: the pitch, or half-pitch, that stays where it is.
        core: pairs before the first that does not fit.
        agreeing: pairs that fit.
        deviations: the others.
    """

    about: Fraction
    core: int
    agreeing: int
    deviations: tuple[Deviation, ...]

    @classmethod
    def of(
        cls, voice: Sequence[Item], pairs: Sequence[tuple[int, int]], pitch_sum: int
    ) -> "_Turned":
        pitches = pitches_of(voice)
        agrees = [int(pitches[a] + pitches[b]) == pitch_sum for a, b in pairs]
        return cls(
            about=Fraction(pitch_sum, 2),
            core=next((k for k, fits in enumerate(agrees) if not fits), len(agrees)),
            agreeing=sum(agrees),
            deviations=tuple(
                Deviation(
                    at_quarters=voice[b].start,
                    expected=AttackContent(
                        pitches=(pitch_sum - int(pitches[a]),),
                        value_quarters=voice[a].content.value_quarters,
                    ),
                    found=voice[b].content,
                )
                for (a, b), fits in zip(pairs, agrees, strict=True)
                if not fits
            ),
        )


def _pitch_reordering(
    voice: Sequence[Item], evidence: Evidence, of_rows: Callable[[Ids], Floats]
) -> Reordering:
    pitches = pitches_of(voice)
    return Reordering(
        items=numbered(pitches.tolist()),
        attacks=np.array([item.attack for item in voice], dtype=np.int64),
        statistic=lambda orders: of_rows(pitches[orders]),
        kept="rhythm kept, pitches of the moving voice reordered",
        one_note_weighs=evidence.most,
    )
