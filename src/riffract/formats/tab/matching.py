"""Which value stands over which fret, and what to say where they do not meet."""

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from riffract.formats.tab.faults import Fault
from riffract.formats.tab.rows import Value

_SLIPS: Final = (-1, 1, -2, 2)
"""A value this many columns from a fret is taken for that fret's own, misplaced."""

MOST_SHOWN: Final = 24
MOST_APART: Final = 2
"""More misplaced values than this in one bar are told in one message."""


@dataclass(frozen=True, slots=True)
class Struck:
    """A column, from 0, at which something is struck or tied.

    Attributes:
        text: the fret, for messages.
        is_led: a hammer-on, pull-off or slide leads to it.
    """

    column: int
    text: str
    is_led: bool = False


@dataclass(frozen=True, slots=True)
class Misfit:
    """A fault and the column, from 0, that it is about.

    Attributes:
        is_in_strings: it is to be shown in a row of strings, not in the time row.
        slip: how far the values of this bar stand right of their frets, if all do alike.
    """

    fault: Fault
    column: int
    is_in_strings: bool = False
    slip: int = 0


def misfits(
    values: Sequence[Value],
    struck: Sequence[Struck],
    inside: range,
    taken: set[int],
) -> list[Misfit]:
    """Compare the values of a bar with its frets.

    Args:
        values: the values of the bar, from left to right.
        struck: the columns at which something is struck, rising.
        inside: the columns between the bar lines.
        taken: columns at which some row has a sign, so that no rest can be meant.

    Returns:
        Nothing if each fret has its value and every other value is a rest.
    """
    columns = {value.column for value in values}
    starts = {fret.column for fret in struck}
    bare = [fret for fret in struck if fret.column not in columns]
    loose = [value for value in values if value.column not in starts]
    if bare and not values:
        return [_no_values(bare)]
    slipped = _slipped(bare, [fret.column for fret in struck], values)
    if slipped:
        return slipped
    pairs, alone = _pair(bare, loose)
    if len(pairs) + len(alone) > MOST_APART:
        return [_muddle(values, struck, bare[0].column)]
    found = [_slip(fret, value) for fret, value in pairs]
    found += [_bare(fret, loose) for fret in alone]
    paired = {value.column for _, value in pairs}
    found += [
        _misplaced(value, inside)
        for value in loose
        if value.column not in paired and (value.column not in inside or value.column in taken)
    ]
    return found


def _slipped(
    bare: Sequence[Struck], struck: Sequence[int], values: Sequence[Value]
) -> list[Misfit]:
    """Find a slip of all values from one on, as one sign too many makes; one fret may be bare."""
    at = {value.column: value for value in values}
    for first, alone in zip(bare[:2], ([], bare[:1]), strict=False):
        tail = struck[bisect_left(struck, first.column) :]
        for slip in _SLIPS:
            if len(tail) > 1 and all(column + slip in at for column in tail):
                value = at[tail[0] + slip]
                fault = Fault(
                    what=f"the values from here on stand {_columns(slip)} of their frets",
                    mend=f"{_moved(-slip)} in the time row before this value",
                )
                return [
                    *(_bare(fret, ()) for fret in alone),
                    Misfit(fault, value.column, slip=slip),
                ]
    return []


def _pair(
    bare: Sequence[Struck], loose: Sequence[Value]
) -> tuple[list[tuple[Struck, Value]], list[Struck]]:
    """Give each bare fret a loose value that is not far, the nearest pairs first."""
    free = {value.column: value for value in loose}
    found: dict[int, Value] = {}
    for slip in _SLIPS:
        for fret in bare:
            if fret.column not in found and fret.column + slip in free:
                found[fret.column] = free.pop(fret.column + slip)
    pairs = [(fret, found[fret.column]) for fret in bare if fret.column in found]
    return pairs, [fret for fret in bare if fret.column not in found]


def _slip(fret: Struck, value: Value) -> Misfit:
    slip = value.column - fret.column
    fault = Fault(
        what=f"the value `{value.text}` stands {_columns(slip)} of its fret {fret.text}",
        mend=f"put both in one column: the fret starts in column {fret.column + 1}",
    )
    return Misfit(fault, value.column, slip=slip)


def _columns(slip: int) -> str:
    side = "right" if slip > 0 else "left"
    return f"1 column {side}" if abs(slip) == 1 else f"{abs(slip)} columns {side}"


def _moved(by: int) -> str:
    spaces = "1 space" if abs(by) == 1 else f"{abs(by)} spaces"
    return f"put {spaces} more" if by > 0 else f"take {spaces} out"


def _no_values(bare: Sequence[Struck]) -> Misfit:
    fault = Fault(
        what="no value stands over the notes of this bar",
        mend="write in the time row how long each lasts, over the start of its fret number",
    )
    return Misfit(fault, bare[0].column, is_in_strings=True)


def _muddle(values: Sequence[Value], struck: Sequence[Struck], column: int) -> Misfit:
    frets = _column_numbers([fret.column for fret in struck])
    own = _column_numbers([value.column for value in values])
    fault = Fault(
        what="the values of this bar do not stand over its frets",
        mend=f"the frets start in columns {frets}, the values stand in columns {own}",
    )
    return Misfit(fault, column, is_in_strings=True)


def _column_numbers(columns: Sequence[int]) -> str:
    shown = " ".join(str(column + 1) for column in columns[:MOST_SHOWN])
    return f"{shown} …" if len(columns) > MOST_SHOWN else shown


def _bare(fret: Struck, loose: Sequence[Value]) -> Misfit:
    mend = f"write how long it lasts in the time row, in column {fret.column + 1}"
    near = bisect_left(loose, fret.column, key=lambda value: value.column)
    if fret.is_led:
        mend += "; each note has a value of its own, also one that no pick strikes"
    elif loose:
        rest = min(loose[max(near - 1, 0) : near + 1], key=lambda v: abs(v.column - fret.column))
        mend += f"; the nearest value without a fret is `{rest.text}` in column {rest.column + 1}"
    fault = Fault(what=f"no value stands over fret {fret.text}", mend=mend)
    return Misfit(fault, fret.column, is_in_strings=True)


def _misplaced(value: Value, inside: range) -> Misfit:
    mend = "move it over the first digit of a fret, or over an empty column for a rest"
    where = "over a sign that is not the start of a fret number"
    if value.column < inside.start:
        where = "over or before the bar line"
    elif value.column >= inside.stop:
        where = "behind the last bar line"
    return Misfit(Fault(what=f"the value `{value.text}` stands {where}", mend=mend), value.column)
