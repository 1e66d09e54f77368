"""The guitar part as written: bars, notes and marks, before repeats are played out."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from enum import Enum, auto
from fractions import Fraction
from typing import Final, NamedTuple

from riffract.formats.musicxml.bends import BendStep
from riffract.formats.musicxml.flow import Flow
from riffract.formats.musicxml.grid import Grid, Ticks
from riffract.formats.musicxml.report import Spot
from riffract.music import Metre, Place, Technique
from riffract.music.notes import PLAIN

NO_LABEL: Final = ""

BarTime = tuple[int, Ticks]
"""A moment in the written part: index of the bar, ticks since its start."""


AFTER_GRACES: Final = 10**9
"""A place behind all graces: that of the note they lead to."""


class HarmonicPitch(Enum):
    """What the written pitch of a harmonic stands for."""

    SOUNDING = auto()
    TOUCHING = auto()
    BASE = auto()
    UNSTATED = auto()


class WrittenGrace(NamedTuple):
    """What makes a note a grace.

    Attributes:
        place: its place among the graces of its voice that lead to one moment, from 0.
        value_quarters: the value it is written as.
        is_slashed: whether it is written as short as can be.
    """

    place: int
    value_quarters: Fraction
    is_slashed: bool


@dataclass(slots=True, eq=False)
class WrittenNote:
    """A note as it stands in the file; string and fret may be found out later.

    Attributes:
        spot: where it stands.
        duration_ticks: its own value, ties not joined; 0 for a grace.
        voice: the voice it is written in.
        pitch: MIDI pitch after transposition, `None` if it has none.
        string, fret: as written, then as worked out; `None` as long as they are unknown.
        techniques: how it is played.
        bend: the steps of its bend.
        harmonic: what the pitch stands for, if it is a harmonic.
        sounding_pitch: what is heard, set once the tuning is known; `None` for a dead note.
        is_tie_start, is_tie_stop: whether a tie leads on, or here.
        let_ring_end: where the let-ring sign that covers it ends.
        release_ticks: how much later than its value ends the string stops; `None` if nobody
            says so.
        tremolo_marks: how fast tremolo picking strikes it; 0 without.
        other_fret: the fret that it trills with, or that is touched; `None` if there is none.
        other_semitones: how far above its own fret that one lies, as long as it has no string.
        grace: what makes it a grace; `None` for a note with time of its own.
    """

    spot: Spot
    duration_ticks: Ticks
    voice: str
    pitch: int | None
    string: int | None
    fret: int | None
    techniques: Technique = PLAIN
    bend: Sequence[BendStep] = ()
    harmonic: HarmonicPitch | None = None
    sounding_pitch: int | None = None
    is_tie_start: bool = False
    is_tie_stop: bool = False
    let_ring_end: BarTime | None = None
    release_ticks: Ticks | None = None
    tremolo_marks: int = 0
    other_fret: int | None = None
    other_semitones: int | None = None
    grace: WrittenGrace | None = None

    @property
    def start(self) -> BarTime:
        """When it starts."""
        return self.spot[1:]

    @property
    def moment(self) -> tuple[BarTime, int]:
        """When it starts, and where among the graces that lead there; they come before it."""
        return self.spot[1:], AFTER_GRACES if self.grace is None else self.grace.place

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
        is_free: whether it has no metre.
    """

    number: str
    metre: Metre
    length_quarters: Fraction
    is_pick_up: bool = False
    is_free: bool = False


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


class Ramp(NamedTuple):
    """A change of tempo that goes on until the next one.

    Attributes:
        is_faster: whether the tempo rises.
        spot: where it is written.
    """

    is_faster: bool
    spot: Spot


@dataclass(slots=True)
class Marks:
    """What stands over the notes.

    Attributes:
        tempos: quarters a minute by the moment from which they hold.
        ramps: where a tempo starts to change, and whether it rises.
        fermatas: where the music waits.
        sections: labels by the moment at which they start; `NO_LABEL` where one ends.
        flow: repeats and jumps by bar.
    """

    tempos: dict[BarTime, float] = field(default_factory=dict)
    ramps: dict[BarTime, Ramp] = field(default_factory=dict)
    fermatas: set[BarTime] = field(default_factory=set)
    sections: dict[BarTime, str] = field(default_factory=dict)
    flow: dict[int, Flow] = field(default_factory=dict)

    def flow_at(self, spot: Spot) -> Flow:
        """Give the flow of the bar of a spot, to be added to."""
        return self.flow.setdefault(spot.bar, Flow(line=spot.line))


COMMON_TIME: Final = Metre(groups=(4,), unit=4)


def place_text(bars: Sequence[WrittenBar], grid: Grid, spot: Spot) -> str:
    """Name a spot: bar as written, counted from 1, and beat in units of its metre.

    A bar that is numbered otherwise in the file is named by both numbers.

    >>> bar = WrittenBar("0", COMMON_TIME, Fraction(1), is_pick_up=True)
    >>> place_text([bar], Grid(12), Spot(line=9, bar=0, position_ticks=6))
    'bar 1 (numbered 0), beat 4.5'
    """
    number = spot.bar + 1
    if spot.bar >= len(bars):
        return f"bar {number}"
    bar = bars[spot.bar]
    missing = bar.metre.length_quarters - bar.length_quarters if bar.is_pick_up else Fraction(0)
    beat = (grid.quarters(spot.position_ticks) + missing) / bar.metre.unit_quarters + 1
    text = str(Place(bar=number, beat=beat))
    if bar.number in {"", str(number)}:
        return text
    return text.replace(f"bar {number}", f"bar {number} (numbered {bar.number})", 1)
