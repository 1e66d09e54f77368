"""What shape does the moving voice draw?"""

from bisect import bisect_right
from collections.abc import Collection, Sequence
from fractions import Fraction
from itertools import accumulate, groupby, pairwise
from types import MappingProxyType
from typing import Final

import numpy as np

from riffract.analysis.attacks import Attack, lead_notes
from riffract.analysis.contour import contour_of, reduced, similarity
from riffract.analysis.finding import Direction, Finding, Gesture, Kind, Limb
from riffract.analysis.gestures.limbs import TOLERANCE_SEMITONES, limbs_of
from riffract.analysis.saying import in_digits, say
from riffract.analysis.wording import capital, counted, length_text, listed, signed, times
from riffract.music import Passage, Span

FEWEST_NOTES: Final = 3
"""A shape needs more than an interval."""

LONG_SILENCE: Final = 3.0
"""A silence of the voice is long if it lasts so many times the usual time between two notes."""

_MOST_POINTS_COMPARED: Final = 256
"""Every pair of points is compared, and nobody hears a shape of more."""

_ON_A_BAR: Final = 2e-3
"""Twice as much as on a group, so that of two places that cost the same the bar line wins."""
_ON_A_GROUP: Final = 1e-3
"""How much cheaper a cut is where the next note starts a bar, or a group within it. Far below a
semitone: it only decides to which limb a turning note belongs."""


def find_gesture(
    passage: Passage,
    attacks: Sequence[Attack],
    lead: tuple[int, ...],
    pass_starts: Collection[Fraction] = (),
) -> tuple[Finding, ...]:
    """Split the moving voice into limbs.

    A limb never goes on over the start of a pass, nor over a silence of the voice that fills a bar
    or lasts three times as long as its notes usually take. It ends with its last note.

    Args:
        passage: what is studied.
        attacks: its attacks.
        lead: the notes of the moving voice, by time; ringing strings and the lowest open string
            are left out of it, since a low stroke between high notes is no fall of two octaves.
        pass_starts: where statements of the riff start, in quarters.

    Returns:
        One finding; none for a voice of fewer than three notes.
    """
    if len(lead) < FEWEST_NOTES:
        return ()
    cuts = _cuts(passage, lead, pass_starts)
    limbs = _limbs(passage, lead, TOLERANCE_SEMITONES, cuts)
    gesture = Gesture(limbs=limbs, ratio=_ratio(limbs), contour=_contour(passage, limbs))
    every_top = lead_notes(passage.notes, attacks, without=())
    measures = {
        **_measures(passage, gesture, lead),
        "limb_count_at_half_tolerance": len(_limbs(passage, lead, TOLERANCE_SEMITONES / 2, cuts)),
        "limb_count_at_twice_tolerance": len(_limbs(passage, lead, 2 * TOLERANCE_SEMITONES, cuts)),
        "limb_count_with_anchors": len(
            _limbs(passage, every_top, TOLERANCE_SEMITONES, _cuts(passage, every_top, pass_starts))
        ),
        "range_semitones_with_anchors": _range(passage, every_top),
    }
    return (
        Finding(
            kind=Kind.GESTURE,
            spans=(Span(limbs[0].span.start_quarters, limbs[-1].span.end_quarters),),
            notes=lead,
            what=gesture,
            measures=MappingProxyType({name: float(value) for name, value in measures.items()}),
            sentence=_sentence(passage, gesture),
            detail=_detail(passage, gesture, measures),
        ),
    )


def _limbs(
    passage: Passage, lead: Sequence[int], tolerance: float, cuts: Sequence[float | None]
) -> tuple[Limb, ...]:
    split = limbs_of(
        passage.notes.pitch[list(lead)].tolist(),
        tolerance_semitones=tolerance,
        cut_costs=[-tolerance if bonus is None else tolerance - bonus for bonus in cuts],
    )
    return tuple(_limb(passage, lead[limb.start : limb.stop], limb.direction) for limb in split)


