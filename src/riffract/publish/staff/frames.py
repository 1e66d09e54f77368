"""Frames around the names of sections, as wide as the font that they are set in asks for."""

from typing import Final

from lxml import etree

from riffract.picture.type import text_width

_SVG: Final = "{http://www.w3.org/2000/svg}"
_BOLD: Final = 600
"""The heaviest weight of the font that goes with the handout."""


def with_fitted_frames(svg: str) -> str:
    """Let each frame end as far behind its words as it begins before them.

    The engraver measures words in a font of its own, which is narrower.
    """
    root = etree.fromstring(svg.encode("utf-8"))
    for text in root.iter(f"{_SVG}text"):
        frame = text.getprevious()
        if frame is None or frame.tag != f"{_SVG}rect":
            continue
        width = sum(
            text_width(part.text or "", float(size.removesuffix("px")), _BOLD)
            for part in text.iter(f"{_SVG}tspan")
            if (size := part.get("font-size"))
        )
        padding = float(text.get("x", "0")) - float(frame.get("x", "0"))
        frame.set("width", f"{width + 2 * padding:.0f}")
    return etree.tostring(root, encoding="unicode")
