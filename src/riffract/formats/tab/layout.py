"""Where the columns of a bar stand, and which bars share a line."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from riffract.formats.tab.columns import Column
from riffract.formats.tab.values import write_value

_ROOM: Final = (
    (Fraction(1, 4), 2),
    (Fraction(1, 2), 3),
    (Fraction(1), 4),
    (Fraction(2), 6),
)
"""Signs given to values up to these lengths: longer ones get more room, as in print."""
_MOST_ROOM: Final = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidBar:
    """A bar with the place of each column, counted from its opening bar line.

    Attributes:
        columns: what starts together.
        places: the place of each of them.
        width: from its opening bar line to the closing one.
        section: the section that starts with this bar; empty if none does.
    """

    columns: Sequence[Column]
    places: Sequence[int]
    width: int
    section: str


def lay_out(columns: Sequence[Column]) -> LaidBar:
    """Give each column of a bar room for its signs, its value, and the words above."""
    section = columns[0].marks.get("section", "")
    free: dict[str, int] = {}
    places: list[int] = []
    place, signs_end = 2, 1
    for index, column in enumerate(columns):
        marks = words_above(column, is_first=index == 0)
        lead = max((len(piece.lead) for piece in column.pieces), default=0)
        place = max([place, signs_end + 1 + lead, *(free.get(label, 0) for label in marks)])
        places.append(place)
        free.update({label: place + len(text) + 2 for label, text in marks.items()})
        signs_end = place + max((len(piece.body) for piece in column.pieces), default=0)
        value = write_value(column.length_quarters)
        place += max(len(value) + 1, _room(column.length_quarters))
    width = max([place, signs_end + 1, *free.values()])
    return LaidBar(columns=columns, places=places, width=width, section=section)


def words_above(column: Column, *, is_first: bool) -> dict[str, str]:
    """Give the words that stand in rows; a section that starts a bar has a line of its own."""
    return {
        label: text for label, text in column.marks.items() if not (is_first and label == "section")
    }


def packed(bars: Sequence[LaidBar], room: int) -> Iterator[list[LaidBar]]:
    """Put as many bars on a line as there is room for; a section starts on a new line.

    Args:
        bars: in order.
        room: signs from the opening bar line to the last closing one.
    """
    line: list[LaidBar] = []
    used = 1
    for bar in bars:
        if line and (bar.section or used + bar.width > room):
            yield line
            line, used = [], 1
        line.append(bar)
        used += bar.width
    yield line


def _room(length_quarters: Fraction) -> int:
    return next((room for length, room in _ROOM if length_quarters <= length), _MOST_ROOM)
