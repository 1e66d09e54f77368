"""What the hand does, and what it explains."""

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from riffract.music import Span


@dataclass(frozen=True, slots=True, kw_only=True)
class MovedShape:
    """A hand shape that comes back elsewhere on the fretboard.

    Attributes:
        places: the fretted places of its first statement, as (string, fret), in order of playing.
        spans: where it stands, by time.
        moves: for each further statement (strings, frets) from the first.
        notes: its notes, one row for each statement.
    """

    places: tuple[tuple[int, int], ...]
    spans: tuple[Span, ...]
    moves: tuple[tuple[int, int], ...]
    notes: tuple[tuple[int, ...], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Grip:
    """Where the hand is at one attack.

    Attributes:
        at_quarters: when.
        position: the fret under the first finger; `None` while only open strings sound.
        fingers: (note, finger 1..4) for each fretted note.
        stretch_mm: from the lowest to the highest fretted place along the neck.
    """

    at_quarters: Fraction
    position: int | None
    fingers: tuple[tuple[int, int], ...]
    stretch_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ExplainedFinding:
    """What a symmetry owes to the hand.

    Attributes:
        what: which symmetry: a pattern, a mirror, a row of equal chords.
        span: where.
        explained: whether moving one shape gives it of itself.
    """

    what: Literal["transposed_repeat", "parallel_chords", "inversion", "equal_steps"]
    span: Span
    explained: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Hand:
    """The fretting hand's way through the passage.

    Attributes:
        path: the cheapest fingering of the written places.
        path_cost: what the cheapest places for the same pitches would cost, in our units.
        written_cost: what the written places cost.
        shapes: shapes that are moved, the one that explains most first.
        explains_share: share of the fretted notes that moving a shape already told gives.
        explains: pitch symmetries, and whether they follow from a moved shape.
        wide_stretches: where the fingers lie so far apart that warming up and resting is advised.
    """

    path: tuple[Grip, ...]
    path_cost: float
    written_cost: float
    shapes: tuple[MovedShape, ...]
    explains_share: float
    explains: tuple[ExplainedFinding, ...]
    wide_stretches: tuple[Fraction, ...] = ()
