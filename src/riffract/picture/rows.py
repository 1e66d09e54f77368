"""Rows: how a passage is cut into lines of strings, by passes if it has them, else by bars."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import groupby, pairwise

from riffract.analysis.finding import Reading
from riffract.analysis.saying import say
from riffract.analysis.wording import length_text
from riffract.music import Bar, Passage, Span
from riffract.music.passage import Place, beat_text

MOST_RUNS = 4
"""How many metres one row's label tells, one after the other."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """A stretch of the passage that is shown as one row.

    Attributes:
        span: where it stands.
        heading: what it is, e.g. `pass 2`; empty if it only continues the row above.
        detail: its metres, or the bar that it continues at.
        pass_index: which pass it belongs to, from 0; `None` for anything else.
        is_tag: whether it stands before the first pass.
    """

    span: Span
    heading: str
    detail: str
    pass_index: int | None = None
    is_tag: bool = False


def stretches(passage: Passage, reading: Reading | None) -> tuple[Stretch, ...]:
    """Cut a passage into passes and what lies around them; without a reading it stays whole."""
    if reading is None:
        return (Stretch(span=passage.span, heading="", detail=""),)
    parts = [
        Stretch(
            span=each.span,
            heading=say("pass {number}", number=index + 1),
            detail=_extent_text(passage, each.span),
            pass_index=index,
        )
        for index, each in enumerate(reading.passes)
    ]
    parts += [
        Stretch(
            span=other.span,
            heading=say(other.role),
            detail=_extent_text(passage, other.span),
            is_tag=other.role == "tag",
        )
        for other in reading.other
    ]
    return tuple(sorted(parts, key=lambda part: part.span))


def cut(passage: Passage, whole: Stretch, longest_quarters: float) -> tuple[Stretch, ...]:
    """Cut a stretch into rows no longer than a length, at bars if that is enough.

    The fewest rows are taken, and of these the most even ones. Bars of one length that are no
    passes go by twos, threes, fours ... so that all rows hold as many, where the number allows it.
    """
    moments = _cut_moments(passage, whole.span, longest_quarters)
    if whole.pass_index is None and not whole.heading:
        moments = _in_equal_rows(passage, whole.span, moments, longest_quarters)
    spans = _evenly_filled(moments, longest_quarters)
    named = [_named(passage, whole, span, is_first=i == 0) for i, span in enumerate(spans)]
    said = [None, *(part.detail for part in named)]
    return tuple(
        replace(part, detail="") if part.detail == before else part
        for part, before in zip(named, said, strict=False)
    )


def metres_text(passage: Passage, span: Span) -> str:
    """Write the metres of a span that starts and ends with bars, else its length.

    >>> from riffract.music import Metre, NoteTableBuilder, TempoMark, Tuning, bars_in_row
    >>> seven, four = Metre(groups=(2, 2, 3), unit=8), Metre(groups=(4,), unit=4)
    >>> passage = Passage(
    ...     title="", tuning=Tuning(open_pitches=(40, 45, 50, 55, 59, 64)),
    ...     bars=bars_in_row([(seven, None, 1), (seven, None, 2), (four, None, 3)]),
    ...     tempos=(TempoMark(at_quarters=Fraction(0), quarters_per_minute=90.0),),
    ...     notes=NoteTableBuilder().build())
    >>> metres_text(passage, passage.span)
    '2 × 7/8 + 4/4'
    >>> metres_text(passage, Span(Fraction(1), Fraction(3)))
    '4/8 long'
    >>> metres_text(passage, Span(Fraction(0), Fraction(19, 6)))
    '19 triplet sixteenths long'
    """
    bars = [bar for bar in passage.bars if bar.span.overlap_quarters(span)]
    if not bars:
        return ""
    fits = bars[0].start_quarters == span.start_quarters
    if fits and bars[-1].span.end_quarters == span.end_quarters:
        runs = [(text, len(list(run))) for text, run in groupby(map(_bar_text, bars))]
        if len(runs) > MOST_RUNS:
            return say("changing metres")
        return " + ".join(text if times == 1 else f"{times} × {text}" for text, times in runs)
    unit = max(bar.metre.unit for bar in bars)
    units = span.length_quarters * unit / 4
    if units.denominator == 1:
        return say("{units}/{unit} long", units=units, unit=unit)
    metre = max((bar.metre for bar in bars), key=lambda metre: metre.unit)
    return say("{length} long", length=length_text(span.length_quarters, metre))


def _extent_text(passage: Passage, span: Span) -> str:
    """Write how long a stretch is, and where it starts if that is inside a bar."""
    place = passage.place(span.start_quarters)
    where = "" if place.beat == 1 else say(" from {place}", place=_place(place))
    return metres_text(passage, span) + where


def _place_text(passage: Passage, span: Span) -> str:
    place = passage.place(span.start_quarters)
    return say("bar {bar}", bar=place.bar) if place.beat == 1 else _place(place)


def _place(place: Place) -> str:
    return say("bar {bar}, beat {beat}", bar=place.bar, beat=beat_text(place.beat))


def _bar_text(bar: Bar) -> str:
    if bar.is_free:
        return say("free time")
    if bar.length_quarters == bar.metre.length_quarters:
        return bar.metre.label()
    units = bar.length_quarters / bar.metre.unit_quarters
    if units.denominator == 1:
        return f"{units}/{bar.metre.unit}"
    return f"{float(units):.1f}/{bar.metre.unit}"


def _cut_moments(passage: Passage, span: Span, longest_quarters: float) -> list[Fraction]:
    """List where a row may end: bar lines; within a bar that is too long its groups, within a group
    that is too long its units.
    """
    moments = {span.start_quarters, span.end_quarters}
    for bar in passage.bars:
        moments.add(bar.start_quarters)
        unit = bar.metre.unit_quarters
        if float(bar.length_quarters) > longest_quarters:
            groups = bar.metre.groups if len(bar.metre.groups) > 1 else (1,) * bar.metre.units
            starts = [bar.start_quarters + sum(groups[:i]) * unit for i in range(len(groups))]
            for start, units in zip(starts, groups, strict=True):
                is_too_long = float(units * unit) > longest_quarters
                inside = range(units if is_too_long else 1)
                moments.update(m for i in inside if bar.span.holds(m := start + i * unit))
    return sorted(m for m in moments if span.start_quarters <= m <= span.end_quarters)


def _in_equal_rows(
    passage: Passage, span: Span, moments: list[Fraction], longest_quarters: float
) -> list[Fraction]:
    bars = [bar for bar in passage.bars if bar.span.overlap_quarters(span)]
    if not bars or Span(bars[0].start_quarters, bars[-1].span.end_quarters) != span:
        return moments
    length = bars[0].length_quarters
    most = int(longest_quarters / float(length))
    if any(bar.length_quarters != length for bar in bars) or most < 2 or most >= len(bars):
        return moments
    dividing = [k for k in range(most, most // 2, -1) if len(bars) % k == 0]
    each = dividing[0] if dividing else most
    return [*(bar.start_quarters for bar in bars[::each]), moments[-1]]


def _evenly_filled(moments: Sequence[Fraction], longest_quarters: float) -> list[Span]:
    rows = _filled(moments, longest_quarters)
    too_short, short = 0.0, longest_quarters
    while len(rows) > 1 and short - too_short > 0.05:
        middle = (too_short + short) / 2
        if len(_filled(moments, middle)) == len(rows):
            short = middle
        else:
            too_short = middle
    return _filled(moments, short)


def _filled(moments: Sequence[Fraction], longest_quarters: float) -> list[Span]:
    """Fill rows from the left; a stretch between two moments that is too long stands alone."""
    rows: list[Span] = []
    for start, end in pairwise(moments):
        if rows and float(end - rows[-1].start_quarters) <= longest_quarters:
            rows[-1] = Span(rows[-1].start_quarters, end)
        else:
            rows.append(Span(start, end))
    return rows


def _named(passage: Passage, whole: Stretch, span: Span, *, is_first: bool) -> Stretch:
    if whole.heading:
        detail = whole.detail if is_first else _place_text(passage, span)
        heading = whole.heading if is_first else ""
    else:
        first = passage.bar_at(span.start_quarters)
        last = passage.bar_at(span.end_quarters)
        number = last.number - (1 if span.end_quarters <= last.start_quarters else 0)
        number = last.number if span.end_quarters >= passage.length_quarters else number
        heading = say("bars {first}–{last}", first=first.number, last=number)
        if number <= first.number:
            heading = say("bar {bar}", bar=first.number)
        detail = metres_text(passage, span)
        if span.start_quarters > first.start_quarters:
            heading, detail = "", _place_text(passage, span)
        elif span.end_quarters < first.span.end_quarters:
            detail = _bar_text(first)
    return Stretch(
        span=span,
        heading=heading,
        detail=detail,
        pass_index=whole.pass_index,
        is_tag=whole.is_tag,
    )
