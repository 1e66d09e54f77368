"""A pitch that sounds on, and how it colours what moves."""

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

Position = Literal["below", "middle", "above", "crossing"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Colour:
    """How the ringing pitch colours one note of the moving voice.

    Attributes:
        at_quarters: when.
        semitones: from the drone to the moving voice; negative when the voice is below.
        name: e.g. `major third below`.
        note: the moving voice's note.
    """

    at_quarters: Fraction
    semitones: int
    name: str
    note: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Drone:
    """A pitch that sounds on while others move.

    Attributes:
        string: where it is played; 1 is the highest-lying string.
        pitch: MIDI pitch.
        is_open: whether the string is open.
        position: where it lies among what else sounds.
        colours: its intervals with the moving voice, by time.
    """

    string: int
    pitch: int
    is_open: bool
    position: Position
    colours: tuple[Colour, ...]
