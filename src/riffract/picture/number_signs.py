"""Signs beside a fret number: how its note is reached, bent, trilled, picked again and left.

They stand on the note's own string, one after the other, so that no sign can be taken for one of
another string. Each tells its width, so that a row can be made wide enough for all.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from riffract.music import Note, Technique
from riffract.picture.marks import CurveTo, Mark, MoveTo, Role, Shape, Stroke, Words, polyline
from riffract.picture.string_mark import NUMBER_HALO_PX, Light
from riffract.picture.type import CAP_HEIGHT_SHARE, text_width

SMALL_SHARE, LEAST_SMALLER_PX = 0.8, 2.0
SMALLEST_PX, SMALLEST_TALL_PX = 28.0, 30.0
"""Small numbers and letters: their size over that of a fret number, but no smaller than what can be
read on either page."""

BEFORE_SIGNS_PX: Final = 3.0
BETWEEN_SIGNS_PX: Final = 4.0
WHOLE_TONE_CENTS, STEP_CENTS = 200, 50
_FRACTIONS: Final = ("", "¼", "½", "¾")

_LINE_PX: Final = 2.2
_TIP_SHARE: Final = 0.17
_BEND_SHARE, _PRE_BEND_SHARE = 0.55, 0.4
_TREMOLO_SHARE: Final = 0.5
_LEAVING_SHARE: Final = 0.75
_MOST_SLASHES: Final = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Sign:
    """One sign.

    Attributes:
        width: what it takes on its string, px.
        draw: makes its marks, from its left end, the height of its string, and the light.
    """

    width: float
    draw: Callable[[float, float, Light], tuple[Mark, ...]]


def signs_behind(note: Note, size: float, rise: float) -> tuple[Sign, ...]:
    """Give the signs behind a note's number, in order.

    Args:
        note: which.
        size: of the fret numbers, px.
        rise: how far a bend may reach above its string, px.
    """
    return tuple(_signs(note, size, rise))


def width_behind(note: Note, size: float) -> float:
    """Tell how much room the signs behind a note's number take, px; 0 without any."""
    widths = [sign.width for sign in signs_behind(note, size, size)]
    if not widths:
        return 0.0
    return BEFORE_SIGNS_PX + sum(widths) + BETWEEN_SIGNS_PX * (len(widths) - 1)


def small_size(size: float) -> float:
    """Give the size of small numbers and letters, px."""
    return max(SMALL_SHARE * size, SMALLEST_PX, min(size - LEAST_SMALLER_PX, SMALLEST_TALL_PX))


def small_words(x: float, y: float, text: str, size: float, light: Light) -> Words:
    """Write a small number or letter, its middle at the height `y`."""
    small = small_size(size)
    return Words(
        x=x,
        y=y + small * CAP_HEIGHT_SHARE / 2,
        text=text,
        size=small,
        weight=400,
        colour=light.number_colour(Role.TEXT),
        halo=NUMBER_HALO_PX,
    )


def amount_text(cents: int) -> str:
    """Write how far a string is bent, in whole tones as guitarists do, to the quarter tone.

    >>> amount_text(200), amount_text(50), amount_text(300), amount_text(-100)
    ('1', '¼', '1½', '−½')
    >>> amount_text(30)
    '30 c'
    """
    if cents % STEP_CENTS:
        return f"{cents} c".replace("-", "−")
    whole, rest = divmod(abs(cents), WHOLE_TONE_CENTS)
    sign = "−" if cents < 0 else ""
    return f"{sign}{whole or ''}{_FRACTIONS[rest // STEP_CENTS]}" if cents else "0"


def arrival_marks(x: float, y: float, size: float, light: Light, *, is_from_below: bool) -> Shape:
    """Draw a slide out of nowhere into the number that starts after `x`: a curved slash."""
    half = size * 0.3 if is_from_below else -size * 0.3
    start = x - size * 0.62
    path = (
        MoveTo(start, y + half),
        CurveTo(start + size * 0.36, y + half, x + 1.0, y + half * 0.2, x + 1.0, y - half),
    )
    return Shape(path=path, stroke=_stroke(light, 2.6))


