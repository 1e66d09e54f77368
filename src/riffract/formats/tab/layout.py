"""Where the columns of a bar stand, and which bars share a line."""

from collections.abc import Container, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from riffract.formats.folding import RepeatSigns
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
_OPENING: Final = frozenset(("", "<", "[", "("))
"""How signs begin that cannot touch the number before them."""
_SLASHES: Final = frozenset("/\\")


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidBar:
    """A bar with the place of each column, counted from its opening bar line.

    Attributes:
        columns: what starts together.
        places: the place of each of them.
        grace_places: the places of the graces that lead to each of them, group by group.
        width: from its opening bar line to the closing one.
        section: the section that starts with this bar; empty if none does.
        signs: repeats and endings.
        count: what stands behind its closing bar line: how often a repeat is played.
    """

    columns: Sequence[Column]
    places: Sequence[int]
    grace_places: Sequence[Sequence[int]]
    width: int
    section: str
    signs: RepeatSigns
    count: str


def lay_out(columns: Sequence[Column], signs: RepeatSigns, count_before: str) -> LaidBar:
    """Give each column of a bar room for its signs, its value, and the words above.

    Args:
        columns: of the bar.
        signs: repeats and endings of the bar.
        count_before: what stands right behind its opening bar line.
    """
    section = columns[0].marks.get("section", "")
    free: dict[str, int] = {}
    places: list[int] = []
    grace_places: list[list[int]] = []
    place = 2 + len(count_before) + signs.opens
    signs_end = place - 1
    for index, column in enumerate(columns):
        marks = words_above(column, is_first=index == 0)
        before, next_place = _before_column(column, signs_end + 1)
        place = max([place, next_place, *(free.get(label, 0) for label in marks)])
        shift = place - next_place
        places.append(place)
        grace_places.append([start + shift for start in before])
        free.update({label: place + len(text) + 2 for label, text in marks.items()})
        signs_end = place + max((len(piece.body) for piece in column.pieces), default=0)
        value = write_value(column.length_quarters)
        place += max(len(value) + 1, _room(column.length_quarters), 1 + _strokes(column))
    if signs.endings:
        free["ending"] = places[0] + len(ending_text(signs.endings)) + 2
    width = max([place, signs_end + 1, *free.values()]) + (signs.times > 0)
    is_counted = signs.times > 2 and not signs.endings
    return LaidBar(
        columns=columns,
        places=places,
        grace_places=grace_places,
        width=width,
        section=section,
        signs=signs,
        count=f"x{signs.times}" if is_counted else "",
    )


def ending_text(numbers: Sequence[int]) -> str:
    """Write the numbers of an ending.

    >>> ending_text((1, 2))
    '1,2.'
    """
    return f"{','.join(map(str, numbers))}."


def _before_column(column: Column, free: int) -> tuple[list[int], int]:
    """Place the graces that lead to a column from a free place on, and the column itself."""
    places: list[int] = []
    groups: list[dict[int, tuple[str, str]]] = [
        {grace.string: (grace.lead, grace.body) for grace in group} for group in column.graces
    ]
    groups.append({piece.note.string: (piece.lead, piece.body) for piece in column.pieces})
    ends: dict[int, str] = {}
    for group in groups:
        lead = max((len(lead) for lead, _ in group.values()), default=0)
        is_clear = lead > 0 and all(
            _can_touch(ends[string], text) for string, (text, _) in group.items() if string in ends
        )
        place = free + lead + (1 if ends and not is_clear else 0)
        places.append(place)
        ends = {string: body for string, (_, body) in group.items()}
        free = place + max((len(body) for body in ends.values()), default=0)
    return places[:-1], places[-1]


def _can_touch(body: str, lead: str) -> bool:
    """Whether what leads to a number may stand right behind another one and still be read so."""
    is_doubled = lead[:2] in {"//", "\\\\"}
    is_run_on = lead[:1] in _SLASHES and body[-1] in _SLASHES
    return not (lead[:1] in _OPENING or is_doubled or is_run_on)


def _strokes(column: Column) -> int:
    return max((piece.note.tremolo_marks for piece in column.pieces), default=0)


def words_above(column: Column, *, is_first: bool) -> dict[str, str]:
    """Give the words that stand in rows; a section that starts a bar has a line of its own."""
    return {
        label: text for label, text in column.marks.items() if not (is_first and label == "section")
    }


def packed(
    bars: Sequence[LaidBar], room: int, beginning: Container[int] = ()
) -> Iterator[list[LaidBar]]:
    """Put as many bars on a line as there is room for; a section starts on a new line.

    Args:
        bars: in order.
        room: signs from the opening bar line to the last closing one.
        beginning: bars that begin a line, counted from 1.
    """
    line: list[LaidBar] = []
    used = 1
    for number, bar in enumerate(bars, start=1):
        begins = bool(bar.section) or number in beginning
        if line and (begins or used + bar.width + len(bar.count) > room):
            yield line
            line, used = [], 1
        line.append(bar)
        used += bar.width
    yield line


def _room(length_quarters: Fraction) -> int:
    return next((room for length, room in _ROOM if length_quarters <= length), _MOST_ROOM)
