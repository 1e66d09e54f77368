"""The shape of the moving voice."""

from dataclasses import dataclass
from typing import Literal

from riffract.music import Span

Direction = Literal["falling", "rising", "level", "turning"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Limb:
    """A stretch of the moving voice that goes one way.

    Attributes:
        span: where it stands.
        direction: which way it goes.
        semitones: from its first note to its last, signed.
        slope: semitones a quarter.
        notes: the notes of the moving voice in it.
    """

    span: Span
    direction: Direction
    semitones: int
    slope: float
    notes: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Gesture:
    """The shape of the moving voice.

    Attributes:
        limbs: in order of time.
        ratio: mean length of the falling limbs over that of the rising ones; `None` if one
            direction is missing.
        contour: the limbs' turning points as ranks, 0 the lowest (a contour segment).
    """

    limbs: tuple[Limb, ...]
    ratio: float | None
    contour: tuple[int, ...]