def _signs(note: Note, size: float, rise: float) -> Iterator[Sign]:
    how = note.techniques
    if how & Technique.ARTIFICIAL_HARMONIC and note.other_fret is not None:
        yield _small(str(note.other_fret), size, raised=0.22 * size)
    if how & Technique.PINCH_HARMONIC:
        yield _small("P", size)
    if note.bend:
        yield from _bend(note.bend, size, rise)
    if note.tremolo_marks:
        yield _tremolo(min(note.tremolo_marks, _MOST_SLASHES), size)
    if how & Technique.TRILL:
        yield _small("tr", size)
        if note.other_fret is not None:
            yield _small(str(note.other_fret), size)
    if how & (Technique.DOIT | Technique.FALLOFF):
        yield _leaving(size, is_upward=Technique.DOIT in how)


def _small(text: str, size: float, *, raised: float = 0.0) -> Sign:
    return Sign(
        width=text_width(text, small_size(size), 400),
        draw=lambda x, y, light: (small_words(x, y - raised, text, size, light),),
    )


def _bend(way: tuple[int, ...], size: float, rise: float) -> Iterator[Sign]:
    """Draw each step of a bend as an arrow, and behind it where it leads, unless back to the fret.

    What is bent before it sounds goes straight up.
    """
    most = max(abs(cents) for cents in way) or 1
    heights = [rise * cents / most for cents in way]
    if way[0]:
        yield _upright_arrow(heights[0], size)
        yield _small(amount_text(way[0]), size)
    for (start, end), cents in zip(pairwise(heights), way[1:], strict=True):
        yield _curved_arrow(start, end, size)
        if cents:
            yield _small(amount_text(cents), size)


def _upright_arrow(height: float, size: float) -> Sign:
    tip = _TIP_SHARE * size

    def draw(x: float, y: float, light: Light) -> tuple[Mark, ...]:
        middle, foot = x + tip, y + 0.3 * size
        stem = polyline([(middle, foot), (middle, y - height)])
        return (
            Shape(path=stem, stroke=_stroke(light)),
            _head(middle, y - height, tip, light, height),
        )

    return Sign(width=max(2.0 * tip, _PRE_BEND_SHARE * size), draw=draw)


def _curved_arrow(start: float, end: float, size: float) -> Sign:
    """An arrow that leaves level and arrives upright, between two heights above the string."""
    width, tip = _BEND_SHARE * size, _TIP_SHARE * size

    def draw(x: float, y: float, light: Light) -> tuple[Mark, ...]:
        goal_x = x + width - tip
        path = (
            MoveTo(x, y - start),
            CurveTo(
                x + 0.7 * (goal_x - x), y - start,
                goal_x, y - start - 0.3 * (end - start),
                goal_x, y - end,
            ),
        )  # fmt: skip
        curve = Shape(path=path, stroke=_stroke(light))
        return (curve, _head(goal_x, y - end, tip, light, end - start))

    return Sign(width=width, draw=draw)


def _head(x: float, y: float, tip: float, light: Light, rising: float) -> Shape:
    back = tip if rising >= 0.0 else -tip
    path = polyline([(x - tip, y + back), (x, y), (x + tip, y + back)])
    return Shape(path=path, stroke=_stroke(light))


def _tremolo(marks: int, size: float) -> Sign:
    """A stem with slashes through it."""
    width, height = _TREMOLO_SHARE * size, 0.4 * size

    def draw(x: float, y: float, light: Light) -> tuple[Mark, ...]:
        middle = x + width / 2
        stem = polyline([(middle, y - height), (middle, y + height)])
        gap = 0.2 * size
        first = y - gap * (marks - 1) / 2
        slashes = tuple(
            step
            for k in range(marks)
            for step in polyline(
                [(x, first + k * gap + 0.12 * size), (x + width, first + k * gap - 0.12 * size)]
            )
        )
        return (
            Shape(path=stem, stroke=_stroke(light, 1.6)),
            Shape(path=slashes, stroke=_stroke(light, 0.1 * size)),
        )

    return Sign(width=width, draw=draw)


def _leaving(size: float, *, is_upward: bool) -> Sign:
    """A slide to nowhere: a line that leaves its string."""
    width = _LEAVING_SHARE * size
    reach = 0.42 * size if is_upward else -0.42 * size

    def draw(x: float, y: float, light: Light) -> tuple[Mark, ...]:
        path = (
            MoveTo(x, y),
            CurveTo(x + 0.5 * width, y, x + 0.85 * width, y - 0.4 * reach, x + width, y - reach),
        )
        return (Shape(path=path, stroke=_stroke(light, 2.6)),)

    return Sign(width=width, draw=draw)


def _stroke(light: Light, width: float = _LINE_PX) -> Stroke:
    return Stroke(colour=light.number_colour(Role.TEXT), width=width, cap="round")
