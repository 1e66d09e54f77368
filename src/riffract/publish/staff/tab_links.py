"""What joins two numbers of a string: arcs of hammer-ons and pull-offs, lines of slides."""

from collections.abc import Iterator, Sequence
from typing import Final

from riffract.music import Technique
from riffract.music.notes import LEGATO
from riffract.picture.marks import CurveTo, Mark, MoveTo, Path, Shape, Stroke, polyline
from riffract.publish.staff.sizes import LINE_WIDTH, STRING_GAP, UNITS_A_MM
from riffract.publish.staff.tab_figures import INK, Figure
from riffract.publish.staff.tab_system import TabSystem

_ARC_HEIGHT: Final = 0.42 * STRING_GAP
_ARC_BELLY: Final = 0.22 * UNITS_A_MM
_SLOPE: Final = 0.3 * STRING_GAP
"""How far a slide's line rises or falls to either side of its string."""

_AIR: Final = 0.3 * UNITS_A_MM
_SHORTEST_SLIDE: Final = 1.0 * UNITS_A_MM
_STUB: Final = 1.6 * UNITS_A_MM
_LEGATO_LETTERS: Final = {Technique.HAMMER_ON: "H", Technique.PULL_OFF: "P"}
_STUBS: Final = {
    Technique.SCOOP: (-1, 1),
    Technique.PLOP: (-1, -1),
    Technique.DOIT: (1, -1),
    Technique.FALLOFF: (1, 1),
}
"""Slides from and to nowhere: on which side of the number, and whether that end lies lower (1)."""


def link_marks(system: TabSystem, shown: Sequence[Figure]) -> Iterator[Mark]:
    """Draw all arcs and slides of a system; one from the system before starts at its left edge."""
    before: dict[int, Figure] = {}
    for figure in shown:
        played = figure.fret.played
        assert played is not None, "a figure is of something played"
        yield from _stub_marks(figure)
        if played.techniques & LEGATO and not figure.fret.is_held:
            start = before.get(played.string)
            left = _first_x(system) if start is None else start.x
            if played.techniques & (Technique.HAMMER_ON | Technique.PULL_OFF):
                yield Shape(path=_arc(left, figure), fill=INK)
            if figure.fret.slides_in:
                yield _stub(figure, _STUBS[Technique.SCOOP])
            elif Technique.SLIDE in played.techniques:
                yield _slide(system, start, figure)
        before[played.string] = figure


def link_letters(system: TabSystem, shown: Sequence[Figure]) -> Iterator[tuple[float, str]]:
    """Tell which letters stand over which arcs, by their middles."""
    before: dict[int, Figure] = {}
    for figure in shown:
        played = figure.fret.played
        assert played is not None, "a figure is of something played"
        start = before.get(played.string)
        left = _first_x(system) if start is None else start.x
        for sign, letter in _LEGATO_LETTERS.items():
            if sign in played.techniques and not figure.fret.is_held:
                yield (left + figure.x) / 2, letter
        before[played.string] = figure


def _first_x(system: TabSystem) -> float:
    """Give a place just before the first note of a system, behind clef and metre."""
    return min(system.onsets.values(), default=system.places.left) - STRING_GAP


def _arc(left: float, goal: Figure) -> Path:
    """Draw a slur: thin at its ends, thick in the middle."""
    foot = goal.y - goal.half_height - _AIR
    start, end = left + _AIR, goal.x - _AIR
    pull = (end - start) * 0.3
    crest = foot - _ARC_HEIGHT
    return (
        MoveTo(start, foot),
        CurveTo(start + pull, crest, end - pull, crest, end, foot),
        CurveTo(end - pull, crest + _ARC_BELLY, start + pull, crest + _ARC_BELLY, start, foot),
    )


def _slide(system: TabSystem, start: Figure | None, goal: Figure) -> Mark:
    left = _first_x(system) if start is None else start.x + start.half_width + _AIR
    right = goal.x - goal.half_width - _AIR
    if right - left < _SHORTEST_SLIDE:
        middle = (left + right) / 2
        left, right = middle - _SHORTEST_SLIDE / 2, middle + _SHORTEST_SLIDE / 2
    rise = _SLOPE if _goes_up(start, goal) else -_SLOPE
    return _line([(left, goal.y + rise), (right, goal.y - rise)])


def _goes_up(start: Figure | None, goal: Figure) -> bool:
    assert goal.fret.played is not None, "a figure is of something played"
    if start is None or start.fret.played is None:
        return True
    return goal.fret.played.fret >= start.fret.played.fret


def _stub_marks(figure: Figure) -> Iterator[Mark]:
    assert figure.fret.played is not None, "a figure is of something played"
    for sign, way in _STUBS.items():
        if sign in figure.fret.played.techniques:
            yield _stub(figure, way)


def _stub(figure: Figure, way: tuple[int, int]) -> Mark:
    side, lower = way
    near = figure.x + side * (figure.half_width + _AIR)
    far = near + side * _STUB
    return _line([(near, figure.y), (far, figure.y + lower * _SLOPE * 1.5)])


def _line(points: list[tuple[float, float]]) -> Mark:
    return Shape(path=polyline(points), stroke=Stroke(colour=INK, width=1.4 * LINE_WIDTH))
