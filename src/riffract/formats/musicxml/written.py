"""The guitar part as written: bars, notes and marks, before repeats are played out."""

from dataclasses import dataclass, field
from enum import Enum, auto
from fractions import Fraction
from typing import Final

from riffract.formats.musicxml.flow import Flow
from riffract.formats.musicxml.report import Spot
from riffract.music import Metre, Place, Technique

NO_LABEL: Final = ""

BarTime = tuple[int, Fraction]
"""A moment in the written part: index of the bar, quarters since its start."""


class HarmonicPitch(Enum):
    """What the written pitch of a harmonic stands for."""

    SOUNDING = auto()
    TOUCHING = auto()
    BASE = auto()
    UNSTATED = auto()


@dataclass(slots=True, eq=False)
class WrittenNote:
    """A note as it stands in the file; string and fret may be found out later.

    Attributes:
        spot: where it stands.
        duration_quarters: its own value, ties not joined.
        voice: the voice it is written in.
        pitch: MIDI pitch after transposition, `None` if it has none.
        string, fret: as written, then as worked out; `None` as long as they are unknown.
        techniques: how it is played.
        bend_cents: how far it is bent at its goal.
        harmonic: what the pitch stands for, if it is a harmonic.
        sounding_pitch: what is heard, set once the tuning is known; `None` for a dead note.
        is_tie_start, is_tie_stop: whether a tie leads on, or here.
        let_ring_end: where the let-ring sign that covers it ends.
        release_quarters: how much later than its value ends the string stops; `None` if nobody
            says so.
    """

    spot: Spot
    duration_quarters: Fraction
    voice: str
    pitch: int | None
    string: int | None
    fret: int | None
    techniques: Technique = Technique(0)  # noqa: RUF009  # flags are immutable
    bend_cents: int = 0
    harmonic: HarmonicPitch | None = None
    sounding_pitch: int | None = None
    is_tie_start: bool = False
    is_tie_stop: bool = False
    let_ring_end: BarTime | None = None
    release_quarters: Fraction | None = None

    @property
    def start(self) -> BarTime:
        """When it starts."""
        return self.spot.bar, self.spot.position_quarters

    @property
    def is_placed(self) -> bool:
        """Whether string and fret are known."""
        return self.string is not None and self.fret is not None


@dataclass(frozen=True, slots=True)
class WrittenBar:
    """A bar as written.

    Attributes:
        number: as printed in the file, e.g. `0` for a pick-up bar.
        metre: the metre in force.
        length_quarters: how long it lasts.
        is_pick_up: whether it is the end of a full bar.
    """

    number: str
    metre: Metre
    length_quarters: Fraction
    is_pick_up: bool = False


@dataclass(frozen=True, slots=True)
class Extent:
    """A stretch in which notes are played in a certain way, `[start, end)`.

    A stretch without length stands for the notes that start there.

    Attributes:
        technique: how.
        start, end: from when to when.
        voice: the voice it holds for; `None` for all.
        has_end: whether the end is written, or only assumed.
    """

    technique: Technique
    start: BarTime
    end: BarTime
    voice: str | None = None
    has_end: bool = True


@dataclass(slots=True)
class Marks:
    """What stands over the notes.

    Attributes:
        tempos: quarters a minute by the moment from which they hold.
        sections: labels by the moment at which they start; `NO_LABEL` where one ends.
        flow: repeats and jumps by bar.
    """

    tempos: dict[BarTime, float] = field(default_factory=dict)
    sections: dict[BarTime, str] = field(default_factory=dict)
    flow: dict[int, Flow] = field(default_factory=dict)

    def flow_at(self, spot: Spot) -> Flow:
        """Give the flow of the bar of a spot, to be added to."""
        return self.flow.setdefault(spot.bar, Flow(line=spot.line))


COMMON_TIME: Final = Metre(groups=(4,), unit=4)


def place_text(bars: list[WrittenBar], spot: Spot) -> str:
    """Name a spot: bar as written, counted from 1, and beat in units of its metre.

    A bar that is numbered otherwise in the file is named by both numbers.

    >>> bar = WrittenBar("0", COMMON_TIME, Fraction(1), is_pick_up=True)
    >>> place_text([bar], Spot(line=9, bar=0, position_quarters=Fraction(1, 2)))
    'bar 1 (numbered 0), beat 4.5'
    """
    number = spot.bar + 1
    if spot.bar >= len(bars):
        return f"bar {number}"
    bar = bars[spot.bar]
    missing = bar.metre.length_quarters - bar.length_quarters if bar.is_pick_up else Fraction(0)
    beat = (spot.position_quarters + missing) / bar.metre.unit_quarters + 1
    text = str(Place(bar=number, beat=beat))
    if bar.number in {"", str(number)}:
        return text
    return text.replace(f"bar {number}", f"bar {number} (numbered {bar.number})", 1)
