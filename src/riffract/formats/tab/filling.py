"""Do the values of a bar fill its metre?"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from riffract.formats.tab.faults import Fault, Report, Spot
from riffract.formats.tab.values import number_text, value_in_words, write_value
from riffract.music import Metre
from riffract.music.metre import LARGEST_GROUP_SUM

_UNITS: Final = {
    1: ("whole note", "whole notes"),
    2: ("half", "halves"),
    4: ("quarter", "quarters"),
    8: ("eighth", "eighths"),
    16: ("sixteenth", "sixteenths"),
    32: ("thirty-second", "thirty-seconds"),
    64: ("sixty-fourth", "sixty-fourths"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Misfilled:
    """A bar whose values do not add up.

    Attributes:
        number: of the bar as written.
        found_quarters: the sum of its values.
        metre: its metre.
        wanted_quarters: what it must hold.
        said_in: what says so: `metre`, `pickup` or `length`.
        spot: where to point at.
    """

    number: int
    found_quarters: Fraction
    metre: Metre
    wanted_quarters: Fraction
    said_in: str = "metre"
    spot: Spot

    def is_like(self, other: "Misfilled") -> bool:
        """Say whether another bar has the very same fault, so that both may come from one slip."""
        return (self.found_quarters, self.metre, self.wanted_quarters, self.said_in) == (
            other.found_quarters,
            other.metre,
            other.wanted_quarters,
            other.said_in,
        )


def report_misfilled(bars: Sequence[Misfilled], report: Report) -> None:
    """Report bars that do not add up; a row of like ones, as a forgotten metre makes, once."""
    for index, bar in enumerate(bars):
        before = bars[index - 1] if index else None
        if before is not None and before.number + 1 == bar.number and bar.is_like(before):
            continue
        last = index
        while (
            last + 1 < len(bars)
            and bars[last + 1].number == bars[last].number + 1
            and bars[last + 1].is_like(bar)
        ):
            last += 1
        report.error(fill_fault(bar, until=bars[last].number), bar.spot)


def fill_fault(bar: Misfilled, *, until: int) -> Fault:
    """Say what is wrong with the sum of a bar's values.

    Args:
        bar: the bar.
        until: the number of the last of the bars in a row that have this fault; its own if alone.

    >>> bar = Misfilled(number=4, found_quarters=Fraction(5), wanted_quarters=Fraction(11, 2),
    ...                 metre=Metre(groups=(3, 3, 3, 2), unit=8), spot=Spot(0))
    >>> fault = fill_fault(bar, until=4)
    >>> print(fault.what)
    the bar holds 10 eighths, its metre 11/8 holds 11
    >>> print(fault.mend)
    add an eighth (`e`), or give this bar its own metre in a `metre` row: 10/8
    """
    are_many = until > bar.number
    who = f"bars {bar.number} to {until} each" if are_many else "the bar"
    if bar.found_quarters == 0:
        rest = write_value(bar.wanted_quarters)
        who = f"bars {bar.number} to {until} are" if are_many else "the bar is"
        mend = f"write a rest over it in the time row, `{rest}`, or take it out"
        return Fault(what=f"{who} empty", mend=mend)
    metre = bar.metre
    wanted = number_text(bar.wanted_quarters / metre.unit_quarters)
    limit = f"{'their' if are_many else 'its'} metre {metre.label()} holds {wanted}"
    if bar.said_in != "metre":
        limit = f"`{bar.said_in}` says {wanted}"
    verb = "hold" if are_many else "holds"
    what = f"{who} {verb} {_counted(bar.found_quarters, metre)}, {limit}"
    return Fault(what=what, mend=_mend(bar, are_many=are_many))


def _counted(quarters: Fraction, metre: Metre) -> str:
    count = quarters / metre.unit_quarters
    return f"{number_text(count)} {_UNITS[metre.unit][0 if count == 1 else 1]}"


def _mend(bar: Misfilled, *, are_many: bool) -> str:
    difference = bar.wanted_quarters - bar.found_quarters
    mend = f"{'add' if difference > 0 else 'take out'} {value_in_words(abs(difference))}"
    units = bar.found_quarters / bar.metre.unit_quarters
    can_be_metre = units.denominator == 1 and units <= LARGEST_GROUP_SUM
    if bar.said_in != "metre":
        return mend
    if are_many and can_be_metre:
        own = f"{units}/{bar.metre.unit}"
        return f"write the metre {own} at bar {bar.number}, or {mend} in each of them"
    if bar.number == 1 and difference > 0 and (2 * units).denominator == 1:
        length = write_value(bar.found_quarters)
        return f"{mend}, or, if it is a pick-up, write `pickup: {length}` at the top"
    if can_be_metre:
        mend += f", or give this bar its own metre in a `metre` row: {units}/{bar.metre.unit}"
    return mend
