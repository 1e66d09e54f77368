"""From written bars to sounding notes: ties joined, extents followed, legato checked."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from operator import attrgetter
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.formats.tab.faults import Fault, Report, Spot
from riffract.formats.tab.repeats import PlayedBar
from riffract.formats.tab.signs import Strike
from riffract.formats.tab.written import WrittenBar, WrittenNote
from riffract.music import Grace, NoteTable, Technique
from riffract.music.notes import HARMONIC, LEGATO, NO_FRET, NO_PITCH
from riffract.music.tuning import MOST_STRINGS

_LET_RING: Final = int(Technique.LET_RING)
_DEAD_OR_LED: Final = int(Technique.DEAD | LEGATO)


@dataclass(slots=True)
class Sounding:
    """A note while its end is still looked for; times in ticks of the passage.

    Attributes:
        written, strike: how it was struck.
        line: of its fret number.
        techniques, bend: its own and those of the notes tied to it.
        onset_ticks, end_ticks: its written value so far.
        let_ring_ticks: the end of the `ring` extent over it so far; 0 if there is none.
        holds_on, rings_on: a `hold` or `ring` extent goes on into the next bar.
    """

    written: WrittenNote
    strike: Strike
    line: int
    techniques: int
    bend: tuple[int, ...]
    onset_ticks: int
    end_ticks: int
    let_ring_ticks: int = 0
    holds_on: bool = False
    rings_on: bool = False

    @property
    def ring_end_ticks(self) -> int:
        """When it stops being heard, if nothing on its string stops it before."""
        return max(self.end_ticks, self.let_ring_ticks)

    def take_in(self, note: WrittenNote, start_ticks: int) -> None:
        """Last as long as a strike, or a note tied on, says in a bar that starts then."""
        self.end_ticks = max(self.end_ticks, start_ticks + note.end_ticks)
        if note.hold is not None:
            self.end_ticks = max(self.end_ticks, start_ticks + note.hold.until_ticks)
            self.holds_on = note.hold.goes_on
        if note.ring is not None and self.techniques & _LET_RING:
            self.let_ring_ticks = start_ticks + note.ring.until_ticks
            self.rings_on = note.ring.goes_on

    def stop(self, ticks: int) -> None:
        """End it at the next note on its string: a string sounds one note at a time."""
        self.end_ticks = min(self.end_ticks, ticks)
        self.let_ring_ticks = min(self.let_ring_ticks, ticks)

    def carry_into(self, bar: WrittenBar, start_ticks: int) -> None:
        """Follow the extents that are drawn through the bar line."""
        string = self.strike.string
        hold = bar.entering.get(("hold", string)) if self.holds_on else None
        self.holds_on = hold is not None and hold.goes_on
        if hold is not None:
            self.end_ticks = start_ticks + hold.until_ticks
        ring = bar.entering.get(("ring", string)) if self.rings_on else None
        self.rings_on = ring is not None and ring.goes_on
        if ring is not None:
            self.let_ring_ticks = start_ticks + ring.until_ticks


def play(bars: Sequence[PlayedBar], report: Report) -> list[Sounding]:
    """Join ties and follow extents through the bars; report ties and legato that cannot be."""
    player = _Player(report)
    for played in bars:
        player.play(played)
    return player.done


def note_table(notes: Sequence[Sounding], ticks_per_quarter: int) -> NoteTable:
    """Make the table; built from ticks, which are at hand, in a third of the builder's time.

    Args:
        notes: in the order of a table, as bars hold them.
        ticks_per_quarter: the resolution of their times.
    """
    strikes = [note.strike for note in notes]

    path_of: dict[tuple[int, ...], int] = {(): 0}
    for note in notes:
        path_of.setdefault(note.bend, len(path_of))

    def column(values: Iterable[int]) -> NDArray[np.int64]:
        return np.fromiter(values, dtype=np.int64, count=len(notes))

    onsets = column(map(attrgetter("onset_ticks"), notes))
    ends = column(map(attrgetter("end_ticks"), notes))
    return NoteTable(
        ticks_per_quarter=ticks_per_quarter,
        onset_ticks=onsets,
        duration_ticks=ends - onsets,
        ring_end_ticks=np.maximum(ends, column(map(attrgetter("let_ring_ticks"), notes))),
        string=column(map(attrgetter("string"), strikes)),
        fret=column(map(attrgetter("fret"), strikes)),
        pitch=column(NO_PITCH if s.pitch is None else s.pitch for s in strikes),
        techniques=column(map(attrgetter("techniques"), notes)),
        bend_path=column(path_of[n.bend] for n in notes),
        bend_paths=tuple(path_of),
        other_fret=column(NO_FRET if s.other_fret is None else s.other_fret for s in strikes),
        tremolo_marks=column(map(attrgetter("written.tremolo_marks"), notes)),
        line=column(map(attrgetter("line"), notes)),
        column=column(map(attrgetter("written.column"), notes)),
    )


def graces_of(bars: Sequence[PlayedBar], ticks_per_quarter: int) -> tuple[Grace, ...]:
    """List the grace notes at their times."""
    return tuple(
        Grace(
            at_quarters=Fraction(played.start_ticks + grace.offset_ticks, ticks_per_quarter),
            place=grace.place,
            string=grace.strike.string,
            fret=grace.strike.fret,
            pitch=grace.strike.pitch,
            techniques=Technique(grace.strike.techniques),
            bend=grace.strike.bend,
            value_quarters=grace.strike.grace.value_quarters,
            is_slashed=grace.strike.grace.is_slashed,
            line=grace.line + played.lines_below,
            column=grace.column,
        )
        for played in bars
        for grace in played.bar.graces
        if grace.strike.grace is not None
    )


@dataclass(slots=True)
class _Player:
    """Plays bar after bar.

    Attributes:
        done: all notes so far.
        current: the last note of each string.
        lost: strings of which nothing is known since a bar that could not be read.
        graces: the last grace note on a string before a moment of the bar being played.
    """

    report: Report
    done: list[Sounding] = field(default_factory=list)
    current: dict[int, Sounding] = field(default_factory=dict)
    lost: set[int] = field(default_factory=set)
    graces: dict[tuple[int, int], Strike] = field(default_factory=dict)

    def play(self, played: PlayedBar) -> None:
        if played.bar.is_broken:
            self.current.clear()
            self.lost.update(range(1, MOST_STRINGS + 1))
            return
        for note in self.current.values():
            if note.holds_on or note.rings_on:
                note.carry_into(played.bar, played.start_ticks)
        self.graces = {
            (grace.offset_ticks, grace.strike.string): grace.strike for grace in played.bar.graces
        }
        self._play_notes(played)

    def _play_notes(self, played: PlayedBar) -> None:
        start, below = played.start_ticks, played.lines_below
        current, lost, done = self.current, self.lost, self.done
        for written in played.bar.notes:
            strike, techniques, _, offset, end, hold, ring, line, _ = written
            if strike.is_tie:
                self._tie(written, played)
                continue
            onset = start + offset
            before = current.get(strike.string)
            if before is not None and before.end_ticks < onset > before.let_ring_ticks:
                before = None
            if strike.lead and not strike.is_faulty and strike.string not in lost:
                self._check_lead(written, before, played)
            if before is not None:
                self._stop(before, written, played)
            note = Sounding(
                written, strike, line + below, techniques, strike.bend, onset, start + end
            )
            if hold is not None or ring is not None:
                note.take_in(written, start)
            current[strike.string] = note
            if lost:
                lost.discard(strike.string)
            done.append(note)

    def _stop(self, before: Sounding, written: WrittenNote, played: PlayedBar) -> None:
        """End a note where the next one on its string starts."""
        onset = played.start_ticks + written.offset_ticks
        if before.let_ring_ticks > onset and not written.techniques & _DEAD_OR_LED:
            self._doubt_ring(before, written, played)
        before.stop(onset)

    def _doubt_ring(self, before: Sounding, written: WrittenNote, played: PlayedBar) -> None:
        """Warn of another fret on a string that should ring on, once for each `ring` sign."""
        partner, ring = before.strike, before.written.ring
        if partner.fret == written.strike.fret or ring is None:
            return
        what = (
            f"fret {written.strike.text} cuts off fret {partner.text}, which `ring` lets sound on"
        )
        mend = "end the `ring` sign before it, name the strings that ring, or use another string"
        self.report.warn_once(
            Fault(what=what, mend=mend), _spot(written, played), cause=("cut off", ring.run)
        )

    def _tie(self, written: WrittenNote, played: PlayedBar) -> None:
        strike = written.strike
        before = self.current.get(strike.string)
        onset = played.start_ticks + written.offset_ticks
        is_lost = before is None and strike.string in self.lost
        is_told = is_lost or strike.is_faulty
        fault = None if is_told else _tie_fault(strike, before, onset)
        if fault is None and before is not None:
            before.techniques |= strike.techniques
            before.bend = strike.bend or before.bend
            before.take_in(written, played.start_ticks)
            return
        if fault is not None:
            self.report.error(_again(fault, played), _spot(written, played))
        line = written.line + played.lines_below
        end = played.start_ticks + written.end_ticks
        note = Sounding(written, strike, line, written.techniques, strike.bend, onset, end)
        note.take_in(written, played.start_ticks)
        self.current[strike.string] = note
        self.lost.discard(strike.string)
        self.done.append(note)

    def _check_lead(self, written: WrittenNote, before: Sounding | None, played: PlayedBar) -> None:
        strike = written.strike
        leading = None if before is None else before.strike
        leading = self.graces.get((written.offset_ticks, strike.string), leading)
        fault = None if leading is None else _lead_fault(strike, leading)
        if fault is not None:
            self.report.error(_again(fault, played), _spot(written, played))
            return
        doubt = _lead_doubt(strike, leading)
        if doubt is not None:
            self.report.warn(_again(doubt, played), _spot(written, played))


def _spot(written: WrittenNote, played: PlayedBar) -> Spot:
    line = written.line + played.lines_below
    return Spot(line, written.column, played.place(written.offset_ticks))


def _again(fault: Fault, played: PlayedBar) -> Fault:
    if not played.is_again:
        return fault
    return Fault(what=f"{fault.what}, when the repeat comes again", mend=fault.mend)


def _tie_fault(strike: Strike, before: Sounding | None, onset: int) -> Fault | None:
    """Say what a tied note lacks: a note of the same fret, still heard, on its string."""
    text = strike.text
    plain = "for a note of its own, even a soft one, take the brackets away"
    if before is None:
        what = f"`({text})` is tied, but no note stands before it on this string"
        return Fault(what=what, mend=plain)
    partner = before.strike
    if not _is_same(strike, partner):
        what = f"`({text})` is tied, but the note before it on this string is {partner.text}"
        return Fault(what=what, mend=f"write `({partner.text})` for a tie; {plain}")
    if before.ring_end_ticks >= onset:
        return None
    what = f"`({text})` is tied, but the {partner.text} before it has ended"
    mend = f"tie it at each value in between, or draw a `hold` row up to here; {plain}"
    return Fault(what=what, mend=mend)


def _is_same(tied: Strike, partner: Strike) -> bool:
    """Compare what is fretted; the brackets of a harmonic need not be written again."""
    if tied.pitch is None or partner.pitch is None:
        return tied.pitch is partner.pitch
    is_harmonic = bool(tied.techniques & HARMONIC)
    was_harmonic = bool(partner.techniques & HARMONIC)
    return tied.fret == partner.fret and (was_harmonic or not is_harmonic)


def _lead_fault(strike: Strike, before: Strike) -> Fault | None:
    if strike.pitch is None or before.pitch is None:
        return None
    if "h" in strike.lead and strike.fret <= before.fret:
        what = f"a hammer-on cannot lead from fret {before.fret} down to fret {strike.fret}"
        if strike.fret == before.fret:
            what = f"a hammer-on cannot lead from fret {before.fret} to the same fret"
        mend = f"a pull-off is written `{before.text}p{strike.text}`, a hammer-on leads higher"
        return Fault(what=what, mend=mend)
    if "p" in strike.lead and strike.fret >= before.fret:
        what = f"a pull-off cannot lead from fret {before.fret} up to fret {strike.fret}"
        if strike.fret == before.fret:
            what = f"a pull-off cannot lead from fret {before.fret} to the same fret"
        mend = f"a hammer-on is written `{before.text}h{strike.text}`, a pull-off leads lower"
        return Fault(what=what, mend=mend)
    return None


def _lead_doubt(strike: Strike, before: Strike | None) -> Fault | None:
    if before is None:
        if "p" not in strike.lead:
            return None
        what = f"nothing sounds on this string that fret {strike.text} could be pulled off from"
        return Fault(what=what, mend="check the string, or write the fret before it up to here")
    if strike.pitch is None or before.pitch is None:
        return None
    if strike.techniques & Technique.SLIDE and strike.fret == before.fret:
        what = f"this slide leads from fret {before.fret} to the same fret"
        mend = "write the fret it leads to; a slide that leads nowhere is left out"
        return Fault(what=what, mend=mend)
    for sign, other, is_wrong in (
        ("/", "\\", strike.fret < before.fret),
        ("\\", "/", strike.fret > before.fret),
    ):
        if sign in strike.lead and is_wrong:
            way = "up" if sign == "/" else "down"
            what = f"a slide `{sign}` points {way}, but fret {before.fret} leads to {strike.fret}"
            return Fault(what=what, mend=f"write `{before.text}{other}{strike.text}`")
    return None
