"""From written bars with attacks to bars and notes as they are played."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import pairwise
from typing import Final

from riffract.formats.pasted.attacks import Attack, Bar
from riffract.formats.pasted.report import Place, Report
from riffract.formats.pasted.rows import Row
from riffract.formats.pasted.signs import SLURS, Stroke
from riffract.formats.ringing import STOPS_RINGING, Struck, ring_ends
from riffract.formats.tab.harmonics import HARMONIC_SEMITONES
from riffract.music import Metre, NoteTable, NoteTableBuilder, Technique, Tuning
from riffract.music.metre import LARGEST_GROUP_SUM

MOST_NOTES: Final = 30_000
MOST_BARS: Final = 10_000
"""More than any mail holds; a longer tab is better timed by hand, part by part."""
MOST_TIMES: Final = 64
"""Nobody plays a stretch more often; a larger number is a slip."""

USUAL_TIMES: Final = 2


@dataclass(frozen=True, slots=True)
class TimedBar:
    """A written bar with its time.

    Attributes:
        bar: what is written.
        starts_quarters: for each attack, counted from the start of the bar.
        length_quarters: of the bar.
    """

    bar: Bar
    starts_quarters: tuple[Fraction, ...]
    length_quarters: Fraction


def order_of_bars(bars: Sequence[Bar], report: Report) -> list[int]:
    """List the bars as they are played, repeats written out.

    `|:` opens and `:|` closes; without an opening sign it goes back behind the repeat before, or
    to the beginning. A count without any sign repeats the bars of its system.
    """
    order: list[int] = []
    start = 0
    first_of_system: dict[int, int] = {}
    for index, bar in enumerate(bars):
        first_of_system.setdefault(bar.system, index)
        if bar.opens:
            start = index
        if bar.times and not bar.closes:
            start = max(first_of_system[bar.system], start)
        order.append(index)
        if not (bar.closes or bar.times):
            continue
        times = bar.times or USUAL_TIMES
        if times > MOST_TIMES:
            report.warn(
                "times",
                f"a repeat is said to be played {times} times; it is played {USUAL_TIMES} times",
                f"write up to {MOST_TIMES}",
                Place(bar.line, 1),
            )
            times = USUAL_TIMES
        order += list(range(start, index + 1)) * (times - 1)
        start = index + 1
        if len(order) > MOST_BARS:
            break
    return order


def metre_of(length_quarters: Fraction) -> tuple[Metre, Fraction | None]:
    """Give the metre that a bar fills, and its length if no metre is as long.

    >>> [metre_of(Fraction(n))[0].label() for n in (4, 3)], metre_of(Fraction(7, 2))[0].label()
    (['4/4', '3/4'], '7/8')
    """
    for unit in (4, 8, 16, 32, 64):
        units = length_quarters * unit / 4
        if units.denominator == 1 and 1 <= units <= LARGEST_GROUP_SUM:
            return Metre(groups=(int(units),), unit=unit), None
    return Metre(groups=(4,), unit=4), length_quarters


@dataclass(slots=True)
class _Played:
    """A note on its way to the table."""

    stroke: Stroke
    string: int
    row: Row
    start_quarters: Fraction
    end_quarters: Fraction
    techniques: Technique
    ring_end_quarters: Fraction | None = None


@dataclass(slots=True)
class Player:
    """Plays timed bars, one after the other.

    Attributes:
        tuning: the strings.
        rows: for each system its rows, from the top as written.
        is_upside_down: whether the topmost row is the lowest string.
    """

    tuning: Tuning
    rows: Sequence[Sequence[Row]]
    is_upside_down: bool
    _notes: list[_Played] = field(default_factory=list)
    _last: dict[int, _Played] = field(default_factory=dict)

    def play(self, timed: Sequence[TimedBar], order: Sequence[int]) -> NoteTable:
        """Make the table of notes.

        An attack lasts to the next one, or to the end of its bar. A number in brackets goes on
        the note before it on its string, if that is the same fret; else it is struck.
        """
        moments, end = _moments(timed, order)
        for moment, ring_end in zip(moments, _ring_ends_of_extents(moments, end), strict=True):
            for stroke in moment.attack.strokes:
                self._strike(stroke, moment, ring_end)
        return self._table(end)

    def _strike(self, stroke: Stroke, moment: "_Moment", ring_end: Fraction | None) -> None:
        rows = self.rows[moment.system]
        string = len(rows) - stroke.row if self.is_upside_down else stroke.row + 1
        last = self._last.get(string)
        is_tied = (
            stroke.is_ghost
            and last is not None
            and last.stroke.fret == stroke.fret
            and Technique.DEAD not in last.techniques
            and not stroke.techniques
        )
        if is_tied and last is not None:
            last.end_quarters = moment.stop_quarters
            last.ring_end_quarters = ring_end
            return
        techniques = _led_from(last, stroke) | moment.attack.techniques
        if techniques & STOPS_RINGING:
            techniques &= ~Technique.LET_RING
        note = _Played(
            stroke=stroke,
            string=string,
            row=rows[stroke.row],
            start_quarters=moment.start_quarters,
            end_quarters=moment.stop_quarters,
            techniques=techniques,
            ring_end_quarters=ring_end,
        )
        self._notes.append(note)
        self._last[string] = note

    def _table(self, end: Fraction) -> NoteTable:
        struck = [
            Struck(
                onset=note.start_quarters,
                end=note.end_quarters,
                string=note.string,
                techniques=note.techniques,
                let_ring_end=note.ring_end_quarters,
            )
            for note in self._notes
        ]
        builder = NoteTableBuilder()
        for note, ring_end in zip(self._notes, ring_ends(struck, end), strict=True):
            place = note.row.place(note.stroke.column)
            builder.add(
                onset_quarters=note.start_quarters,
                duration_quarters=note.end_quarters - note.start_quarters,
                ring_end_quarters=ring_end,
                string=note.string,
                fret=note.stroke.fret,
                pitch=self._pitch(note),
                techniques=note.techniques,
                bend=note.stroke.bend,
                other_fret=note.stroke.other_fret,
                line=place.line,
                column=place.column,
            )
        return builder.build()

    def _pitch(self, note: _Played) -> int | None:
        if Technique.DEAD in note.techniques:
            return None
        if Technique.NATURAL_HARMONIC in note.techniques:
            return self.tuning.open_pitch(note.string) + HARMONIC_SEMITONES[note.stroke.fret]
        return self.tuning.pitch_at(note.string, note.stroke.fret)


def _led_from(last: _Played | None, stroke: Stroke) -> Technique:
    """Turn a hammer-on or pull-off the way that the frets say; a repeat may lead from elsewhere."""
    techniques = stroke.techniques
    is_led = bool(techniques & SLURS)
    if not is_led or last is None or Technique.DEAD in (last.techniques | techniques):
        return techniques
    if stroke.fret == last.stroke.fret:
        return techniques & ~SLURS
    right = Technique.HAMMER_ON if stroke.fret > last.stroke.fret else Technique.PULL_OFF
    return (techniques & ~SLURS) | right


@dataclass(frozen=True, slots=True)
class _Moment:
    """An attack as it is played."""

    attack: Attack
    start_quarters: Fraction
    stop_quarters: Fraction
    system: int


def _moments(timed: Sequence[TimedBar], order: Sequence[int]) -> tuple[list[_Moment], Fraction]:
    """List all attacks as played, and tell when the last bar ends."""
    now = Fraction(0)
    moments: list[_Moment] = []
    for index in order:
        bar = timed[index]
        bounds = [*bar.starts_quarters, bar.length_quarters]
        moments += [
            _Moment(attack, now + start, now + stop, bar.bar.system)
            for attack, (start, stop) in zip(bar.bar.attacks, pairwise(bounds), strict=True)
        ]
        now += bar.length_quarters
    return moments, now


def _ring_ends_of_extents(moments: Sequence[_Moment], end: Fraction) -> list[Fraction | None]:
    """Tell where a let-ring sign ends: at the first attack that it does not cover."""
    ends: list[Fraction | None] = []
    until: dict[int, Fraction] = {}
    next_start = end
    for moment in reversed(moments):
        attack = moment.attack
        until = {extent: until.get(extent, next_start) for extent in attack.extents}
        rings = Technique.LET_RING in attack.techniques
        ends.append(max(until.values()) if rings and until else None)
        next_start = moment.start_quarters
    return ends[::-1]
