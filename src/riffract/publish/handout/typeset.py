"""The handout is set: from plain values to an accessible PDF (PDF/UA-1).

Everything that varies reaches the typesetter as data, never as markup, so no word of a user can
become an instruction.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import Any

import typst

from riffract.picture.type import missing_characters
from riffract.publish.handout.document import BREAK


@dataclass(frozen=True, slots=True, kw_only=True)
class Handout:
    """A finished handout.

    Attributes:
        pdf: the file.
        lost_signs: signs that no font has; they read as question marks.
    """

    pdf: bytes
    lost_signs: str = ""


def handout_pdf(data: Mapping[str, Any]) -> Handout:
    """Set the handout, tagged for screen readers; the same data give the same bytes.

    Accessible PDF allows no sign without a glyph. What our fonts lack is looked for in the
    system's; what those lack too is written as a question mark.
    """
    text = json.dumps(data, ensure_ascii=False)
    try:
        return Handout(pdf=_accessible_pdf(text, _fonts(with_system=False)))
    except typst.TypstError as error:
        _check_glyph_missing(error)
    try:
        return Handout(pdf=_accessible_pdf(text, _fonts(with_system=True)))
    except typst.TypstError as error:
        _check_glyph_missing(error)
    lost = missing_characters(text).replace(BREAK, "")
    text = text.translate(dict.fromkeys(map(ord, lost), "?"))
    return Handout(pdf=_accessible_pdf(text, _fonts(with_system=False)), lost_signs=lost)


def _template() -> bytes:
    return files(__package__).joinpath("handout.typ").read_bytes()


def _fonts(*, with_system: bool) -> typst.Fonts:
    """Take our own sans and the typesetter's built-in fonts, of which one is monospaced."""
    folder = Path(str(files("riffract.picture").joinpath("fonts")))
    return typst.Fonts(include_system_fonts=with_system, font_paths=[folder])


def _accessible_pdf(text: str, fonts: typst.Fonts) -> bytes:
    return typst.compile(
        _template(),
        format="pdf",
        pdf_standards="ua-1",
        font_paths=fonts,
        sys_inputs={"data": text},
    )


def _check_glyph_missing(error: typst.TypstError) -> None:
    """Let an error pass only if it says that a font lacks a sign."""
    if "could not be displayed" not in error.message:
        raise error
