"""The lines of a tab staff, broken by the numbers that stand on them."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import inf
from typing import Final

from riffract.music import Technique, Tuning
from riffract.picture.marks import Colour, Mark, Role, Shape, Stroke, Words, polyline
from riffract.picture.type import CAP_HEIGHT_SHARE, text_width
from riffract.publish.staff.frets import WrittenFret
from riffract.publish.staff.places import SystemPlaces
from riffract.publish.staff.sizes import (
    FIGURE_SIZE,
    GRACE_SHARE,
    LINE_WIDTH,
    STRING_GAP,
    UNITS_A_MM,
)
from riffract.publish.staff.tab_system import TabSystem

INK: Final = Colour(Role.TEXT)
LINE: Final = Colour(Role.STRING)
_AIR: Final = 0.25 * UNITS_A_MM
"""Between a number and the line that it breaks."""

NARROWEST_GAP: Final = 0.22 * UNITS_A_MM
"""Between numbers of one string: a sixth of a figure; closer ones read as one number."""

_SLIDE_GAP: Final = 1.0 * UNITS_A_MM
"""What a slide's line takes between its numbers."""

_BEND_GAP: Final = 1.6 * UNITS_A_MM
"""What each arrow of a bend takes behind its number."""

_CHEVRON: Final = 0.55 * UNITS_A_MM
"""How wide each of the angles around a harmonic's number is."""

_NAME_SIZE: Final = 1.8 * UNITS_A_MM
_DEAD: Final = "×"


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A number on its string.

    Attributes:
        fret: what it shows.
        x, y: its middle.
        text: what is written.
        size: of the letters.
        is_harmonic: whether it stands between angles.
    """

    fret: WrittenFret
    x: float
    y: float
    text: str
    size: float
    is_harmonic: bool

    @property
    def half_width(self) -> float:
        """From the middle to either side, angles included."""
        angles = 2 * _CHEVRON if self.is_harmonic else 0.0
        return text_width(self.text, self.size, 500) / 2 + angles

    @property
    def half_height(self) -> float:
        """From the middle to the top."""
        return CAP_HEIGHT_SHARE * self.size / 2


def string_y(string: int) -> float:
    """Tell where a string's line lies under the first one."""
    return (string - 1) * STRING_GAP


def figures(system: TabSystem) -> tuple[Figure, ...]:
    """Set the number of each fret.

    Those that a tie leads to over a bar line stand in brackets; inside a bar they are not said
    again, since the hand does nothing there.

    Source: common practice of tab.
    """
    return tuple(_figure(system, fret) for fret in system.frets if _is_shown(system, fret))


def _is_shown(system: TabSystem, fret: WrittenFret) -> bool:
    opens_bar = fret.at_quarters in {system.span.start_quarters, *system.bar_ends}
    return fret.played is not None and (opens_bar or not fret.is_held)


def tightest_gap(shown: Sequence[Figure]) -> float:
    """Tell how close the closest numbers of a string stand, less what stands between them."""
    by_string: dict[float, list[Figure]] = defaultdict(list)
    for figure in sorted(shown, key=lambda figure: figure.x):
        by_string[figure.y].append(figure)
    rows = (pairwise(row) for row in by_string.values())
    return min((_gap(left, right) for row in rows for left, right in row), default=inf)


def _gap(left: Figure, right: Figure) -> float:
    played = right.fret.played
    has_slide = played is not None and Technique.SLIDE in played.techniques
    steps = 0 if left.fret.played is None else len(left.fret.played.bend) - 1
    free = (right.x - right.half_width) - (left.x + left.half_width)
    return free - max(_SLIDE_GAP if has_slide else 0.0, steps * _BEND_GAP)


def _figure(system: TabSystem, fret: WrittenFret) -> Figure:
    played = fret.played
    assert played is not None, "rests have no figure"
    text = _DEAD if Technique.DEAD in played.techniques else str(played.fret)
    return Figure(
        fret=fret,
        x=system.x_of(fret),
        y=string_y(played.string),
        text=f"({text})" if fret.is_held else text,
        size=FIGURE_SIZE * (GRACE_SHARE if fret.is_grace else 1.0),
        is_harmonic=Technique.NATURAL_HARMONIC in played.techniques,
    )


def figure_marks(figure: Figure) -> Iterator[Mark]:
    """Draw a number, with angles if it is a harmonic's."""
    yield Words(
        x=figure.x,
        y=figure.y + figure.half_height,
        text=figure.text,
        size=figure.size,
        weight=500,
        colour=INK,
        align="middle",
    )
    if figure.is_harmonic:
        for side in (-1, 1):
            tip = figure.x + side * figure.half_width
            foot = tip - side * _CHEVRON
            high, low = figure.y - figure.half_height, figure.y + figure.half_height
            angle = polyline([(foot, high), (tip, figure.y), (foot, low)])
            yield Shape(path=angle, stroke=Stroke(colour=INK, width=LINE_WIDTH))


def line_marks(places: SystemPlaces, string_count: int, shown: Sequence[Figure]) -> Iterator[Mark]:
    """Draw the strings with gaps for their numbers, the bar lines, and the line that joins both."""
    gaps: Mapping[float, list[tuple[float, float]]] = defaultdict(list)
    for figure in shown:
        reach = figure.half_width + _AIR
        gaps[figure.y].append((figure.x - reach, figure.x + reach))
    for string in range(1, string_count + 1):
        y = string_y(string)
        for left, right in _pieces(places.left, places.right, sorted(gaps[y])):
            yield _stroke([(left, y), (right, y)], LINE_WIDTH, LINE)
    bottom = string_y(string_count)
    for bar_line in places.strokes:
        yield _stroke([(bar_line.x, 0.0), (bar_line.x, bottom)], bar_line.width, INK)


def _pieces(
    left: float, right: float, gaps: Sequence[tuple[float, float]]
) -> Iterator[tuple[float, float]]:
    """Give what is left of a line."""
    start = left
    for gap_left, gap_right in gaps:
        if gap_left > start:
            yield start, gap_left
        start = max(start, gap_right)
    if start < right:
        yield start, right


def joining_marks(top: float, bottom: float, left: float) -> Iterator[Mark]:
    """Draw the line at the left that makes staff and tab one system."""
    yield _stroke([(left, top), (left, bottom)], 2 * LINE_WIDTH, INK)


def name_marks(tuning: Tuning, names: Mapping[int, str], left: float) -> Iterator[Mark]:
    """Write the open strings' names before their lines."""
    for string, pitch in enumerate(reversed(tuning.open_pitches), start=1):
        yield Words(
            x=left - 0.6 * UNITS_A_MM,
            y=string_y(string) + CAP_HEIGHT_SHARE * _NAME_SIZE / 2,
            text=names[pitch % 12],
            size=_NAME_SIZE,
            weight=400,
            colour=Colour(Role.QUIET),
            align="end",
        )


def _stroke(points: Sequence[tuple[float, float]], width: float, colour: Colour) -> Shape:
    return Shape(path=polyline(points), stroke=Stroke(colour=colour, width=width))
