"""The engraver: from MusicXML to one drawing a line of music."""

import re
from collections.abc import Iterator
from typing import Any, Final, NamedTuple

import verovio

from riffract.publish.staff.bar_numbers import with_clear_bar_numbers
from riffract.publish.staff.breaks import even_breaks, with_breaks
from riffract.publish.staff.frames import with_fitted_frames
from riffract.publish.staff.places import places_in
from riffract.publish.staff.sizes import UNITS_A_MM

_OPTIONS: Final[dict[str, Any]] = {
    "adjustPageHeight": True,
    "adjustPageWidth": False,
    "footer": "none",
    "header": "none",
    "mnumInterval": 1,
    "pageHeight": 100,
    "pageMarginBottom": 10,
    "pageMarginLeft": 36,
    "pageMarginRight": 0,
    "pageMarginTop": 26,
    "scale": 100,
    "staffLineWidth": 0.22,
    "svgBoundingBoxes": True,
    "svgRemoveXlink": True,
    "svgViewBox": True,
    "xmlIdSeed": 1,
}
"""A page holds one line of music; ids are counted, so a passage always gives the same bytes. Staff
lines are 0.11 of a space thick, as engraved parts have them: the engraver's own are thinner, and
fade in print.

Source: SMuFL 1.4, `staffLineThickness` (0.13 of a space in Bravura, 0.11 in Leland, from memory).
"""

_IN_ONE_LINE: Final[dict[str, Any]] = {"adjustPageWidth": True, "breaks": "none"}

_LINE_START: Final = 11.5 * UNITS_A_MM
"""What clef and names of strings take on each line, and the next line's metre at its end."""

_TEXT_FONT: Final = ('font-family="Times, serif"', 'font-family="Riffract Sans"')
_MAKER: Final = re.compile(r"<desc>.*?</desc>")


class Spacing(NamedTuple):
    """How wide music is set.

    Attributes:
        behind_notes: room behind each note, in half spaces of the staff; at most 2.
        for_duration: how much room a note gets for its duration; 0.25 is the engraver's own.
    """

    behind_notes: float
    for_duration: float = 0.25


def drawn_lines(xml: bytes, width_units: int, spacing: Spacing) -> list[str]:
    """Engrave a file of one staff, as few lines as it needs, evenly filled.

    Args:
        xml: MusicXML.
        width_units: of a line, in page units.
        spacing: how wide it is set.

    Returns:
        One SVG a line, in order.
    """
    [line] = _drawn(xml, _IN_ONE_LINE, spacing)
    ends = places_in(line).bar_ends
    widths = [end - start for start, end in zip((_LINE_START, *ends), ends, strict=False)]
    starts = even_breaks(widths, width_units - _LINE_START)
    breaks = "encoded" if len(starts) > 1 else "auto"
    options = {"breaks": breaks, "pageWidth": width_units}
    return list(_drawn(with_breaks(xml, starts), options, spacing))


def _drawn(xml: bytes, options: dict[str, Any], spacing: Spacing) -> Iterator[str]:
    verovio.enableLog(verovio.LOG_ERROR)
    engraver = verovio.toolkit()
    engraver.setOptions(
        _OPTIONS
        | {"rightMarginNote": spacing.behind_notes, "spacingLinear": spacing.for_duration}
        | options
    )
    engraver.loadData(xml.decode("utf-8"))
    for page in range(1, engraver.getPageCount() + 1):
        drawn = _MAKER.sub("", engraver.renderToSVG(page)).replace(*_TEXT_FONT)
        yield with_clear_bar_numbers(with_fitted_frames(drawn))
