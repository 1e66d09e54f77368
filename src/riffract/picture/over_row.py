"""Signs over a row of strings: which hand and which stroke, where to wait, how the time runs."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from itertools import groupby, pairwise
from types import MappingProxyType
from typing import Final

from riffract.analysis.saying import say
from riffract.music import Note, Passage, Span, Technique
from riffract.picture.marks import (
    Colour,
    CurveTo,
    Mark,
    MoveTo,
    Role,
    Shape,
    Stroke,
    Words,
    circle,
    polyline,
)
from riffract.picture.type import text_width

ROOM_SHARE: Final = 1.4
"""What a lane of signs takes above a row, over the size of a fret number."""

WORDS_ROOM_SHARE: Final = 1.3
"""What a lane of words takes above that, over the size of a label."""

BETWEEN_PX: Final = 5.0
_HEIGHT_SHARE, _WIDTH_SHARE, _FERMATA_WIDTH_SHARE = 0.6, 0.46, 0.9
_AIR_SHARE: Final = 0.22
_LINE_PX: Final = 2.4
_LEAST_LINE_PX: Final = 24.0


class Over(StrEnum):
    """What may stand over a note; the trade's signs."""

    DOWN = "down"
    UP = "up"
    TAP = "tap"
    FERMATA = "fermata"


