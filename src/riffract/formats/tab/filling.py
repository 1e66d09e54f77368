"""Do the values of a bar fill its metre?"""

from fractions import Fraction
from typing import Final

from riffract.formats.tab.faults import Fault
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


def fill_fault(
    found_quarters: Fraction, metre: Metre, wanted_quarters: Fraction, *, is_first: bool
) -> Fault | None:
    """Say what is wrong with the sum of a bar's values.

    Args:
        found_quarters: the sum.
        metre: the bar's metre.
        wanted_quarters: what the bar must hold: its metre, or less in a pick-up bar.
        is_first: it is the first bar, which may be a pick-up bar.

    Returns:
        Nothing if the values fill the bar.

    >>> fault = fill_fault(Fraction(5), Metre(groups=(3, 3, 3, 2), unit=8), Fraction(11, 2),
    ...                    is_first=False)
    >>> print(fault.what)
    the bar holds 10 eighths, its metre 11/8 holds 11
    >>> print(fault.mend)
    add an eighth (`e`), or give this bar its own metre in a `metre` row: 10/8
    """
    if found_quarters == wanted_quarters:
        return None
    if found_quarters == 0:
        rest = write_value(wanted_quarters)
        mend = f"write a rest over it in the time row, `{rest}`, or take the bar out"
        return Fault(what="the bar is empty", mend=mend)
    is_pickup = wanted_quarters != metre.length_quarters
    wanted = number_text(wanted_quarters / metre.unit_quarters)
    limit = f"`pickup` says {wanted}" if is_pickup else f"its metre {metre.label()} holds {wanted}"
    return Fault(
        what=f"the bar holds {_counted(found_quarters, metre)}, {limit}",
        mend=_mend(found_quarters, metre, wanted_quarters, is_first=is_first),
    )


def _counted(quarters: Fraction, metre: Metre) -> str:
    count = quarters / metre.unit_quarters
    return f"{number_text(count)} {_UNITS[metre.unit][0 if count == 1 else 1]}"


def _mend(found: Fraction, metre: Metre, wanted: Fraction, *, is_first: bool) -> str:
    difference = wanted - found
    verb = "add" if difference > 0 else "take out"
    mend = f"{verb} {value_in_words(abs(difference))}"
    if is_first and wanted == metre.length_quarters and difference > 0:
        return f"{mend}, or, if it is a pick-up, write `pickup: {write_value(found)}` at the top"
    units = found / metre.unit_quarters
    if wanted == metre.length_quarters and units.denominator == 1 and units <= LARGEST_GROUP_SUM:
        mend += f", or give this bar its own metre in a `metre` row: {units}/{metre.unit}"
    return mend
