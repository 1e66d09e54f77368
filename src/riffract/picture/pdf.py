"""The PDF painter: marks → one page with its fonts inside, for print and for further use."""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import Final

import skia

from riffract.picture.look import Look
from riffract.picture.marks import Colour, Gradient, Group, Mark, Shape, Stroke, polyline
from riffract.picture.raster import draw_on
from riffract.picture.scene import Page

POINTS_A_PX: Final = 0.75
"""A px of the page is that of CSS, 1/96 inch; a point of PDF is 1/72 inch."""


SPECK_PX: Final = 0.01
"""Far below what any printer or screen shows."""


def pdf(
    marks: Iterable[Mark],
    look: Look,
    *,
    page: Page,
    title: str,
    description: str = "",
    with_ground: bool = True,
) -> bytes:
    """Write marks as a PDF of one page; the same marks always give the same bytes.

    Shapes stay curves, and words stay words: their fonts are embedded, as far as they are used.

    Args:
        marks: drawn in order.
        look: the colours.
        page: its size; 1920 × 1080 px are 1440 × 810 points; skia rounds up to whole ones.
        title: the document's name.
        description: the picture in words, kept as the document's subject.
        with_ground: whether the page is filled with the ground's colour first.
    """
    stream = skia.DynamicMemoryWStream()
    about = skia.PDF.Metadata({"Title": title, "Subject": description, "Producer": "Riffract"})
    document = skia.PDF.MakeDocument(stream, about)
    canvas = document.beginPage(page.width * POINTS_A_PX, page.height * POINTS_A_PX)
    canvas.scale(POINTS_A_PX, POINTS_A_PX)
    draw_on(canvas, _settled(marks), look, with_ground=with_ground)
    document.endPage()
    document.close()
    return bytes(stream.detachAsData())


def _settled(marks: Iterable[Mark]) -> Iterator[Mark]:
    """Put an opaque speck below each gradient, where the gradient covers it.

    A gradient is written as a pattern, which should not care how opaque lines are. One of the two
    painters of poppler (22.12, `pdftoppm` and some viewers) does: behind a faint line a body was
    fainter as well. The speck is a line, so that full opacity is in force.
    """
    for mark in marks:
        if isinstance(mark, Group):
            yield replace(mark, marks=tuple(_settled(mark.marks)))
            continue
        if isinstance(mark, Shape) and isinstance(mark.fill, Gradient):
            x, y = mark.fill.from_xy
            speck = polyline([(x, y), (x + SPECK_PX, y)])
            stroke = Stroke(colour=Colour(mark.fill.role), width=SPECK_PX)
            yield Shape(path=speck, stroke=stroke)
        yield mark
