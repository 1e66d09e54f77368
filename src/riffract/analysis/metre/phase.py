"""Where the passes of a riff start against the bars, and when both start together again."""

from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Final

from riffract.analysis.finding import Reading
from riffract.analysis.what.metre import PhaseRow
from riffract.music import Metre, Passage

FEWEST_IN_A_ROW: Final = 2
"""Passes that must follow one another at the length of the riff for it to run against the bars."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Drift:
    """A riff whose length is not one of whole bars.

    Attributes:
        length_quarters: of the riff.
        metre: of all the bars that it runs through.
        meets_after: passes and bars after which both start together again.
        step_quarters: how much later in the bar each pass starts; negative if it is nearer to say
            how much earlier.
        passes: how many passes in a row keep to it, the most anywhere.
        cut_short: numbers of the passes, from 1, that end early so that the next one starts with a
            bar.
    """

    length_quarters: Fraction
    metre: Metre
    meets_after: tuple[int, int]
    step_quarters: Fraction
    passes: int
    cut_short: tuple[int, ...]


def phase_table(passage: Passage, reading: Reading) -> tuple[PhaseRow, ...]:
    """Tell where each pass starts: its bar, and how long after the bar line; by time.

    A pass in a pick-up bar counts from that bar's start.
    """
    rows = []
    for number, one in enumerate(reading.passes, start=1):
        bar = passage.bar_at(one.span.start_quarters)
        offset = one.span.start_quarters - bar.start_quarters
        rows.append(PhaseRow(pass_number=number, bar=bar.number, offset_quarters=offset))
    return tuple(rows)


def meeting(length_quarters: Fraction, bar_quarters: Fraction) -> tuple[int, int]:
    """Tell after how many passes and bars a riff and the bars start together again.

    Definition: the least m, n > 0 with m times the riff = n times the bar.

    >>> meeting(Fraction(23, 4), Fraction(4))
    (16, 23)
    """
    ratio = length_quarters / bar_quarters
    return ratio.denominator, ratio.numerator


def phase_step(length_quarters: Fraction, bar_quarters: Fraction) -> Fraction:
    """Tell how much later in the bar each pass starts, or earlier (negative) if that is less.

    >>> phase_step(Fraction(23, 4), Fraction(4)), phase_step(Fraction(15, 4), Fraction(4))
    (Fraction(7, 4), Fraction(-1, 4))
    """
    later = length_quarters % bar_quarters
    return later if later <= bar_quarters / 2 else later - bar_quarters


def drift_of(passage: Passage, reading: Reading) -> Drift | None:
    """Say how a riff runs against the bars.

    Returns:
        `None` if it fills whole bars or fits into one a whole number of times, if the metre
        changes on its way, or if no two of its passes follow one another at its length.
    """
    metre = _steady_metre(passage, reading)
    if metre is None:
        return None
    length = reading.template.length_quarters
    passes, bars = meeting(length, metre.length_quarters)
    in_a_row = _most_in_a_row(reading)
    if passes == 1 or bars == 1 or in_a_row < FEWEST_IN_A_ROW:
        return None
    return Drift(
        length_quarters=length,
        metre=metre,
        meets_after=(passes, bars),
        step_quarters=phase_step(length, metre.length_quarters),
        passes=in_a_row,
        cut_short=_cut_short(passage, reading),
    )


def bars_of_each_pass(passage: Passage, reading: Reading) -> int | None:
    """Tell how many bars each pass fills, if all start with a bar and fill as many.

    The last pass does not count, since nothing shows where it would end; nor do passes that other
    music follows.
    """
    rows = phase_table(passage, reading)
    if any(row.offset_quarters for row in rows):
        return None
    lengths = {
        later.bar - row.bar
        for (row, one), (later, following) in pairwise(zip(rows, reading.passes, strict=True))
        if one.span.end_quarters == following.span.start_quarters
    }
    return lengths.pop() if len(lengths) == 1 else None


def _steady_metre(passage: Passage, reading: Reading) -> Metre | None:
    """The one metre of all full bars that the passes touch."""
    if not reading.passes:
        return None
    first = passage.bar_at(reading.passes[0].span.start_quarters).number
    last = passage.bar_at(reading.passes[-1].span.start_quarters).number
    bars = passage.bars[first - 1 : last]
    metres = {bar.metre for bar in bars}
    is_steady = len(metres) == 1 and all(
        not bar.is_free and bar.length_quarters == bar.metre.length_quarters for bar in bars
    )
    return metres.pop() if is_steady else None


def _most_in_a_row(reading: Reading) -> int:
    length = reading.template.length_quarters
    most = run = 1
    for one, following in pairwise(reading.passes):
        keeps = following.span.start_quarters - one.span.start_quarters == length
        run = run + 1 if keeps else 1
        most = max(most, run)
    return most


def _cut_short(passage: Passage, reading: Reading) -> tuple[int, ...]:
    rows = phase_table(passage, reading)
    return tuple(
        row.pass_number
        for row, later, one, following in zip(
            rows, rows[1:], reading.passes, reading.passes[1:], strict=False
        )
        if following.span.start_quarters - one.span.start_quarters
        < reading.template.length_quarters
        and row.offset_quarters
        and not later.offset_quarters
    )
