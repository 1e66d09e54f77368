"""What is written between two bar lines, in time: notes, graces, the bar itself."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import NamedTuple

from riffract.formats.tab.marks import Tempo
from riffract.formats.tab.signs import Strike
from riffract.music import Metre
from riffract.music.passage import beat_text


class Reach(NamedTuple):
    """Where an extent ends, in ticks from the start of its bar.

    Attributes:
        until_ticks: its end in this bar.
        goes_on: it is drawn through the closing bar line.
        run: line and column of its first sign, from 1.
    """

    until_ticks: int
    goes_on: bool
    run: tuple[int, int]


class WrittenNote(NamedTuple):
    """A strike with its time, in ticks from the start of its bar.

    Attributes:
        strike: what is struck.
        techniques: bits of its own techniques and those of the rows above.
        tremolo_marks: as in `Note`.
        offset_ticks, end_ticks: the time of the value over it.
        hold: the `hold` extent that covers it.
        ring: the `ring` extent that covers it, if it can ring.
        line, column: of its fret number, from 1.
    """

    strike: Strike
    techniques: int
    tremolo_marks: int
    offset_ticks: int
    end_ticks: int
    hold: Reach | None
    ring: Reach | None
    line: int
    column: int


class WrittenGrace(NamedTuple):
    """A grace note before the attack that comes so many ticks after the start of its bar."""

    strike: Strike
    offset_ticks: int
    place: int
    line: int
    column: int


@dataclass(frozen=True, slots=True, kw_only=True)
class WrittenBar:
    """One bar as written.

    Attributes:
        number: from 1.
        metre, ticks_per_quarter: how it is counted.
        length_ticks: what it must hold.
        length_said_in: what says so: `metre`, `pickup` or `length`.
        is_free: it lasts as long as its values.
        notes: in order of time.
        graces: in order of time, then of place.
        entering: extents that come in through its opening bar line, by row label and string.
        tempos: offsets in ticks, and what holds from there.
        sections: offsets in ticks, and labels.
        fermatas: offsets in ticks.
        endings: in which passes it is played, if it stands under an ending; else empty.
        starts_repeat, repeat_count: as in `Frame`.
        line, column: where it starts.
        is_broken: it could not be read, so nothing is known about its notes.
        wanted_ticks: what it should hold, where it is kept although its values do not fill it; 0
            for all other bars.
    """

    number: int
    metre: Metre
    ticks_per_quarter: int
    length_ticks: int
    length_said_in: str = "metre"
    is_free: bool = False
    notes: tuple[WrittenNote, ...] = ()
    graces: tuple[WrittenGrace, ...] = ()
    entering: Mapping[tuple[str, int], Reach] = field(default_factory=dict)
    tempos: tuple[tuple[int, Tempo], ...] = ()
    sections: tuple[tuple[int, str], ...] = ()
    fermatas: tuple[int, ...] = ()
    endings: tuple[int, ...] = ()
    starts_repeat: bool = False
    repeat_count: int = 0
    line: int
    column: int
    is_broken: bool = False
    wanted_ticks: int = 0

    @property
    def metre_ticks(self) -> int:
        """How long a full bar lasts."""
        return self.metre.units * self._unit_ticks

    @property
    def _unit_ticks(self) -> int:
        return 4 * self.ticks_per_quarter // self.metre.unit

    def place(self, offset_ticks: int, number: int | None = None) -> str:
        """Tell bar and beat in words; a pick-up bar counts its beats as the end of a full bar.

        Args:
            offset_ticks: from its start.
            number: of the bar, if it is another than that it was read as.
        """
        number = self.number if number is None else number
        missing = max(self.metre_ticks - self.length_ticks, 0) if number == 1 else 0
        beat = Fraction(offset_ticks + missing, self._unit_ticks) + 1
        return f"bar {number}, beat {beat_text(beat)}"


class PlacedBar(NamedTuple):
    """A bar in its place; systems that read alike share their bars.

    Attributes:
        bar: as it was first read.
        number: its own.
        lines_below: how many lines below the first one it stands.
    """

    bar: WrittenBar
    number: int
    lines_below: int
