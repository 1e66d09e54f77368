"""From written bars to sounding notes: ties joined, extents followed, legato checked."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from riffract.formats.ringing import Struck, ring_ends
from riffract.formats.tab.bars import WrittenBar, WrittenNote
from riffract.formats.tab.faults import Fault, Report, Spot
from riffract.formats.tab.repeats import PlayedBar
from riffract.formats.tab.signs import Strike
from riffract.music import NoteTable, NoteTableBuilder, Technique
from riffract.music.tuning import MOST_STRINGS


@dataclass(slots=True)
class Sounding:
    """A note while its end is still looked for; times in quarters of the passage.

    Attributes:
        strike: how it was struck.
        techniques, bend_cents: its own and those of the notes tied to it.
        onset_quarters, end_quarters: its written value so far.
        let_ring_quarters: the end of the `ring` extent over it so far, if there is one.
        holds_on, rings_on: a `hold` or `ring` extent goes on into the next bar.
    """

    strike: Strike
    techniques: Technique
    bend_cents: int
    onset_quarters: Fraction
    end_quarters: Fraction
    let_ring_quarters: Fraction | None = None
    holds_on: bool = False
    rings_on: bool = False

    def is_heard_at(self, quarters: Fraction) -> bool:
        """Say whether it lasts or rings up to a moment."""
        return max(self.end_quarters, self.let_ring_quarters or Fraction(0)) >= quarters

    def take_in(self, note: WrittenNote, start_quarters: Fraction) -> None:
        """Last as long as a strike, or a note tied on, says in a bar that starts then."""
        ends = [self.end_quarters, start_quarters + note.end_quarters]
        if note.hold is not None:
            ends.append(start_quarters + note.hold.until_quarters)
            self.holds_on = note.hold.goes_on
        self.end_quarters = max(ends)
        if note.ring is not None and Technique.LET_RING in self.techniques:
            self.let_ring_quarters = start_quarters + note.ring.until_quarters
            self.rings_on = note.ring.goes_on

    def carry_into(self, bar: WrittenBar, start_quarters: Fraction) -> None:
        """Follow the extents that are drawn through the bar line."""
        hold = bar.entering.get(("hold", self.strike.string)) if self.holds_on else None
        self.holds_on = hold is not None and hold.goes_on
        if hold is not None:
            self.end_quarters = start_quarters + hold.until_quarters
        ring = bar.entering.get(("ring", self.strike.string)) if self.rings_on else None
        self.rings_on = ring is not None and ring.goes_on
        if ring is not None:
            self.let_ring_quarters = start_quarters + ring.until_quarters


def play(bars: Sequence[PlayedBar], report: Report) -> list[Sounding]:
    """Join ties and follow extents through the bars; report ties and legato that cannot be."""
    player = _Player(report)
    for played in bars:
        player.play(played)
    return player.done


def note_table(notes: Sequence[Sounding], end_quarters: Fraction) -> NoteTable:
    """Make the table of the notes of a passage that ends then."""
    struck = [
        Struck(
            onset_quarters=note.onset_quarters,
            end_quarters=note.end_quarters,
            string=note.strike.string,
            techniques=note.techniques,
            let_ring_end_quarters=note.let_ring_quarters,
        )
        for note in notes
    ]
    builder = NoteTableBuilder()
    for note, ring_end in zip(notes, ring_ends(struck, end_quarters), strict=True):
        builder.add(
            onset_quarters=note.onset_quarters,
            duration_quarters=note.end_quarters - note.onset_quarters,
            string=note.strike.string,
            fret=note.strike.fret,
            pitch=note.strike.pitch,
            ring_end_quarters=ring_end,
            techniques=note.techniques,
            bend_cents=note.bend_cents,
            line=note.strike.line,
            column=note.strike.column,
        )
    return builder.build()


@dataclass(slots=True)
class _Player:
    """Plays bar after bar.

    Attributes:
        done: all notes so far.
        current: the last note of each string.
        lost: strings of which nothing is known since a bar that could not be read.
    """

    report: Report
    done: list[Sounding] = field(default_factory=list)
    current: dict[int, Sounding] = field(default_factory=dict)
    lost: set[int] = field(default_factory=set)

    def play(self, played: PlayedBar) -> None:
        if played.bar.is_broken:
            self.current.clear()
            self.lost.update(range(1, MOST_STRINGS + 1))
            return
        for note in self.current.values():
            note.carry_into(played.bar, played.start_quarters)
        for written in played.bar.notes:
            if written.strike.is_tie:
                self._tie(written, played)
            else:
                self._strike(written, played)

    def _strike(self, written: WrittenNote, played: PlayedBar) -> None:
        strike = written.strike
        onset = played.start_quarters + written.offset_quarters
        before = self.current.get(strike.string)
        if before is not None and not before.is_heard_at(onset):
            before = None
        if strike.lead and strike.string not in self.lost:
            self._check_lead(written, before, played)
        if before is not None:
            before.end_quarters = min(before.end_quarters, onset)
        self._start(written, played)

    def _start(self, written: WrittenNote, played: PlayedBar) -> None:
        strike = written.strike
        onset = played.start_quarters + written.offset_quarters
        note = Sounding(strike, strike.techniques, strike.bend_cents, onset, onset)
        note.take_in(written, played.start_quarters)
        self.current[strike.string] = note
        self.lost.discard(strike.string)
        self.done.append(note)

    def _tie(self, written: WrittenNote, played: PlayedBar) -> None:
        strike = written.strike
        before = self.current.get(strike.string)
        onset = played.start_quarters + written.offset_quarters
        is_lost = before is None and strike.string in self.lost
        fault = None if is_lost else _tie_fault(strike, before, onset)
        if fault is None and before is not None:
            before.techniques |= strike.techniques
            before.bend_cents = strike.bend_cents or before.bend_cents
            before.take_in(written, played.start_quarters)
            return
        if fault is not None:
            self.report.error(_again(fault, played), _spot(written, played))
        self._start(written, played)

    def _check_lead(self, written: WrittenNote, before: Sounding | None, played: PlayedBar) -> None:
        strike = written.strike
        fault = None if before is None else _lead_fault(strike, before.strike)
        if fault is not None:
            self.report.error(_again(fault, played), _spot(written, played))
            return
        doubt = _lead_doubt(strike, None if before is None else before.strike)
        if doubt is not None:
            self.report.warn(_again(doubt, played), _spot(written, played))


def _spot(written: WrittenNote, played: PlayedBar) -> Spot:
    strike = written.strike
    return Spot(strike.line, strike.column, played.bar.place(written.offset_quarters))


def _again(fault: Fault, played: PlayedBar) -> Fault:
    if not played.is_again:
        return fault
    return Fault(what=f"{fault.what}, when the repeat comes again", mend=fault.mend)


def _tie_fault(strike: Strike, before: Sounding | None, onset: Fraction) -> Fault | None:
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
    if before.is_heard_at(onset):
        return None
    what = f"`({text})` is tied, but the {partner.text} before it has ended"
    mend = f"tie it at each value in between, or draw a `hold` row up to here; {plain}"
    return Fault(what=what, mend=mend)


def _is_same(tied: Strike, partner: Strike) -> bool:
    """Compare what is fretted; the brackets of a harmonic need not be written again."""
    if tied.pitch is None or partner.pitch is None:
        return tied.pitch is partner.pitch
    is_plain = Technique.NATURAL_HARMONIC not in tied.techniques
    return tied.fret == partner.fret and (is_plain or tied.pitch == partner.pitch)


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
    for sign, other, is_wrong in (
        ("/", "\\", strike.fret < before.fret),
        ("\\", "/", strike.fret > before.fret),
    ):
        if sign in strike.lead and is_wrong:
            way = "up" if sign == "/" else "down"
            what = f"a slide `{sign}` points {way}, but fret {before.fret} leads to {strike.fret}"
            return Fault(what=what, mend=f"write `{before.text}{other}{strike.text}`")
    return None
