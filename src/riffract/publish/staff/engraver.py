"""Engraving: notation as pictures, system by system."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import accumulate, pairwise
from typing import Any, Final

import verovio

from riffract.analysis.saying import say
from riffract.music import Passage
from riffract.publish.staff.notation import notation_xml

STAFF_MM: Final = 5.6
"""How high a staff is: between the 5 mm of parts and the 7 mm of music for learners, so that five
or six bars of eighths fit a line of 168 mm, and a reader at arm's length can still tell a line from
a space (1.4 mm)."""

_UNITS_A_STAFF: Final = 72
"""The engraver's staff is eight of its half spaces high, 9 units each."""

_OPTIONS: Final[dict[str, Any]] = {
    "adjustPageHeight": True,
    "breaks": "auto",
    "footer": "none",
    "header": "none",
    "mnumInterval": 1,
    "pageHeight": 100,
    "pageMarginBottom": 10,
    "pageMarginLeft": 30,
    "pageMarginRight": 0,
    "pageMarginTop": 10,
    "scale": 100,
    "svgRemoveXlink": True,
    "svgViewBox": True,
    "xmlIdSeed": 1,
}
"""A page holds one system, since no second one fits; ids are counted, so a passage always gives
the same bytes."""

_TEXT_FONT: Final = ('font-family="Times, serif"', 'font-family="Riffract Sans"')
_MEASURE: Final = re.compile(r'class="measure"')
_MAKER: Final = re.compile(r"<desc>.*?</desc>")


@dataclass(frozen=True, slots=True, kw_only=True)
class StaffSystem:
    """One line of notation.

    Attributes:
        svg: the drawing, as wide as the page that was asked for.
        description: which bars it shows.
    """

    svg: str
    description: str


def staff_systems(passage: Passage, *, width_mm: float) -> tuple[StaffSystem, ...]:
    """Engrave a passage as guitar notation.

    Args:
        passage: what; each bar as it is played.
        width_mm: of a system, staves being `STAFF_MM` high.

    Returns:
        Its systems in order; none if the passage has no notes, or is finer than notation can say.
    """
    if not len(passage.notes):
        return ()
    try:
        xml = notation_xml(passage)
    except ValueError:
        return ()
    drawings = list(_drawings(xml, round(width_mm * _UNITS_A_STAFF / STAFF_MM)))
    ends = accumulate((len(_MEASURE.findall(svg)) for svg in drawings), initial=0)
    return tuple(
        StaffSystem(svg=svg, description=_description(before + 1, end))
        for svg, (before, end) in zip(drawings, pairwise(ends), strict=True)
    )


def _drawings(xml: bytes, width_units: int) -> Iterator[str]:
    # what it could not place it leaves out, and a user can do nothing about it
    verovio.enableLog(verovio.LOG_ERROR)
    engraver = verovio.toolkit()
    engraver.setOptions(_OPTIONS | {"pageWidth": width_units})
    engraver.loadData(xml.decode("utf-8"))
    for page in range(1, engraver.getPageCount() + 1):
        svg = engraver.renderToSVG(page)
        yield _MAKER.sub("", svg).replace(*_TEXT_FONT)


def _description(first: int, last: int) -> str:
    if first == last:
        return say("Bar {bar} in staff notation; the tab says the same in letters.", bar=first)
    return say(
        "Bars {first} to {last} in staff notation; the tab says the same in letters.",
        first=first,
        last=last,
    )
