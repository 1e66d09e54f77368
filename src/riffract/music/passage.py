"""A passage: bars, tempo, sections and notes on one instrument."""

from bisect import bisect_right
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from riffract.music.html_table import facts_html
from riffract.music.metre import Metre
from riffract.music.notes import Grace, NoteTable
from riffract.music.span import Span
from riffract.music.tuning import Tuning


class Proposed(StrEnum):
    """What a reader may have to propose: where notes are fingered, and when they are played."""

    FINGERING = "fingering"
    TIME = "time"


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """One bar as played, repeats written out.

    Attributes:
        number: its place among the bars as played, from 1.
        written_number: its place among the bars as written; a repeated bar keeps it.
        start_quarters: when it starts.
        length_quarters: how long it lasts; shorter than its metre in a pick-up bar.
        metre: the metre in force.
        is_free: whether it is played freely: it lasts as long as its notes, and its metre only
            names the unit that its beats are counted in.
    """

    number: int
    written_number: int
    start_quarters: Fraction
    length_quarters: Fraction
    metre: Metre
    is_free: bool = False

    @property
    def span(self) -> Span:
        """The stretch that the bar fills."""
        return Span(self.start_quarters, self.start_quarters + self.length_quarters)


def bars_in_row(
    rows: Iterable[tuple[Metre, Fraction | None, int]],
) -> tuple[Bar, ...]:
    """Lay bars one after the other.

    Args:
        rows: for each bar its metre, its length if it is not a full one, and its written number.

    >>> four = Metre(groups=(4,), unit=4)
    >>> [str(bar.start_quarters) for bar in bars_in_row([(four, Fraction(1), 1), (four, None, 2)])]
    ['0', '1']
    """
    bars: list[Bar] = []
    start = Fraction(0)
    for number, (metre, length, written) in enumerate(rows, start=1):
        bar = Bar(
            number=number,
            written_number=written,
            start_quarters=start,
            length_quarters=metre.length_quarters if length is None else length,
            metre=metre,
        )
        bars.append(bar)
        start += bar.length_quarters
    return tuple(bars)


@dataclass(frozen=True, slots=True, kw_only=True)
class TempoMark:
    """A tempo from a moment on.

    Attributes:
        at_quarters: the moment.
        quarters_per_minute: quarter notes a minute, whatever unit it was written in.
        is_ramp: whether it changes steadily from there until it meets the next mark.
    """

    at_quarters: Fraction
    quarters_per_minute: float
    is_ramp: bool = False

    def __post_init__(self) -> None:
        if not 5.0 <= self.quarters_per_minute <= 1000.0:
            raise ValueError(
                f"a tempo lies between 5 and 1000 quarters a minute, got {self.quarters_per_minute}"
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A labelled stretch."""

    label: str
    span: Span


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where a moment falls: bar as played, and beat from 1 in the units of the bar's metre."""

    bar: int
    beat: Fraction

    def __str__(self) -> str:
        """Write as `bar 4, beat 2.5`."""
        return f"bar {self.bar}, beat {beat_text(self.beat)}"


def beat_text(beat: Fraction) -> str:
    """Write a beat as players say it: `3`, `2.5`, and `2 1/3` where decimals do not end soon.

    >>> beat_text(Fraction(5, 2)), beat_text(Fraction(7, 3)), beat_text(Fraction(3))
    ('2.5', '2 1/3', '3')
    """
    if beat.denominator == 1:
        return str(beat.numerator)
    if 100 % beat.denominator == 0:
        return f"{float(beat):g}"
    whole, rest = divmod(beat, 1)
    return f"{whole} {rest}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Passage:
    """A written-down passage, ready to be studied.

    Attributes:
        title: what it is called; may be empty.
        tuning: its strings.
        bars: one after the other from 0, repeats written out.
        tempos: in order; the first at 0.
        sections: labelled stretches in order; may be empty.
        notes: the notes.
        graces: notes without time of their own, by the attack they lead to, then their place.
        fermatas: moments at which the music waits, in order.
        source: where it came from, for people to read, e.g. a file's name.
        proposed: what nobody wrote down, so that a reader had to propose it.
    """

    title: str
    tuning: Tuning
    bars: tuple[Bar, ...]
    tempos: tuple[TempoMark, ...]
    notes: NoteTable
    sections: tuple[Section, ...] = ()
    graces: tuple[Grace, ...] = ()
    fermatas: tuple[Fraction, ...] = ()
    source: str = ""
    proposed: tuple[Proposed, ...] = ()

    def __post_init__(self) -> None:
        if not self.bars:
            raise ValueError("a passage needs at least one bar")
        if not self.tempos or self.tempos[0].at_quarters != 0:
            raise ValueError("a passage needs a tempo at its start")

    @property
    def length_quarters(self) -> Fraction:
        """From the start of the first bar to the end of the last."""
        return self.bars[-1].span.end_quarters

    @property
    def span(self) -> Span:
        """The whole passage."""
        return Span(Fraction(0), self.length_quarters)

    def bar_at(self, quarters: Fraction) -> Bar:
        """Give the bar that holds a moment; the last one for any moment after the end."""
        index = bisect_right(self.bars, quarters, key=lambda bar: bar.start_quarters) - 1
        return self.bars[max(index, 0)]

    def place(self, quarters: Fraction) -> Place:
        """Tell bar and beat of a moment.

        A pick-up bar counts its beats as the end of a full bar.
        """
        bar = self.bar_at(quarters)
        missing = Fraction(0)
        if bar.number == 1:
            missing = max(bar.metre.length_quarters - bar.length_quarters, Fraction(0))
        beat = (quarters - bar.start_quarters + missing) / bar.metre.unit_quarters + 1
        return Place(bar=bar.number, beat=beat)

    def _repr_html_(self) -> str:
        """Show in a notebook what the passage is; `riffract.draw` shows how it looks."""
        return facts_html(self.title or "A passage", self._facts())

    def _facts(self) -> Iterator[tuple[str, str]]:
        yield "strings, low to high", self.tuning.label()
        if self.tuning.capo:
            yield "capo", str(self.tuning.capo)
        yield "bars", f"{len(self.bars)}, {self.length_quarters} quarters"
        yield "metre", ", ".join(dict.fromkeys(b.metre.label_with_groups() for b in self.bars))
        paces = dict.fromkeys(f"{mark.quarters_per_minute:g}" for mark in self.tempos)
        yield "quarters a minute", ", ".join(paces)
        yield "notes", str(len(self.notes))
        if self.sections:
            yield "sections", ", ".join(section.label for section in self.sections)
        if self.source:
            yield "from", self.source
        if self.proposed:
            yield "proposed, not written", ", ".join(self.proposed)
