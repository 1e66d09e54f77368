"""Type: text set in one family of fonts, measured and drawn as outlines.

The built-in family is one sans in three weights, with tabular figures and music signs. Another one
can be set in for a while; see `set_in`. Lines are shaped with kerning once per face and scaled from
there, since the outlines are not hinted.
"""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from typing import Any, Final, get_args

import uharfbuzz

from riffract.picture.bidi import Run, visual_runs
from riffract.picture.line_breaks import breakable
from riffract.picture.marks import Align, Close, CurveTo, LineTo, MoveTo, Path, Weight, Words

UNITS: Final = 1000
"""Font units in one size."""

CAP_HEIGHT_SHARE: Final = 0.668
"""Height of capitals and figures, as a share of the size."""

X_HEIGHT_SHARE: Final = 0.496
"""Height of small letters without ascenders, as a share of the size."""

WEIGHTS: Final[tuple[Weight, ...]] = get_args(Weight)

ELLIPSIS: Final = "…"


@dataclass(frozen=True, slots=True, kw_only=True)
class SetLine:
    """A line of text as glyphs, from the start of its baseline at (0, 0), y pointing down, in px.

    Attributes:
        glyphs: indices into the font file.
        places: the origin of each glyph.
        width: how far the line advances.
        ink: left, top, right, bottom of what is really drawn; all 0 if nothing is.
    """

    glyphs: tuple[int, ...]
    places: tuple[tuple[float, float], ...]
    width: float
    ink: tuple[float, float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Family:
    """Fonts that belong together; two families are the same only if they are one object.

    Attributes:
        name: as users know it.
        files: the font file (TrueType or OpenType) of each weight.
    """

    name: str
    files: Mapping[Weight, bytes]


@contextmanager
def set_in(chosen: Family | None) -> Iterator[None]:
    """Set and draw all text in another family, inside the `with` block and in this thread.

    Scenes measure text while they are made and painters draw it later, so both belong inside.
    `None` stands for the built-in family.
    """
    earlier = _FAMILY.set(chosen)
    try:
        yield
    finally:
        _FAMILY.reset(earlier)


def family() -> Family:
    """Give the family that text is set in here and now."""
    return _FAMILY.get() or _built_in()


def font_bytes(weight: Weight) -> bytes:
    """Give the font file of a weight."""
    return family().files[weight]


def set_line(text: str, size: float, weight: Weight) -> SetLine:
    """Shape one line.

    >>> set_line("11", 30.0, 600).width == 2 * set_line("0", 30.0, 600).width
    True
    """
    shaped = _shaped(family(), text, weight)
    scale = size / UNITS
    left, top, right, bottom = shaped.ink
    return SetLine(
        glyphs=shaped.glyphs,
        places=tuple((x * scale, y * scale) for x, y in shaped.places),
        width=shaped.width * scale,
        ink=(left * scale, top * scale, right * scale, bottom * scale),
    )


def text_width(text: str, size: float, weight: Weight) -> float:
    """Tell how wide a line is set, px."""
    return _shaped(family(), text, weight).width * size / UNITS


def start_x(words: Words) -> float:
    """Tell where the baseline of words starts, given how they are aligned."""
    return words.x - _share_before(words.align) * text_width(words.text, words.size, words.weight)


def ink_box(words: Words) -> tuple[float, float, float, float]:
    """Give left, top, right, bottom of the ink of words on the page, halo apart."""
    left, top, right, bottom = set_line(words.text, words.size, words.weight).ink
    x = start_x(words)
    return (x + left, words.y + top, x + right, words.y + bottom)


def glyph_outline(glyph: int, weight: Weight) -> Path:
    """Draw one glyph of a font file in font units, from its origin, y pointing down.

    It is to be filled by the nonzero rule.
    """
    return _outline(family(), glyph, weight)


def missing_characters(text: str, of: Family | None = None) -> str:
    """List the characters that a family does not have, each once, in order.

    >>> missing_characters("E♭3 → 中")
    '中'
    """
    known = _known_characters(of or family())
    return "".join(dict.fromkeys(c for c in text if ord(c) not in known))


def wrap(text: str, size: float, weight: Weight, width: float) -> tuple[str, ...]:
    """Break text into lines of at most a width in px, at spaces; a longer word stands alone.

    Lines are evened out: of the fewest lines, the narrowest set is taken.

    >>> wrap("three falls and one climb", 50.0, 600, 400.0)
    ('three falls', 'and one climb')
    """
    lines = _filled(text, size, weight, width)
    too_narrow, narrow = 0.0, width
    while len(lines) > 1 and narrow - too_narrow > 1.0:
        middle = (too_narrow + narrow) / 2
        if len(_filled(text, size, weight, middle)) == len(lines):
            narrow = middle
        else:
            too_narrow = middle
    return _filled(text, size, weight, narrow)


def shortened(text: str, size: float, weight: Weight, width: float) -> str:
    """Cut text at a word so that it fits a width in px, with an ellipsis to say so.

    >>> shortened("a long way down", 30.0, 400, 150.0)
    'a long…'
    """
    if text_width(text, size, weight) <= width:
        return text
    words = text.split()
    while len(words) > 1:
        words.pop()
        cut = " ".join(words).rstrip(" ,;:") + ELLIPSIS
        if text_width(cut, size, weight) <= width:
            return cut
    return text[:1] + ELLIPSIS


def _filled(text: str, size: float, weight: Weight, width: float) -> tuple[str, ...]:
    lines: list[str] = []
    for before, piece in breakable(text):
        longer = f"{lines[-1]}{before}{piece}" if lines else piece
        if lines and text_width(longer, size, weight) <= width:
            lines[-1] = longer
        else:
            lines.append(piece)
    return tuple(lines)


def _share_before(align: Align) -> float:
    return {"start": 0.0, "middle": 0.5, "end": 1.0}[align]


_FAMILY: Final[ContextVar[Family | None]] = ContextVar("family", default=None)


@lru_cache(maxsize=1)
def _built_in() -> Family:
    fonts = resources.files("riffract.picture") / "fonts"
    return Family(
        name="Riffract Sans",
        files={w: fonts.joinpath(f"RiffractSans-{w}.ttf").read_bytes() for w in WEIGHTS},
    )


@lru_cache(maxsize=8 * len(WEIGHTS))
def _font(of: Family, weight: Weight) -> Any:
    font = uharfbuzz.Font(uharfbuzz.Face(of.files[weight]))
    font.scale = (UNITS, UNITS)
    return font


@lru_cache(maxsize=8)
def _known_characters(of: Family) -> frozenset[int]:
    known = [frozenset(_font(of, weight).face.unicodes) for weight in WEIGHTS]
    return frozenset.intersection(*known)


@lru_cache(maxsize=4096)
def _outline(of: Family, glyph: int, weight: Weight) -> Path:
    steps: list[MoveTo | LineTo | CurveTo | Close] = []
    pen = uharfbuzz.DrawFuncs()
    pen.set_move_to_func(lambda x, y, _: steps.append(MoveTo(x, -y)))
    pen.set_line_to_func(lambda x, y, _: steps.append(LineTo(x, -y)))
    pen.set_cubic_to_func(lambda a, b, c, d, x, y, _: steps.append(CurveTo(a, -b, c, -d, x, -y)))
    pen.set_close_path_func(lambda _: steps.append(Close()))
    _font(of, weight).draw_glyph(glyph, pen)
    return tuple(steps)


@lru_cache(maxsize=8192)
def _shaped(of: Family, text: str, weight: Weight) -> SetLine:
    """Shape a line in font units: run by run, from left to right."""
    font = _font(of, weight)
    # A font may put a nameless glyph for a space; the plain one is as empty, and can be read back.
    space = font.get_nominal_glyph(ord(" "))
    glyphs, places, inks = [], [], []
    x = 0.0
    for run in visual_runs(text):
        buffer = _shaped_run(font, text, run)
        for info, position in zip(
            buffer.glyph_infos or (), buffer.glyph_positions or (), strict=True
        ):
            place = (x + position.x_offset, -float(position.y_offset))
            is_space = text[info.cluster : info.cluster + 1] == " "
            glyphs.append(space if is_space and space is not None else info.codepoint)
            places.append(place)
            x += position.x_advance
            box = font.get_glyph_extents(info.codepoint)
            if box is not None and box.width:
                top = place[1] - box.y_bearing
                left = place[0] + box.x_bearing
                inks.append((left, top, left + box.width, top - box.height))
    ink = (
        min((i[0] for i in inks), default=0.0),
        min((i[1] for i in inks), default=0.0),
        max((i[2] for i in inks), default=0.0),
        max((i[3] for i in inks), default=0.0),
    )
    return SetLine(glyphs=tuple(glyphs), places=tuple(places), width=x, ink=ink)


def _shaped_run(font: Any, text: str, run: Run) -> Any:
    """Shape a part of a line that is written in one direction; clusters count from the line."""
    buffer = uharfbuzz.Buffer()
    buffer.add_str(text, run.start, run.end - run.start)
    if not run.is_rightward:
        buffer.direction = "rtl"
    buffer.guess_segment_properties()
    # Figures of one width where a font has them; its spaces must not become as wide as a figure.
    figures = [(i, i + 1, True) for i in range(run.start, run.end) if text[i].isdecimal()]
    uharfbuzz.shape(font, buffer, {"tnum": figures} if figures else {})
    return buffer
