"""Type: text set in one family of fonts, measured and drawn as outlines.

The built-in family is one sans in three weights, with tabular figures and music signs. Another one
can be set in for a while; see `set_in`. Lines are shaped with kerning once per face and scaled from
there, since the outlines are not hinted.
"""

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from itertools import pairwise
from typing import Any, Final, get_args

import uharfbuzz

from riffract.picture.bidi import Run, visual_runs
from riffract.picture.line_breaks import breakable
from riffract.picture.marks import Align, Close, CurveTo, LineTo, MoveTo, Path, Weight, Words

UNITS: Final = 1000
"""Font units in one size."""

CAP_HEIGHT_SHARE: Final = 0.668
"""Height of capitals and figures, as a share of the size."""

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


PAUSE_GAIN, NUMBER_COST, SHORT_WORD_COST = 0.08, 0.2, 0.02
"""What the end of a line gains at a pause, and costs behind a number or a short word; a line a
third longer than the mean costs 0.1."""

SHORT_WORD: Final = 3


def wrap(text: str, size: float, weight: Weight, width: float) -> tuple[str, ...]:
    """Break text into lines of at most a width in px, at spaces; a longer word stands alone.

    Of the fewest lines the set is taken that is most even and ends where the text pauses.

    >>> wrap("three falls and one climb", 50.0, 600, 400.0)
    ('three falls', 'and one climb')
    >>> wrap("It is heard 12 times: a tone and a third.", 50.0, 600, 700.0)
    ('It is heard 12 times:', 'a tone and a third.')
    """
    return evened(text, size, weight, width, len(_filled(text, size, weight, width)))


def evened(text: str, size: float, weight: Weight, width: float, count: int) -> tuple[str, ...]:
    """Break text into so many lines, about equally long, that end where the text pauses.

    Definition: of all ways to break it into `count` lines that fit, the one with the least sum of
    (length / mean - 1) squared and of what each line's end costs: a pause is a gain, a number or
    a short word that belongs to what follows a loss.

    Args:
        text: to be broken.
        size: px.
        weight: of the letters.
        width: of the longest line allowed, px.
        count: how many lines.

    Returns:
        The lines; as many as are filled one after the other if there is no other way.

    Source: least total badness over all breaks, after Knuth & Plass, Breaking paragraphs into
    lines (1981); the costs of ends are ours.
    """
    pieces = breakable(text)
    mean = max(text_width(text, size, weight) / max(count, 1), 1.0)
    # For each number of pieces set so far: the least cost with as many lines, and where they end.
    best: dict[int, tuple[float, tuple[int, ...]]] = {0: (0.0, ())}
    for _ in range(count):
        longer: dict[int, tuple[float, tuple[int, ...]]] = {}
        for start, (cost, ends) in best.items():
            for end, length in _lines_from(pieces, start, size, weight, width):
                total = cost + (length / mean - 1.0) ** 2
                total += _end_cost(pieces[end - 1][1]) if end < len(pieces) else 0.0
                if end not in longer or total < longer[end][0]:
                    longer[end] = (total, (*ends, end))
        best = longer
    if len(pieces) not in best:
        return _filled(text, size, weight, width)
    ends = best[len(pieces)][1]
    return tuple(_joined(pieces[a:b]) for a, b in pairwise((0, *ends)))


def _lines_from(
    pieces: Sequence[tuple[str, str]], start: int, size: float, weight: Weight, width: float
) -> Iterator[tuple[int, float]]:
    """Give the ends and lengths of the lines that may start with a piece; one piece always may."""
    for end in range(start + 1, len(pieces) + 1):
        length = text_width(_joined(pieces[start:end]), size, weight)
        if length > width and end > start + 1:
            return
        yield end, length


def _joined(pieces: Sequence[tuple[str, str]]) -> str:
    return "".join(before + piece for before, piece in pieces)[len(pieces[0][0]) :]


def _end_cost(piece: str) -> float:
    if piece[-1] in ",;:.!?、。，；：！？":
        return -PAUSE_GAIN
    if piece.isdigit():
        return NUMBER_COST
    return SHORT_WORD_COST if piece.isascii() and len(piece) <= SHORT_WORD else 0.0


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
