"""An idea that comes back changed."""

from dataclasses import dataclass
from fractions import Fraction

from riffract.music import Span


@dataclass(frozen=True, slots=True, kw_only=True)
class MotivePlace:
    """Where an idea stands.

    Attributes:
        passage: which passage: 0 the one studied, -1 the last of the earlier ones, -2 the one
            before it, and so on back in time.
        title: that passage's title.
        span: where in it.
        notes: indices of its notes there.
    """

    passage: int
    title: str
    span: Span
    notes: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Transform:
    """What was done to an idea.

    Attributes:
        transposition: semitones up, of the first note.
        inversion: whether its intervals are turned upside down.
        retrograde: whether it comes backwards.
        scale: how much longer its times are; 2 for an augmentation.
    """

    transposition: int
    inversion: bool
    retrograde: bool
    scale: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class Motive:
    """An idea and a return of it.

    Attributes:
        source: where it comes from; the earlier place.
        return_: where it comes back.
        transform: how it is changed.
        inserted: notes of the return that the source has not.
        dropped: notes of the source that the return has not.
        changed: pairs (note of the source, note of the return) whose pitch or length differs from
            what the transform gives.
    """

    source: MotivePlace
    return_: MotivePlace
    transform: Transform
    inserted: tuple[int, ...]
    dropped: tuple[int, ...]
    changed: tuple[tuple[int, int], ...]
