"""Bends on a tab staff: arrows up and down, with how far they go in tones."""

from collections.abc import Iterator
from fractions import Fraction
from typing import Final

from riffract.picture.marks import CurveTo, Mark, MoveTo, Shape, Stroke, polyline
from riffract.publish.staff.sizes import FIGURE_SIZE, LINE_WIDTH, UNITS_A_MM
from riffract.publish.staff.tab_figures import INK, Figure
from riffract.publish.staff.tab_system import TabSystem

TOP: Final = -1.5 * UNITS_A_MM
"""Where the arrows of the furthest bends end: over the first line, under the row of signs."""

_WIDEST_STEP: Final = 3.2 * UNITS_A_MM
_NARROWEST_STEP: Final = 0.7 * UNITS_A_MM
_HEAD: Final = 0.42 * UNITS_A_MM
_AIR: Final = 0.35 * UNITS_A_MM
_TONES: Final = {Fraction(1, 4): "¼", Fraction(1, 2): "½", Fraction(3, 4): "¾"}


def tones_text(cents: int) -> str:
    """Write a width in tones.

    >>> tones_text(200), tones_text(50), tones_text(300), tones_text(-100)
    ('1', '¼', '1½', '−½')
    """
    whole, part = divmod(Fraction(abs(cents), 200), 1)
    sign = "−" if cents < 0 else ""
    if part and part not in _TONES:
        return f"{sign}{float(whole + part):.2g}"
    return sign + (f"{whole or ''}{_TONES.get(part, '')}" or "0")


def bend_marks(system: TabSystem, figure: Figure) -> Iterator[Mark]:
    """Draw the way of a bend upwards; one that goes below its fret is told in words only."""
    way = _way(figure)
    if not way:
        return
    (x, cents), *points = _points(system, figure, way)
    y = _height(figure, cents, max(way))
    if cents:
        yield from _arrow((figure.x, figure.y - figure.half_height - _AIR), (x, y))
    for to_x, to_cents in points:
        to_y = _height(figure, to_cents, max(way))
        yield from _arrow((x, y), (to_x, to_y))
        x, y = to_x, to_y


def bend_labels(system: TabSystem, figure: Figure) -> Iterator[tuple[float, str]]:
    """Tell how far a bend goes, over each of its peaks."""
    way = _way(figure)
    points = list(_points(system, figure, way)) if way else []
    for place, (x, cents) in enumerate(points):
        beside = [
            other
            for _, other in (*points[max(place - 1, 0) : place], *points[place + 1 : place + 2])
        ]
        if cents and all(cents > other for other in beside):
            yield x, tones_text(cents)


def _way(figure: Figure) -> tuple[int, ...]:
    """Give the cents that a bend passes through; empty if it is none, or goes down."""
    played = figure.fret.played
    if played is None or figure.fret.is_held or not played.bend or min(played.bend) < 0:
        return ()
    return played.bend


def _points(system: TabSystem, figure: Figure, way: tuple[int, ...]) -> Iterator[tuple[float, int]]:
    """Place the points of a bend between its number and the next one."""
    start = figure.x if way[0] else figure.x + figure.half_width + _AIR
    room = system.next_x(figure.fret.at_quarters) - FIGURE_SIZE * 0.8 - start
    step = min(max(room / max(len(way) - 1, 1), _NARROWEST_STEP), _WIDEST_STEP)
    for place, cents in enumerate(way):
        yield start + place * step, cents


def _height(figure: Figure, cents: int, most: int) -> float:
    return figure.y + (TOP - figure.y) * (cents / most if most else 0.0)


def _arrow(start: tuple[float, float], end: tuple[float, float]) -> Iterator[Mark]:
    """Draw a line that leaves flat and arrives upright, with a head; level ones have none."""
    (x0, y0), (x1, y1) = start, end
    curve = CurveTo(x0 + (x1 - x0) * 0.7, y0, x1, y0 + (y1 - y0) * 0.3, x1, y1)
    yield Shape(path=(MoveTo(x0, y0), curve), stroke=Stroke(colour=INK, width=1.3 * LINE_WIDTH))
    if y0 != y1:
        foot = y1 + (_HEAD * 1.6 if y1 < y0 else -_HEAD * 1.6)
        head = [(x1 - _HEAD, foot), (x1 + _HEAD, foot), (x1, y1)]
        yield Shape(path=polyline(head, closed=True), fill=INK)
