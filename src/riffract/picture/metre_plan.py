"""The plan of the metre scene: a row for each bar, all on one time axis, and the passes in them."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from riffract.analysis.finding import MetreAnswer, Pass, Passes
from riffract.analysis.saying import say
from riffract.analysis.wording import NoteValue, note_value_for, quarters_text
from riffract.music import Bar, Metre, Passage, Span
from riffract.picture.bounds import Box
from riffract.picture.type import text_width

LEAST_ROW_PX, TALLEST_ROW_PX = 46.0, 92.0
"""A row must hold a line of words beside it."""

NUMBER_PX: Final = 84.0
"""On the left, for the numbers of bars."""

WORDS_AIR_PX: Final = 24.0
"""Between the rows and the words on the right."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BarRow:
    """One bar as a row.

    Attributes:
        bar: which.
        left: where it starts, px.
        top, bottom: of the row, px.
        px_per_quarter: the scale, the same for all rows.
    """

    bar: Bar
    left: float
    top: float
    bottom: float
    px_per_quarter: float

    @property
    def middle(self) -> float:
        """The line that strokes stand on, px."""
        return (self.top + self.bottom) / 2

    @property
    def right(self) -> float:
        """Where the bar ends, px."""
        return self.x(self.bar.span.end_quarters)

    def x(self, quarters: Fraction) -> float:
        """Tell where a moment of the score lies in the row."""
        return self.left + float(quarters - self.bar.start_quarters) * self.px_per_quarter


@dataclass(frozen=True, slots=True, kw_only=True)
class PassStart:
    """Where a pass starts, among the rows.

    Attributes:
        number: which pass, from 1.
        row: index of its row.
        x: px.
        words: how it stands to the bar line; empty if all passes start alike.
    """

    number: int
    row: int
    x: float
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MetrePlan:
    """What stands where.

    Attributes:
        rows: the bars shown, from the top.
        starts: of the passes shown.
        bands: for every second pass its parts, as (row, from px, to px).
        words_x: where the words on the right start, px.
        left_out: how many bars are not shown.
    """

    rows: tuple[BarRow, ...]
    starts: tuple[PassStart, ...]
    bands: tuple[tuple[int, float, float], ...]
    words_x: float
    left_out: int

    @property
    def slips(self) -> bool:
        """Whether passes start at different places of the bar."""
        return len({start.words for start in self.starts}) > 1

    def row_at(self, quarters: Fraction) -> BarRow | None:
        """Give the row that holds a moment of the score; `None` if none does."""
        return next((row for row in self.rows if row.bar.span.holds(quarters)), None)


def metre_plan(
    passage: Passage,
    answer: MetreAnswer,
    passes: Passes | None,
    room: Box,
    *,
    label_px: float,
    beside: Sequence[str] = (),
) -> MetrePlan:
    """Lay bars out under one another, as many as there is room for.

    Args:
        passage: whose bars.
        answer: how the riff sits in them.
        passes: the riff's passes; `None` if it does not come back.
        room: for the rows.
        label_px: the size of words beside the rows.
        beside: further words that must find room there.
    """
    most = max(int(room.height // max(LEAST_ROW_PX, 1.3 * label_px)), 1)
    bars = passage.bars[: min(most, len(passage.bars))]
    height = min(room.height / len(bars), TALLEST_ROW_PX)
    top = room.top + (room.height - height * len(bars)) / 2.0
    played = () if passes is None else passes.readings[0].passes
    words = _offset_words(answer, bars[0].metre)
    widest = max(
        (text_width(text, label_px, 500) for text in (*words.values(), *beside)), default=0.0
    )
    left, right = room.left + NUMBER_PX, room.right - widest - WORDS_AIR_PX
    scale = (right - left) / float(max(bar.span.length_quarters for bar in bars))
    rows = tuple(
        BarRow(
            bar=bar,
            left=left,
            top=top + number * height,
            bottom=top + (number + 1) * height,
            px_per_quarter=scale,
        )
        for number, bar in enumerate(bars)
    )
    return MetrePlan(
        rows=rows,
        starts=tuple(_starts(rows, words, played)),
        bands=tuple(band for one in played[::2] for band in _bands(rows, one.span)),
        words_x=right + WORDS_AIR_PX,
        left_out=len(passage.bars) - len(bars),
    )


def _starts(
    rows: Sequence[BarRow], words: Mapping[int, str], played: Sequence[Pass]
) -> Iterator[PassStart]:
    for number, one in enumerate(played, start=1):
        at = one.span.start_quarters
        for index, row in enumerate(rows):
            if row.bar.span.holds(at):
                yield PassStart(number=number, row=index, x=row.x(at), words=words.get(number, ""))


def _offset_words(answer: MetreAnswer, metre: Metre) -> dict[int, str]:
    """Say how late in its bar each pass starts, all in one note value; empty if all start alike."""
    offsets = {row.pass_number: row.offset_quarters for row in answer.phase}
    if len(set(offsets.values())) < 2:
        return {}
    value = note_value_for(offsets.values(), metre)
    return {
        number: f"{number}: " + (_late(offset, value) if offset else say("on the bar line"))
        for number, offset in offsets.items()
    }


def _late(offset: Fraction, value: NoteValue | None) -> str:
    length = quarters_text(offset) if value is None else value.counted_in(offset)
    return say("{length} late", length=length)


def _bands(rows: Sequence[BarRow], span: Span) -> list[tuple[int, float, float]]:
    """Cut a stretch at the bar lines; give its parts as (row, from px, to px)."""
    bands = []
    for index, row in enumerate(rows):
        first = max(span.start_quarters, row.bar.start_quarters)
        last = min(span.end_quarters, row.bar.span.end_quarters)
        if first < last:
            bands.append((index, row.x(first), row.x(last)))
    return bands
