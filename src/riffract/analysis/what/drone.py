"""A pitch that sounds on, and how it colours what moves."""

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from riffract.music import Span

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
class ColourTotal:
    """How much there is of one colour.

    Attributes:
        semitones: from the drone to the moving voice.
        count: how many notes of the voice have it.
        quarters: for how long the two sound together.
        roughness: of the two together, as `roughness_between` gives it.
    """

    semitones: int
    count: int
    quarters: Fraction
    roughness: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """What the ringing pitch makes of a set class.

    Attributes:
        without: Forte's number of what else sounds.
        together: Forte's number of that with the ringing pitch.
        quarters: for how long, in all.
    """

    without: str
    together: str
    quarters: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class RoughStretch:
    """How rough a stretch is in which the same notes sound.

    Attributes:
        span: where.
        without: roughness of what else sounds.
        together: roughness of that with the ringing pitch.
    """

    span: Span
    without: float
    together: float


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherString:
    """What another string could have done for the ringing pitch.

    Attributes:
        string: which.
        fret: where it gives the same pitch; `None` if it does not.
        busy_share: for how much of the drone's time it sounds something else.
        semitones: from the drone to its open pitch.
    """

    string: int
    fret: int | None
    busy_share: float
    semitones: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Drone:
    """A pitch that sounds on while others move.

    Attributes:
        string: where it is played; 1 is the highest-lying string.
        pitch: MIDI pitch.
        is_open: whether the string is open.
        position: where it lies among what else sounds.
        colours: its intervals with the moving voice, by time.
        totals: the same added up, from the lowest interval to the highest.
        crossings: where the moving voice comes to the other side of it.
        only_with_it: interval classes that sound between it and others, and between no two others.
        turns: what it makes of the set classes that sound, the longest first.
        rough: how rough the stretches are, with it and without, by time.
        other_strings: the other strings, from the highest-lying down.
    """

    string: int
    pitch: int
    is_open: bool
    position: Position
    colours: tuple[Colour, ...]
    totals: tuple[ColourTotal, ...] = ()
    crossings: tuple[Fraction, ...] = ()
    only_with_it: tuple[int, ...] = ()
    turns: tuple[Turn, ...] = ()
    rough: tuple[RoughStretch, ...] = ()
    other_strings: tuple[OtherString, ...] = ()
