"""Stretches between staff and tab: a word where they begin, dashes, and a hook at their end."""

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Final

from riffract.picture.marks import (
    Colour,
    Mark,
    Role,
    Shape,
    Stroke,
    Words,
    circle,
    polyline,
)
from riffract.picture.type import CAP_HEIGHT_SHARE, text_width
from riffract.publish.staff.sizes import (
    FIGURE_SIZE,
    LINE_WIDTH,
    SIGN_SIZE,
    UNITS_A_MM,
)
from riffract.publish.staff.stretches import Stretch
from riffract.publish.staff.tab_figures import INK
from riffract.publish.staff.tab_system import TabSystem

_AIR: Final = 0.8 * UNITS_A_MM
_HOOK: Final = 0.8 * UNITS_A_MM
_DASHES: Final = (0.9 * UNITS_A_MM, 0.7 * UNITS_A_MM)
_SHORTEST_LINE: Final = 1.2 * UNITS_A_MM
_STRING_SIZE: Final = 1.7 * UNITS_A_MM
_RADIUS: Final = 1.15 * UNITS_A_MM


def stretches_in(system: TabSystem, stretches: Sequence[Stretch]) -> tuple[Stretch, ...]:
    """List those that a system shows a part of."""
    start, end = system.span.start_quarters, system.span.end_quarters
    return tuple(s for s in stretches if s.start_quarters < end and s.end_quarters > start)


def can_share_a_row(
    system: TabSystem, one: Sequence[Stretch], other: Sequence[Stretch], words: tuple[str, str]
) -> bool:
    """Tell whether stretches of two kinds in a system, words included, have places of their own."""
    extents = [
        _extent(system, stretch, word)
        for stretches, word in zip((one, other), words, strict=True)
        for stretch in stretches
    ]
    return all(end + _AIR <= start for (_, end), (start, _) in pairwise(sorted(extents)))


def _extent(system: TabSystem, stretch: Stretch, word: str) -> tuple[float, float]:
    left, right = _reach(system, stretch)
    return left, max(right, left + _label_width(f"({word})", stretch))


def stretch_marks(
    system: TabSystem, stretches: Sequence[Stretch], word: str, baseline: float
) -> Iterator[Mark]:
    """Draw one row of a system's stretches of a kind.

    What goes on from the system before has its word in brackets. Where the word has no room before
    the line that it would run into, the line alone stands, with a hook at either end.
    """
    free_from = system.places.left
    for place, stretch in enumerate(stretches):
        left, right = _reach(system, stretch)
        goes_on = stretch.start_quarters < system.span.start_quarters
        label = f"({word})" if goes_on else word
        limit = _reach(system, stretches[place + 1])[0] if place + 1 < len(stretches) else None
        label_end = left + _label_width(label, stretch)
        has_room = left >= free_from and (limit is None or label_end + _AIR <= limit)
        middle = baseline - CAP_HEIGHT_SHARE * SIGN_SIZE / 2
        if has_room:
            yield from _label(left, baseline, label, stretch)
        line_left = label_end + _AIR if has_room else left
        free_from = max(right, label_end if has_room else right)
        if right - line_left >= _SHORTEST_LINE:
            ends_here = stretch.end_quarters <= system.span.end_quarters
            yield from _line(line_left, right, middle, is_open=not has_room, is_shut=ends_here)


def _reach(system: TabSystem, stretch: Stretch) -> tuple[float, float]:
    """Tell where a stretch starts and ends in a system."""
    half = FIGURE_SIZE / 2
    goes_on = stretch.start_quarters < system.span.start_quarters
    first = min(system.onsets.values(), default=system.places.left)
    left = (first if goes_on else system.x_at(stretch.start_quarters)) - half
    if stretch.end_quarters > system.span.end_quarters:
        return left, system.places.right
    is_bar_end = stretch.end_quarters in system.bar_ends
    end = system.end_x(stretch.end_quarters) - (half if is_bar_end else 2 * half)
    return left, max(end, left + 2 * half)


def _label_width(label: str, stretch: Stretch) -> float:
    return text_width(label, SIGN_SIZE, 400) + len(stretch.strings) * (2 * _RADIUS + _AIR / 2)


def _label(x: float, baseline: float, label: str, stretch: Stretch) -> Iterator[Mark]:
    """Write the word, and in circles the strings that it speaks of."""
    yield Words(x=x, y=baseline, text=label, size=SIGN_SIZE, weight=400, colour=INK)
    centre = x + text_width(label, SIGN_SIZE, 400) + _AIR / 2 + _RADIUS
    for string in stretch.strings:
        y = baseline - CAP_HEIGHT_SHARE * SIGN_SIZE / 2
        yield Shape(
            path=circle(centre, y, _RADIUS), stroke=Stroke(colour=INK, width=0.8 * LINE_WIDTH)
        )
        yield Words(
            x=centre,
            y=y + CAP_HEIGHT_SHARE * _STRING_SIZE / 2,
            text=str(string),
            size=_STRING_SIZE,
            weight=400,
            colour=INK,
            align="middle",
        )
        centre += 2 * _RADIUS + _AIR / 2


def _line(left: float, right: float, y: float, *, is_open: bool, is_shut: bool) -> Iterator[Mark]:
    stroke = Stroke(colour=Colour(Role.TEXT), width=LINE_WIDTH, dash=_DASHES)
    yield Shape(path=polyline([(left, y), (right, y)]), stroke=stroke)
    for x in (left,) * is_open + (right,) * is_shut:
        hook = polyline([(x, y), (x, y + _HOOK)])
        yield Shape(path=hook, stroke=Stroke(colour=INK, width=LINE_WIDTH))
