"""Lines that come back upside down, forwards or backwards."""

from collections.abc import Callable, Sequence
from fractions import Fraction
from typing import Final

import numpy as np

from riffract.analysis.description import numbered
from riffract.analysis.finding import Mirror
from riffract.analysis.mirrors.departures import departures, turned_about
from riffract.analysis.mirrors.distance import (
    first_false,
    note_pairs,
    pace,
    pace_measures,
    ratio,
)
from riffract.analysis.mirrors.finding import (
    FEWEST_ITEMS,
    FEWEST_PAIRS,
    ReorderableMirror,
    mirror_finding,
)
from riffract.analysis.mirrors.limits import StatementRun, walk_along
from riffract.analysis.mirrors.of_rows import Row, row_mirror
from riffract.analysis.mirrors.palindrome import Evidence, axes_of, best_bits
from riffract.analysis.mirrors.past_gaps import past_gaps
from riffract.analysis.mirrors.rows import (
    Item,
    interval_reordering,
    pitches_of,
    scale_step_reordering,
)
from riffract.analysis.mirrors.upside_down import Run, best_run, best_run_bits
from riffract.analysis.reordering import Floats, Ids, Reordering
from riffract.analysis.saying import say
from riffract.music import Passage, Span

_PITCHES_REORDERED: Final = "rhythm kept, pitches of the moving voice reordered"


def inversion_mirrors(passage: Passage, voice: Sequence[Item]) -> list[ReorderableMirror]:
    """Find the stretch of a voice that best comes back upside down; at most one."""
    pitches = pitches_of(voice)
    if len(pitches) < FEWEST_ITEMS:
        return []
    evidence = Evidence.of(pitches)
    run = best_run(pitches, evidence)
    if run is None or run.notes <= FEWEST_PAIRS:
        return []
    pairs, alone = _answers(pitches, run, evidence)
    (first, image), (last, end) = pairs[0], pairs[-1]
    source = Span(voice[first].start, voice[last].end)
    answer = Span(voice[image].start, voice[end].end)
    fits = [int(pitches[a] + pitches[b]) == run.pitch_sum for a, b in pairs]
    lag = image - first
    core = first_false([f and b - a == lag for f, (a, b) in zip(fits, pairs, strict=True)])
    distances = [
        (voice[a].end - source.start_quarters, voice[b].end - answer.start_quarters)
        for a, b in pairs
    ]
    about = Fraction(run.pitch_sum, 2)
    what = Mirror(
        of="inversion",
        voice="the moving voice",
        axis_quarters=answer.start_quarters,
        axis_pitch=about,
        core_quarters=distances[core - 1][1] if core else Fraction(0),
        reach_quarters=answer.length_quarters,
        left=source,
        right=answer,
        limb_ratio=ratio(source.length_quarters, answer.length_quarters),
        scale=pace(distances),
        deviations=departures(
            voice,
            pairs,
            image=turned_about(run.pitch_sum),
            left_alone=[k for k in alone if k <= last],
            right_alone=[k for k in alone if k >= image],
        ),
        pairs=tuple(note_pairs(passage, voice, pairs, about=about)),
    )
    finding = mirror_finding(
        passage,
        what,
        spans=[source, answer],
        notes=tuple(sorted({i for p in what.pairs for i in (p.left, p.right)})),
        bits=run.bits,
        pairs_agree=sum(fits),
        more={"alone": float(len(alone)), **pace_measures(distances, what.scale)},
    )
    reorderings = (
        interval_reordering(voice, lambda lines: best_run_bits(lines, Evidence.of(lines))),
        scale_step_reordering(voice, lambda lines: best_run_bits(lines, Evidence.of(lines))),
        _pitch_reordering(voice, evidence, lambda lines: best_run_bits(lines, evidence)),
    )
    return [ReorderableMirror(finding=finding, reorderings=reorderings)]


def _answers(pitches: Ids, run: Run, evidence: Evidence) -> tuple[list[tuple[int, int]], list[int]]:
    """Pair a stretch with its image, at both ends past notes that one of them lacks.

    Returns:
        (note of the stretch, note of the image) of each pair, by time; and the notes without one.
    """
    start, image = run.start, run.start + run.lag
    expected, worth = run.pitch_sum - pitches, evidence.worth(pitches)
    onwards = past_gaps(expected[start:image], pitches[image:], worth[image:], run.notes)
    # Nothing of the stretch belongs to its image as well.
    between = slice(start + onwards.pairs[-1][0] + 1, image)
    back = past_gaps(expected[:start][::-1], pitches[between][::-1], worth[between][::-1], 0)
    pairs = [(start - 1 - a, image - 1 - b) for a, b in reversed(back.pairs)]
    pairs += [(start + a, image + b) for a, b in onwards.pairs]
    alone = [start - 1 - a for a in back.left_alone] + [start + a for a in onwards.left_alone]
    alone += [image - 1 - b for b in back.right_alone] + [image + b for b in onwards.right_alone]
    return pairs, alone


def retrograde_inversion_mirrors(
    passage: Passage, voice: Sequence[Item], runs: Sequence[StatementRun]
) -> list[ReorderableMirror]:
    """Find the axis about which a voice is best turned half around; at most one."""
    pitches = pitches_of(voice)
    if len(pitches) < FEWEST_ITEMS:
        return []
    evidence, walk = Evidence.of(pitches), walk_along(voice, runs, turned=True)
    axes = axes_of(pitches, evidence, walk, worth_of_best=0.5)
    axis = next((a for a in axes if a.reach_pairs >= FEWEST_PAIRS), None)
    if axis is None or axis.pitch_sum is None:
        return []
    row = Row(
        items=voice,
        ids=pitches,
        of="retrograde_inversion",
        voice="the moving voice",
        kept=say(_PITCHES_REORDERED),
    )
    finding = row_mirror(passage, row, [axis], evidence, walk)
    reorderings = (
        interval_reordering(voice, lambda lines: best_bits(lines, Evidence.of(lines), walk)),
        scale_step_reordering(voice, lambda lines: best_bits(lines, Evidence.of(lines), walk)),
        _pitch_reordering(voice, evidence, lambda lines: best_bits(lines, evidence, walk)),
    )
    return [ReorderableMirror(finding=finding, reorderings=reorderings)]


def _pitch_reordering(
    voice: Sequence[Item], evidence: Evidence, of_rows: Callable[[Ids], Floats]
) -> Reordering:
    pitches = pitches_of(voice)
    return Reordering(
        items=numbered(pitches.tolist()),
        attacks=np.array([item.attack for item in voice], dtype=np.int64),
        statistic=lambda orders: of_rows(pitches[orders]),
        kept=say(_PITCHES_REORDERED),
        one_note_weighs=evidence.most,
    )