def _cuts(
    passage: Passage, lead: Sequence[int], pass_starts: Collection[Fraction]
) -> list[float | None]:
    """Say after which notes a limb has to end (`None`), and how much cheaper other cuts are."""
    notes = passage.notes
    ends = (notes.onset_ticks + notes.duration_ticks)[list(lead)].tolist()
    onsets = notes.onset_ticks[list(lead)].tolist()
    starts = sorted(float(q * notes.ticks_per_quarter) for q in pass_starts)
    usual = float(np.median(np.diff(onsets))) if len(onsets) > 1 else 0.0
    bonuses = _bonuses(passage)
    cuts: list[float | None] = []
    for before, end, onset in zip(onsets[:-1], ends[:-1], onsets[1:], strict=True):
        starts_a_pass = bisect_right(starts, onset) > bisect_right(starts, before)
        has_to = starts_a_pass or (
            onset > end
            and (onset - end >= LONG_SILENCE * usual or _fills_a_bar(passage, end, onset))
        )
        cuts.append(None if has_to else bonuses.get(onset, 0.0))
    return cuts


def _fills_a_bar(passage: Passage, end_ticks: int, onset_ticks: int) -> bool:
    end, onset = (passage.notes.quarters(ticks) for ticks in (end_ticks, onset_ticks))
    return onset - end >= passage.bar_at(end).length_quarters


def _bonuses(passage: Passage) -> dict[int, float]:
    """List by tick how much cheaper a cut is where a bar starts, or a group within a full bar."""
    bonuses: dict[int, float] = {}
    for bar in passage.bars:
        is_full = bar.length_quarters == bar.metre.length_quarters
        for unit in accumulate(bar.metre.groups[:-1] if is_full else (), initial=0):
            at = bar.start_quarters + unit * bar.metre.unit_quarters
            ticks = at * passage.notes.ticks_per_quarter
            if ticks.denominator == 1:
                bonuses[int(ticks)] = _ON_A_GROUP if unit else _ON_A_BAR
    return bonuses


def _limb(passage: Passage, rows: Sequence[int], direction: Direction) -> Limb:
    notes = passage.notes
    first, last = rows[0], rows[-1]
    start = notes.quarters(notes.onset_ticks[first])
    end = notes.quarters(notes.onset_ticks[last] + notes.duration_ticks[last])
    semitones = int(notes.pitch[last] - notes.pitch[first])
    moved = notes.quarters(notes.onset_ticks[last]) - start
    return Limb(
        span=Span(start, end),
        direction=direction,
        semitones=semitones,
        slope=float(semitones / moved) if moved else 0.0,
        notes=tuple(rows),
    )


def _mean_length(limbs: Sequence[Limb], direction: Direction) -> float | None:
    lengths = [float(x.span.length_quarters) for x in limbs if x.direction == direction]
    return sum(lengths) / len(lengths) if lengths else None


def _ratio(limbs: Sequence[Limb]) -> float | None:
    fall, rise = _mean_length(limbs, "falling"), _mean_length(limbs, "rising")
    return fall / rise if fall and rise else None


def _contour(passage: Passage, limbs: Sequence[Limb]) -> tuple[int, ...]:
    """Rank the turning points: the ends of the limbs, but one point where a fall meets a rise."""
    pitch = passage.notes.pitch.tolist()
    points = [limbs[0].notes[0]]
    for left, right in pairwise(limbs):
        meeting = (left.notes[-1], right.notes[0])
        turn = {("falling", "rising"): min, ("rising", "falling"): max}.get(
            (left.direction, right.direction)
        )
        points += [turn(meeting, key=lambda i: pitch[i])] if turn else meeting
    points.append(limbs[-1].notes[-1])
    # A limb of one note has one point, not two.
    return contour_of([pitch[i] for i, _ in groupby(points)])


def _range(passage: Passage, rows: Sequence[int]) -> int:
    pitches = passage.notes.pitch[list(rows)]
    return int(pitches.max() - pitches.min())


def _measures(passage: Passage, gesture: Gesture, lead: Sequence[int]) -> dict[str, float]:
    """Name the numbers of a gesture.

    `sweeps` is how far the limbs go in all, as a multiple of the range: a single fall has 1.
    `reversal_similarity` compares the contour of the turning points with itself read backwards.
    """
    limbs = gesture.limbs
    extent = _range(passage, lead)
    measures = {
        "limb_count": len(limbs),
        "tolerance_semitones": TOLERANCE_SEMITONES,
        "range_semitones": extent,
        "sweeps": sum(abs(limb.semitones) for limb in limbs) / extent if extent else 0.0,
        "contour_depth": reduced(gesture.contour)[1],
    }
    if len(gesture.contour) <= _MOST_POINTS_COMPARED:
        measures["reversal_similarity"] = similarity(gesture.contour, gesture.contour[::-1])
    for direction in ("falling", "rising", "level", "turning"):
        of_kind = [limb for limb in limbs if limb.direction == direction]
        measures[f"{direction}_count"] = len(of_kind)
        if of_kind and direction in {"falling", "rising"}:
            mean = sum(limb.slope for limb in of_kind) / len(of_kind)
            measures[f"{direction}_semitones_a_quarter"] = mean
    if gesture.ratio is not None:
        measures["ratio"] = gesture.ratio
    return measures


