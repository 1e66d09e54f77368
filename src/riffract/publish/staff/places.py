"""Where the engraver put things: read from its drawing, so that a tab staff can stand under it."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from lxml import etree
from lxml.etree import _Element as Element

_SVG: Final = "{http://www.w3.org/2000/svg}"
_INNER_UNITS: Final = 10.0
"""Inside its drawing the engraver counts in tenths of a page unit."""

_HEAD_WIDTHS: Final[Mapping[str, float]] = {"E0A0": 2.396, "E0A2": 1.688}
"""Widths of noteheads in staff spaces, by code point: double whole and whole notes.

Source: SMuFL 1.4, `noteheadDoubleWhole` and `noteheadWhole`; metadata of the font Bravura.
"""

_HEAD_WIDTH: Final = 1.18
"""The width of all other noteheads (black, half, cross), in staff spaces; same source."""

_FONT_UNITS_A_SPACE: Final = 250
_NUMBER: Final = re.compile(r"-?\d+(?:\.\d+)?")
_CODE_POINT: Final = re.compile(r"#([0-9A-F]{4,5})")


@dataclass(frozen=True, slots=True, kw_only=True)
class BarStroke:
    """One stroke of a bar line.

    Attributes:
        x: its middle.
        width: how thick it is.
    """

    x: float
    width: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SystemPlaces:
    """One system of notation in page units, x from the left edge and y from the top.

    Attributes:
        width, height: of the drawing.
        left, right: where the staff starts and ends; a courtesy metre may stand behind the bars.
        top, bottom: its first and its last line.
        bar_ends: where each bar ends, in order.
        strokes: of all bar lines.
        middles: of noteheads and rests, by id.
    """

    width: float
    height: float
    left: float
    right: float
    top: float
    bottom: float
    bar_ends: tuple[float, ...]
    strokes: tuple[BarStroke, ...]
    middles: Mapping[str, float]


def places_in(svg: str) -> SystemPlaces:
    """Read a system of one staff."""
    root = etree.fromstring(svg.encode("utf-8"))
    _, _, width, height = _numbers(root.get("viewBox", ""))
    margin = next(_of_class(root, "page-margin"))
    dx, dy = (part / _INNER_UNITS for part in _numbers(margin.get("transform", ""))[:2])
    lines = [line for staff in _of_class(root, "staff") for line in staff.findall(f"{_SVG}path")]
    corners = [[part / _INNER_UNITS for part in _numbers(line.get("d", ""))] for line in lines]
    return SystemPlaces(
        width=width,
        height=height,
        left=min(x for x, _, _, _ in corners) + dx,
        right=max(x for _, _, x, _ in corners) + dx,
        top=min(y for _, y, _, _ in corners) + dy,
        bottom=max(y for _, y, _, _ in corners) + dy,
        bar_ends=tuple(_bar_end(bar, dx) for bar in _of_class(root, "measure")),
        strokes=tuple(_strokes(root, dx)),
        middles={name: x / _INNER_UNITS + dx for name, x in _middles(root)},
    )


def _of_class(root: Element, name: str) -> Iterator[Element]:
    return (tag for tag in root.iter(f"{_SVG}g") if name in tag.get("class", "").split())


def _numbers(text: str) -> list[float]:
    return [float(number) for number in _NUMBER.findall(text)]


def _bar_end(measure: Element, dx: float) -> float:
    """Give the outer edge of a bar's last bar line, or of its staff if that is not drawn."""
    edges = [stroke.x + stroke.width / 2 for stroke in _strokes(measure, dx)]
    staves = (
        path for staff in _of_class(measure, "staff") for path in staff.findall(f"{_SVG}path")
    )
    ends = (_numbers(path.get("d", ""))[2] / _INNER_UNITS + dx for path in staves)
    return max(edges or ends)


def _strokes(root: Element, dx: float) -> Iterator[BarStroke]:
    for barline in _of_class(root, "barLine"):
        for path in barline.iter(f"{_SVG}path"):
            x = _numbers(path.get("d", ""))[0] / _INNER_UNITS + dx
            yield BarStroke(x=x, width=float(path.get("stroke-width", "0")) / _INNER_UNITS)


def _middles(root: Element) -> Iterator[tuple[str, float]]:
    """Give id and middle of each notehead and rest."""
    for name in ("note", "rest", "mRest"):
        for tag in _of_class(root, name):
            glyph = next(tag.iter(f"{_SVG}use"), None)
            if glyph is not None:
                yield tag.get("id", ""), _middle(glyph)


def _middle(glyph: Element) -> float:
    x, _, scale = _numbers(glyph.get("transform", ""))[:3]
    code = _CODE_POINT.match(glyph.get("href", ""))
    spaces = _HEAD_WIDTHS.get(code[1] if code else "", _HEAD_WIDTH)
    return x + spaces * _FONT_UNITS_A_SPACE * scale / 2
