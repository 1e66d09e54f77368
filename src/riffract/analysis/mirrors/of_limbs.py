"""A fall that answers a climb, or a climb that answers a fall, at any pace."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

import numpy as np

from riffract.analysis.description import numbered
from riffract.analysis.finding import (
    Finding,
    Gesture,
    Limb,
    Mirror,
)
from riffract.analysis.mirrors.departures import departures
from riffract.analysis.mirrors.distance import (
    axis_place,
    distance,
    first_false,
    note_pairs,
    overall_pace,
    pace_measures,
    ratio,
)
from riffract.analysis.mirrors.finding import FEWEST_PAIRS, ReorderableMirror, mirror_finding
from riffract.analysis.mirrors.limb_pair import partners_of, turning_strength
from riffract.analysis.mirrors.rows import Item, pitches_of
from riffract.analysis.reordering import Ids, Reordering
from riffract.analysis.saying import say
from riffract.music import Passage, Span

_AS_GOOD: Final = 0.8
"""The first pair of limbs with this share of the best score is told: a note or two that differ
should not let a later statement take the place of the first one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Facing:
    """Two limbs that go opposite ways, and which of their notes are partners.

    Attributes:
        left, right: the limbs.
        pairs: places in the voice of (left partner, right partner), outwards.
        alone: places in the voice of notes without a partner.
        score: of the alignment.
    """

    left: Limb
    right: Limb
    pairs: tuple[tuple[int, int], ...]
    alone: tuple[int, ...]
    score: float

    @property
    def span(self) -> Span:
        return Span(self.left.span.start_quarters, self.right.span.end_quarters)


def gesture_mirrors(
    passage: Passage, voice: Sequence[Item], gesture: Gesture
) -> list[ReorderableMirror]:
    """Find the fall and climb, or climb and fall, that answer one another best; at most one.

    The finding's chance speaks of the turning, not of the pitches that agree: over one range a fall
    and a climb on other scales meet now and then as well, and how often they do is told.

    Of those that do nearly as well, the first is told, since the ear meets it first.
    """
    places = {item.note: k for k, item in enumerate(voice)}
    facing = [_faced(voice, places, left, right) for left, right in _opposed(gesture.limbs)]
    pitches = pitches_of(voice)
    # Limbs that agree in a few notes but leave most alone do not answer one another.
    facing = [f for f in facing if f.score > 0.0 and _answers(pitches, f)]
    if not facing:
        return []
    highest = max(f.score for f in facing)
    best = next(f for f in facing if f.score >= _AS_GOOD * highest)
    alike = [f.span for f in facing if _pair_pitches(pitches, f) == _pair_pitches(pitches, best)]
    intervals = np.diff(pitches)
    reordering = Reordering(
        items=numbered(intervals.tolist()),
        attacks=np.array([item.attack for item in voice[1:]], dtype=np.int64),
        statistic=lambda orders: np.round(turning_strength(intervals[orders]), 6),
        kept=say("intervals of the moving voice kept, their order changed"),
        one_note_weighs=float(np.abs(intervals).max() / np.sqrt(np.mean(np.square(intervals)))),
        are_steps=True,
    )
    finding = _limb_finding(passage, voice, best, spans=alike)
    return [ReorderableMirror(finding=finding, reorderings=(reordering,))]


def _opposed(limbs: Sequence[Limb]) -> Iterable[tuple[Limb, Limb]]:
    """Pair each falling limb with the next rising one and the other way round.

    One limb that goes nowhere may stand between them.
    """
    opposite = {"falling": "rising", "rising": "falling"}
    for k, left in enumerate(limbs):
        for right in limbs[k + 1 : k + 3]:
            if opposite.get(left.direction) == right.direction:
                yield left, right
            if right.direction in opposite:
                break


def _faced(
    voice: Sequence[Item], places: Mapping[int | None, int], left: Limb, right: Limb
) -> _Facing:
    left_row = [places[i] for i in reversed(left.notes)]
    right_row = [places[i] for i in right.notes]
    partners = partners_of(
        [voice[k].content.pitches[0] for k in left_row],
        [voice[k].content.pitches[0] for k in right_row],
    )
    alone = [left_row[k] for k in partners.left_alone]
    alone += [right_row[k] for k in partners.right_alone]
    return _Facing(
        left=left,
        right=right,
        pairs=tuple((left_row[a], right_row[b]) for a, b in partners.pairs),
        alone=tuple(sorted(alone)),
        score=partners.score,
    )


def _answers(pitches: Ids, facing: _Facing) -> bool:
    """Whether half of the shorter limb's notes have partners, and half of these agree in pitch."""
    shorter = min(len(facing.left.notes), len(facing.right.notes))
    agreeing = sum(a == b for a, b in _pair_pitches(pitches, facing))
    pairs = len(facing.pairs)
    return pairs >= max(FEWEST_PAIRS, shorter / 2) and 2 * agreeing >= pairs


def _end(voice: Sequence[Item], limb: Limb) -> Fraction:
    return max(item.end for item in voice if item.note in limb.notes)


def _pair_pitches(pitches: Ids, facing: _Facing) -> list[tuple[int, int]]:
    return [(int(pitches[a]), int(pitches[b])) for a, b in facing.pairs]


def _limb_finding(
    passage: Passage, voice: Sequence[Item], facing: _Facing, *, spans: Sequence[Span]
) -> Finding:
    left, right, pairs = facing.left, facing.right, facing.pairs
    inner_left, inner_right = pairs[0]
    # The innermost partners stand on both sides of the axis, or are one and the same note.
    doubled = inner_left + inner_right
    centre, distances = axis_place(voice, doubled, pairs)(voice, doubled, pairs)
    off = [voice[b].content.pitches[0] - voice[a].content.pitches[0] for a, b in pairs]
    # A note on the axis is its own image, though only one limb can hold it.
    alone = [k for k in facing.alone if 2 * k != doubled]
    # A limb reaches to the end of its own last note; what follows it is not part of the mirror.
    before = Span(left.span.start_quarters, min(left.span.end_quarters, _end(voice, left)))
    after = Span(right.span.start_quarters, min(right.span.end_quarters, _end(voice, right)))
    nearest = min((abs(2 * k - doubled) for k in alone), default=None)
    core = first_false(
        [
            not semitones and (nearest is None or max(doubled - 2 * a, 2 * b - doubled) < nearest)
            for (a, b), semitones in zip(pairs, off, strict=True)
        ]
    )
    what = Mirror(
        of="gesture",
        voice="the moving voice",
        axis_quarters=centre,
        axis_pitch=None,
        core_quarters=distance(distances, core),
        reach_quarters=distance(distances, len(distances)),
        left=before,
        right=after,
        limb_ratio=ratio(before.length_quarters, after.length_quarters),
        scale=overall_pace(distances),
        deviations=departures(
            voice,
            pairs,
            left_alone=[k for k in alone if 2 * k < doubled],
            right_alone=[k for k in alone if 2 * k > doubled],
        ),
        pairs=tuple(note_pairs(passage, voice, pairs, about=None)),
    )
    return mirror_finding(
        passage,
        what,
        spans=spans,
        notes=tuple(sorted({*left.notes, *right.notes})),
        bits=None,
        pairs_agree=sum(not semitones for semitones in off),
        falls_first=left.direction == "falling",
        more={
            "alone": float(len(alone)),
            "height_semitones": float(min(abs(left.semitones), abs(right.semitones))),
            **pace_measures(distances, what.scale),
        },
    )
