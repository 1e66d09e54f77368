"""What comes back moved, and where else does it stand?

Asked of the notes as onset and pitch, and as onset, string and fret: there, what comes back is a
hand shape. What the passes of the riff say is not said again: all but one statement of the riff
count as known, so that a pattern is told only if it comes back within the riff, or outside it.
"""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType
from typing import Final

import numpy as np

from riffract.analysis.finding import Finding, Kind, Reading
from riffract.analysis.patterns.chance import chance_p, evidence_bits, height_bits
from riffract.analysis.patterns.discovery import PointPattern, PointPlace, discover
from riffract.analysis.patterns.occurrences import Bools, Floats
from riffract.analysis.patterns.point_patterns import compactness
from riffract.analysis.patterns.space import PassagePoints, passage_points
from riffract.analysis.patterns.words import pattern_detail, pattern_sentence
from riffract.analysis.what.pattern import Pattern, PatternOccurrence
from riffract.music import Passage, Span

FEWEST_QUARTERS: Final = 1.0
"""A figure in a riff fills a beat at least; over a piece, patterns are longer."""

MOST_PATTERNS: Final = 6
"""In each space; those that come later save little."""

SAME_NOTES_SHARE: Final = 0.8
"""A hand shape whose notes are, for so much of them, those of a pattern in pitch is told by it."""


def find_patterns(
    passage: Passage, *, readings: Sequence[Reading] = (), without: Collection[int] = ()
) -> tuple[Finding, ...]:
    """Find what comes back moved.

    The measures hold `bits`, how much shorter naming the pattern makes the description of the
    pitches, and `chance_p`, a bound on how often chance does as well
    (`riffract.analysis.patterns.chance`); `note_bits` is what one note of it adds at most.

    Args:
        passage: what is studied.
        readings: how it is read in passes, one reading for each riff.
        without: indices of notes that are left out: the drones, since a pitch that is struck
            again and again comes back at every distance.

    Returns:
        Only what makes the description shorter: patterns in pitch, then hand shapes that are not
        told by those; within each the one that tells most first; at most `MOST_PATTERNS` of each.
    """
    in_pitch = _findings(passage, passage_points(passage, "onset_pitch", without=without), readings)
    in_frets = _findings(
        passage, passage_points(passage, "onset_string_fret", without=without), readings
    )
    moved = [one for one in in_frets if _is_moved(one) and not _is_told(one, in_pitch)]
    return (*in_pitch[:MOST_PATTERNS], *moved[:MOST_PATTERNS])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Chance:
    """What a height takes under each model of chance, and which points are known."""

    models: tuple[Floats, ...]
    known: Bools


def _findings(passage: Passage, space: PassagePoints, readings: Sequence[Reading]) -> list[Finding]:
    known = _known(passage, space, readings)
    patterns = discover(space.points, known=known, fewest_quarters=FEWEST_QUARTERS)
    chance = _Chance(models=height_bits(space.points), known=known)
    found = [_finding(passage, space, pattern, chance) for pattern in patterns]
    return [one for one in found if one.measures["bits"] > 0]


def _known(passage: Passage, space: PassagePoints, readings: Sequence[Reading]) -> Bools:
    """Say of each point whether it stands in a pass other than the first of its riff."""
    onset = space.points.onset_ticks
    known = np.zeros(len(onset), dtype=np.bool_)
    ticks = passage.notes.ticks_per_quarter
    for reading in readings:
        spans = [one.span for one in reading.passes]
        told = max(spans, key=reading.template.overlap_quarters, default=None)
        for span in spans:
            if span is not told:
                start, end = span.start_quarters * ticks, span.end_quarters * ticks
                known |= (onset >= float(start)) & (onset < float(end))
    return known


def _finding(
    passage: Passage, space: PassagePoints, pattern: PointPattern, chance: _Chance
) -> Finding:
    what = _pattern(passage, space, pattern)
    measures = _measures(space, pattern, chance)
    notes = sorted({i for one in what.occurrences for i in one.notes})
    return Finding(
        kind=Kind.PATTERN,
        spans=tuple(one.span for one in what.occurrences),
        notes=tuple(notes),
        what=what,
        measures=MappingProxyType(measures),
        sentence=pattern_sentence(passage, what),
        detail=pattern_detail(what, measures),
    )


def _pattern(passage: Passage, space: PassagePoints, pattern: PointPattern) -> Pattern:
    table = space.table[list(pattern.example)]
    vectors = tuple(
        (space.quarters(ticks), *map(Fraction, rest))
        for ticks, *rest in (table - table[0]).tolist()
    )
    first = pattern.places[0]
    return Pattern(
        space=space.space,
        vectors=vectors,
        occurrences=tuple(
            _occurrence(passage, space, pattern, place, first) for place in pattern.places
        ),
    )


def _occurrence(
    passage: Passage,
    space: PassagePoints,
    pattern: PointPattern,
    place: PointPlace,
    first: PointPlace,
) -> PatternOccurrence:
    notes = passage.notes
    rows = space.note[list(place.points)]
    example = list(pattern.example)
    points = space.points
    wanted = zip(
        (points.onset_ticks[example] + place.move_ticks).tolist(),
        (points.height[example] + place.move_height).tolist(),
        strict=True,
    )
    own = list(place.points)
    there = set(zip(points.onset_ticks[own].tolist(), points.height[own].tolist(), strict=True))
    return PatternOccurrence(
        span=Span(
            notes.quarters(notes.onset_ticks[rows[0]]),
            notes.quarters((notes.onset_ticks[rows] + notes.duration_ticks[rows]).max()),
        ),
        shift_quarters=space.quarters(place.move_ticks - first.move_ticks),
        shift=space.shift_of(place.move_height - first.move_height),
        notes=tuple(rows.tolist()),
        missing=tuple(k for k, point in enumerate(wanted) if point not in there),
    )


def _measures(space: PassagePoints, pattern: PointPattern, chance: _Chance) -> dict[str, float]:
    size, places = len(pattern.example), pattern.places
    covered = {i for place in places for i in place.points}
    # Of two models of chance the one that does better against the pattern counts.
    evidence, k = min(
        (evidence_bits(space.points, pattern, bits, chance.known), k)
        for k, bits in enumerate(chance.models)
    )
    further = sum(place.is_new for place in places) - 1
    return {
        "notes": float(size),
        "occurrences": float(len(places)),
        "exact_occurrences": float(sum(len(place.points) == size for place in places)),
        "compression_ratio": len(covered) / (size + len(places) - 1),
        "compactness": float(compactness(pattern.example, space.table)),
        "saved_bits": pattern.saved_bits,
        "saved_share": pattern.saved_bits / pattern.passage_bits,
        "bits": evidence,
        "note_bits": further * max(float(chance.models[k][list(p.points)].max()) for p in places),
        "chance_p": chance_p(evidence),
    }


def _is_moved(finding: Finding) -> bool:
    return isinstance(finding.what, Pattern) and any(
        any(one.shift) for one in finding.what.occurrences
    )


def _is_told(shape: Finding, in_pitch: Iterable[Finding]) -> bool:
    own = set(shape.notes)
    return any(len(own & set(one.notes)) >= SAME_NOTES_SHARE * len(own) for one in in_pitch)