_OF_TECHNIQUE: Final = (
    (Technique.DOWN_STROKE, Over.DOWN),
    (Technique.UP_STROKE, Over.UP),
    (Technique.TAP, Over.TAP),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class TimeWords:
    """A word on how the time runs.

    Attributes:
        text: the word.
        span: where it holds.
        has_goal: whether it leads to something, so that a line shows how far.
    """

    text: str
    span: Span
    has_goal: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class OverRow:
    """All that stands over the rows of a passage.

    Attributes:
        signs: by moment, in order of time; each moment's from left to right.
        words: by time.
    """

    signs: Mapping[Fraction, tuple[Over, ...]]
    words: tuple[TimeWords, ...]

    def room_px(self, fret_size: float, label_size: float) -> float:
        """Tell how much room it takes above each row, px; 0 if nothing does."""
        signs = ROOM_SHARE * fret_size if self.signs else 0.0
        return signs + (WORDS_ROOM_SHARE * label_size if self.words else 0.0)


def over_rows(passage: Passage) -> OverRow:
    """Gather what stands over the rows of a passage."""
    found: dict[Fraction, set[Over]] = {at: {Over.FERMATA} for at in passage.fermatas}
    for technique, sign in _OF_TECHNIQUE:
        for at in passage.notes.onset_ticks[passage.notes.has(technique)].tolist():
            found.setdefault(passage.notes.quarters(at), set()).add(sign)
    return OverRow(
        signs=MappingProxyType(
            {at: tuple(sign for sign in Over if sign in found[at]) for at in sorted(found)}
        ),
        words=tuple(sorted([*_ramps(passage), *_free_bars(passage)], key=lambda w: w.span)),
    )


def over_notes(notes: Iterable[Note]) -> dict[Fraction, tuple[Over, ...]]:
    """Gather what stands over some notes, by moment; fermatas are no matter of notes."""
    found: dict[Fraction, set[Over]] = {}
    for note in notes:
        for technique, sign in _OF_TECHNIQUE:
            if technique in note.techniques:
                found.setdefault(note.onset_quarters, set()).add(sign)
    return {at: tuple(sign for sign in Over if sign in found[at]) for at in sorted(found)}


def width_over(signs: Sequence[Over], size: float) -> float:
    """Tell how much room the signs of one moment take, px."""
    return sum(_width(sign, size) for sign in signs) + BETWEEN_PX * max(len(signs) - 1, 0)


def signs_over(signs: Sequence[Over], x: float, bottom: float, size: float) -> Iterator[Shape]:
    """Draw the signs of one moment side by side, from `x`, on a line."""
    for sign in signs:
        yield from sign_marks(sign, x, bottom, size)
        x += _width(sign, size) + BETWEEN_PX


def sign_marks(sign: Over, x: float, bottom: float, size: float) -> tuple[Shape, ...]:
    """Draw one sign on a line: ⊓, V, T, or a bow over a point."""
    width, top = _width(sign, size), bottom - _HEIGHT_SHARE * size
    middle = x + width / 2
    line = Stroke(colour=Colour(Role.TEXT), width=_LINE_PX)
    match sign:
        case Over.DOWN:
            sides = polyline([(x, bottom), (x, top), (x + width, top), (x + width, bottom)])
            thick = Stroke(colour=Colour(Role.TEXT), width=2.0 * _LINE_PX)
            roof = polyline([(x, top + _LINE_PX), (x + width, top + _LINE_PX)])
            return (Shape(path=sides, stroke=line), Shape(path=roof, stroke=thick))
        case Over.UP:
            wedge = polyline([(x, top), (middle, bottom), (x + width, top)])
            return (Shape(path=wedge, stroke=line),)
        case Over.TAP:
            roof = polyline([(x, top + 1.0), (x + width, top + 1.0)])
            stem = polyline([(middle, top), (middle, bottom)])
            return (Shape(path=(*roof, *stem), stroke=line),)
        case Over.FERMATA:
            third = width * 0.18
            bow = (
                MoveTo(x, bottom),
                CurveTo(x, top - third, x + width, top - third, x + width, bottom),
            )
            point = circle(middle, bottom - 0.1 * size, 0.08 * size)
            return (
                Shape(path=bow, stroke=line),
                Shape(path=point, fill=Colour(Role.TEXT)),
            )


def over_marks(
    over: OverRow,
    span: Span,
    *,
    left: float,
    px_per_quarter: float,
    bottom: float,
    fret_size: float,
    label_size: float,
) -> tuple[Mark, ...]:
    """Draw what stands over one row.

    Args:
        over: of the whole passage.
        span: the row's stretch.
        left: where it starts, px.
        px_per_quarter: its scale.
        bottom: the lowest that signs may reach.
        fret_size: of the row's numbers, px.
        label_size: of words, px.
    """

    def x_of(quarters: Fraction) -> float:
        return left + float(quarters - span.start_quarters) * px_per_quarter

    bottom -= _AIR_SHARE * fret_size
    marks: list[Mark] = []
    for at, signs in over.signs.items():
        if span.holds(at):
            marks += signs_over(signs, x_of(at), bottom, fret_size)
    y = bottom - ((_HEIGHT_SHARE + _AIR_SHARE) * fret_size if over.signs else 0.0)
    words_end = left
    for words in over.words:
        if not words.span.overlap_quarters(span):
            continue
        start = max(x_of(max(words.span.start_quarters, span.start_quarters)), words_end)
        end = x_of(min(words.span.end_quarters, span.end_quarters))
        is_named = span.holds(words.span.start_quarters)
        if is_named:
            marks.append(_words(words.text, start, y, label_size))
            start += text_width(words.text, label_size, 500) + 10.0
            words_end = start
        if words.has_goal and end - start > _LEAST_LINE_PX:
            line = polyline([(start, y - 0.2 * label_size), (end - 4.0, y - 0.2 * label_size)])
            stroke = Stroke(colour=Colour(Role.QUIET), width=1.8, dash=(8.0, 6.0))
            marks.append(Shape(path=line, stroke=stroke))
            words_end = end
    return tuple(marks)


def least_px_for_signs(over: OverRow, fret_size: float) -> float:
    """Tell the smallest scale, px a quarter, at which no signs run into the next ones."""
    moments = list(over.signs.items())
    return max(
        (
            (width_over(signs, fret_size) + BETWEEN_PX) / float(following - at)
            for (at, signs), (following, _) in pairwise(moments)
        ),
        default=0.0,
    )


def _width(sign: Over, size: float) -> float:
    return size * (_FERMATA_WIDTH_SHARE if sign is Over.FERMATA else _WIDTH_SHARE)


def _words(text: str, x: float, y: float, size: float) -> Words:
    return Words(x=x, y=y, text=text, size=size, weight=500, colour=Colour(Role.QUIET))


def _ramps(passage: Passage) -> Iterator[TimeWords]:
    tempos = passage.tempos
    for mark, following in pairwise(tempos):
        rise = following.quarters_per_minute - mark.quarters_per_minute
        if mark.is_ramp and rise:
            yield TimeWords(
                text=say("faster") if rise > 0 else say("slower"),
                span=Span(mark.at_quarters, following.at_quarters),
                has_goal=True,
            )


def _free_bars(passage: Passage) -> Iterator[TimeWords]:
    for is_free, run in groupby(passage.bars, key=lambda bar: bar.is_free):
        if is_free:
            bars = list(run)
            span = Span(bars[0].start_quarters, bars[-1].span.end_quarters)
            yield TimeWords(text=say("free time"), span=span, has_goal=False)
