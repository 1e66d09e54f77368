"""Numbers of bars, kept clear of what reaches up to them."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import ceil, inf
from typing import Final

from lxml import etree
from lxml.etree import _Element as Element

_SVG: Final = "{http://www.w3.org/2000/svg}"
_SPACE: Final = 180.0
"""A space of the staff, as the engraver counts inside its drawing."""

_INNER_UNITS: Final = 10
"""Inside its drawing the engraver counts in tenths of a page unit."""

_ABOVE, _BESIDE = _SPACE / 3, _SPACE * 3 / 4
"""What stays free between a number and what it stands above, and beside. Nearer things beside a
number read as one with it, since its bar line already leads the eye to them."""

_HOLDERS: Final = {"mdiv", "score", "system", "section", "measure", "staff", "layer", "scoreDef"}
_NO_OBSTACLES: Final = frozenset(
    _HOLDERS | {"chord", "beam", "tuplet", "mNum", "text", "barLine", "pageMilestoneEnd"}
)
"""What only holds other things, and the bar line that a number belongs to."""


@dataclass(frozen=True, slots=True)
class _Box:
    """A rectangle in the engraver's inner units, y downwards."""

    left: float
    top: float
    right: float
    bottom: float

    def is_in_column_of(self, other: "_Box") -> bool:
        """Whether less stays free beside both than should."""
        return self.left < other.right + _BESIDE and other.left < self.right + _BESIDE


def with_clear_bar_numbers(svg: str) -> str:
    """Lift each bar's number over the notes, ties and brackets that would touch it.

    The engraver sets all numbers of a line at one height, whatever stands there. A drawing whose
    numbers rise above it becomes as much higher.

    Args:
        svg: a line of music, drawn with the engraver's bounding boxes.

    Returns:
        The same without these boxes.
    """
    root = etree.fromstring(svg.encode("utf-8"))
    obstacles = list(_obstacles(root))
    tops = [_set_clear(number, obstacles) for number in _of_class(root, "mNum")]
    _make_room(root, above=-min(tops, default=0.0))
    for box in [tag for tag in root.iter(f"{_SVG}g") if _is_box(tag)]:
        parent = box.getparent()
        assert parent is not None, "boxes stand in what they measure"
        parent.remove(box)
    return etree.tostring(root, encoding="unicode")


def _obstacles(root: Element) -> Iterator[_Box]:
    for tag in root.iter(f"{_SVG}g"):
        if _is_box(tag) and not _NO_OBSTACLES.intersection(tag.get("class", "").split()):
            yield from map(_box, tag.iterfind(f"{_SVG}rect"))


def _set_clear(number: Element, obstacles: Sequence[_Box]) -> float:
    """Lift a number as far as it must be, and give its top."""
    box = _box(next(number.iter(f"{_SVG}rect")))
    tops = [other.top for other in obstacles if box.is_in_column_of(other)]
    lift = max(0.0, box.bottom + _ABOVE - min(tops, default=inf))
    text = next(number.iter(f"{_SVG}text"))
    text.set("y", f"{float(text.get('y', '0')) - lift:g}")
    return box.top - lift


def _make_room(root: Element, *, above: float) -> None:
    """Let a drawing begin higher by what reaches out of it."""
    margin = next(_of_class(root, "page-margin"))
    x, y = map(float, margin.get("transform", "")[len("translate(") : -1].split(","))
    units = max(0, ceil((above + _ABOVE - y) / _INNER_UNITS))
    margin.set("transform", f"translate({x:g}, {y + units * _INNER_UNITS:g})")
    inner = root.find(f"{_SVG}svg")
    assert inner is not None, "the engraver draws in a drawing of its own scale"
    for drawing, more in ((root, units), (inner, units * _INNER_UNITS)):
        left, top, width, height = drawing.get("viewBox", "").split()
        drawing.set("viewBox", f"{left} {top} {width} {int(height) + more}")


def _is_box(tag: Element) -> bool:
    return "bounding-box" in tag.get("class", "").split()


def _of_class(root: Element, name: str) -> Iterator[Element]:
    """Give the groups of a class, but not the boxes around them."""
    groups = (tag for tag in root.iter(f"{_SVG}g") if not _is_box(tag))
    return (tag for tag in groups if name in tag.get("class", "").split())


def _box(rect: Element) -> _Box:
    x, y, width, height = (float(rect.get(key, "0")) for key in ("x", "y", "width", "height"))
    return _Box(x, y, x + width, y + height)
