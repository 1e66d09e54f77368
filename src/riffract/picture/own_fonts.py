"""The user's own fonts: a folder with a font file for one weight or for several."""

from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Final

import uharfbuzz

from riffract.formats.problem import Problem, Severity
from riffract.picture.marks import Weight
from riffract.picture.type import WEIGHTS, Family, missing_characters

ENDINGS: Final = frozenset({".ttf", ".otf"})
LARGEST_FONT_BYTES: Final = 64 * 2**20
"""Fonts for whole writing systems reach some 20 MB; what is larger is no font for a film."""

LETTERS: Final = "".join(map(chr, range(0x20, 0x7F)))
SIGNS: Final = "♭♯♮₀₁₂₃₄₅₆₇₈₉₊–—“”‘’…×·′→←↑↓−≤≥½¼¾‹›"
"""What pictures write besides letters: accidentals, subscripts of collections, amounts of bends."""


def read_fonts(folder: Path) -> tuple[Family | None, tuple[Problem, ...]]:
    """Read the fonts of a folder, and say what they lack.

    Each of the weights 400, 500 and 600 is set in the file that is nearest to it by its own weight
    class; one file may serve all.

    Returns:
        The fonts, `None` if there are none that can be used; and all problems. Missing letters are
        an error, missing signs a warning: pictures then show an empty box for them.
    """
    try:
        files = sorted(file for file in folder.iterdir() if file.suffix.lower() in ENDINGS)
    except OSError as error:
        return None, (
            Problem(
                what=f"the folder of fonts cannot be read: {error.strerror}",
                mend="give the name of a folder in the essay's own",
            ),
        )
    classes: dict[int, bytes] = {}
    problems: list[Problem] = []
    for file in files:
        data = _font_data(file)
        weight_class = None if data is None else _weight_class(data)
        if data is None or weight_class is None:
            problems.append(
                Problem(
                    what=f"{file.name} is no font that can be read",
                    mend="use a TrueType or OpenType file, with the ending ttf or otf",
                )
            )
        else:
            classes.setdefault(weight_class, data)
    if not classes:
        nothing = Problem(
            what="there is no font in the folder of fonts",
            mend="put files with the ending ttf or otf into it",
        )
        return None, (*problems, nothing)
    family = Family(name=folder.name, files=_nearest(classes))
    return family, (*problems, *_lacks(family))


def _nearest(classes: Mapping[int, bytes]) -> Mapping[Weight, bytes]:
    """Give each weight the file whose class is nearest, of two the bolder."""
    return MappingProxyType(
        {weight: classes[min(classes, key=lambda c: (abs(c - weight), -c))] for weight in WEIGHTS}
    )


def _font_data(file: Path) -> bytes | None:
    try:
        if file.stat().st_size > LARGEST_FONT_BYTES:
            return None
        return file.read_bytes()
    except OSError:
        return None


def _weight_class(data: bytes) -> int | None:
    """Read how bold a font says it is; `None` if it is none.

    Source: OpenType specification, table OS/2, usWeightClass: two bytes at offset 4.
    """
    face = uharfbuzz.Face(data)
    if not face.glyph_count or not face.unicodes:
        return None
    table = face.reference_table("OS/2")
    table_data = b"" if table is None else bytes(table.data)
    return int.from_bytes(table_data[4:6], "big") if len(table_data) >= 6 else 400


def _lacks(family: Family) -> list[Problem]:
    letters, signs = (missing_characters(wanted, family) for wanted in (LETTERS, SIGNS))
    problems = []
    if letters:
        problems.append(
            Problem(
                what=f"the fonts lack the letters {' '.join(letters)}",
                mend="use fonts for Latin text",
            )
        )
    if signs:
        problems.append(
            Problem(
                what=f"the fonts lack the signs {' '.join(signs)}; they are drawn as empty boxes",
                mend="use fonts that have them, or the built-in ones: leave out fonts",
                severity=Severity.WARNING,
            )
        )
    return problems