_VERBS: Final = {
    "falling": "falls",
    "rising": "rises",
    "level": "keeps level",
    "turning": "turns to and fro",
}
_VERBS_COUNTED: Final = {
    "falling": "falls {times}",
    "rising": "rises {times}",
    "level": "keeps level {times}",
    "turning": "turns to and fro {times}",
}
_THROUGHOUT: Final = {
    "falling": "The moving voice falls throughout, over {length}.",
    "rising": "The moving voice rises throughout, over {length}.",
    "level": "The moving voice keeps level throughout, over {length}.",
    "turning": "The moving voice turns to and fro throughout, over {length}.",
}
_NAMES: Final = {"falling": "falling", "rising": "rising", "level": "level", "turning": "turning"}


def _sentence(passage: Passage, gesture: Gesture) -> str:
    limbs = gesture.limbs
    if len(limbs) == 1:
        return say(_THROUGHOUT[limbs[0].direction], length=_length(passage, limbs[0]))
    if len(limbs) <= 4 and all(a.direction != b.direction for a, b in pairwise(limbs)):
        moves = listed([say(_VERBS[limb.direction]) for limb in limbs], "and then")
    else:
        counts = {d: sum(limb.direction == d for limb in limbs) for d in _VERBS}
        moves = listed([say(_VERBS_COUNTED[d], times=times(n)) for d, n in counts.items() if n])
    ratio = _ratio_words(gesture.ratio)
    return say("The moving voice {moves}{ratio}.", moves=moves, ratio=ratio)


def _length(passage: Passage, limb: Limb) -> str:
    metre = passage.bar_at(limb.span.start_quarters).metre
    return length_text(limb.span.length_quarters, metre)


_ALIKE: Final = 1.05
"""A ratio nearer to 1 is told as equal: with two figures it would read as 1."""


def _ratio_words(ratio: float | None) -> str:
    if ratio is None:
        return ""
    if 1 / _ALIKE <= ratio <= _ALIKE:
        return say(", and a fall lasts as long as a rise")
    factor = f"{max(ratio, 1 / ratio):.2g}"
    often = say("twice") if factor == "2" else say("{number} times", number=in_digits(factor))
    if ratio > 1:
        return say(", and a fall lasts {often} as long as a rise", often=often)
    return say(", and a rise lasts {often} as long as a fall", often=often)


def _detail(passage: Passage, gesture: Gesture, measures: dict[str, float]) -> str:
    contour = " ".join(map(str, gesture.contour[:24]))
    more = " …" if len(gesture.contour) > 24 else ""
    prime, depth = reduced(gesture.contour)
    told = [
        say(
            "{direction} {semitones} st in {length}",
            direction=say(_NAMES[limb.direction]),
            semitones=signed(limb.semitones),
            length=_length(passage, limb),
        )
        for limb in gesture.limbs[:8]
    ]
    if len(gesture.limbs) > len(told):
        told.append(say("{count} more", count=len(gesture.limbs) - len(told)))
    return say(
        "{limbs}: {told}. Contour of the turning points <{contour}>, prime <{prime}> at depth "
        "{depth}. Returns of less than {tolerance} semitones stay within a limb; half and twice as "
        "tolerant it has {half} and {double} limbs, with the low anchors counted {anchored}.",
        limbs=capital(counted(len(gesture.limbs), "limb")),
        told="; ".join(told),
        contour=f"{contour}{more}",
        prime=" ".join(map(str, prime)),
        depth=depth,
        tolerance=in_digits(f"{TOLERANCE_SEMITONES:g}"),
        half=f"{measures['limb_count_at_half_tolerance']:g}",
        double=f"{measures['limb_count_at_twice_tolerance']:g}",
        anchored=f"{measures['limb_count_with_anchors']:g}",
    )
