"""The plan of the metre scene: a row for each bar, all on one time axis, and the passes in them."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import partial
from itertools import groupby, pairwise
from typing import Final

from riffract.analysis.finding import Pass, Passes
from riffract.analysis.saying import in_digits, say
from riffract.analysis.wording import listed
from riffract.music import Bar, Passage, Span
from riffract.music.passage import beat_text
from riffract.picture.bounds import Box
from riffract.picture.type import text_width

LEAST_ROW_PX, TALLEST_ROW_PX = 40.0, 132.0
"""A row must hold a line of words beside it."""

TIGHT_SHARE: Final = 1.12
"""Of the words' size: rows as close as this are better than one bar that is left out."""

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
        words: on which beats passes start in its row, with the first of them; else empty. Where
            all bars are alike only the first one has words.
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
        leads: pairs of starts, by their places in `starts`, that a line leads from and to.
        bands: for every second pass its parts, as (row, from px, to px).
        words_x: where the words on the right start, px.
        left_out: how many bars are not shown.
    """

    rows: tuple[BarRow, ...]
    starts: tuple[PassStart, ...]
    leads: tuple[tuple[int, int], ...]
    bands: tuple[tuple[int, float, float], ...]
    words_x: float
    left_out: int

    @property
    def slips(self) -> bool:
        """Whether passes start at different places from bar to bar."""
        return sum(bool(start.words) for start in self.starts) > 1

    def row_at(self, quarters: Fraction) -> BarRow | None:
        """Give the row that holds a moment of the score; `None` if none does."""
        return next((row for row in self.rows if row.bar.span.holds(quarters)), None)


def metre_plan(
    passage: Passage,
    passes: Passes | None,
    room: Box,
    *,
    label_px: float,
    beside: Sequence[str] = (),
) -> MetrePlan:
    """Lay bars out under one another, as many as there is room for.

    Args:
        passage: whose bars.
        passes: the riff's passes; `None` if it does not come back.
        room: for the rows.
        label_px: the size of words beside the rows.
        beside: further words that must find room there.
    """
    most = max(int(room.height // max(LEAST_ROW_PX, 1.3 * label_px)), 1)
    if len(passage.bars) * TIGHT_SHARE * label_px <= room.height:
        most = len(passage.bars)
    bars = passage.bars[: min(most, len(passage.bars))]
    height = min(room.height / len(bars), TALLEST_ROW_PX)
    top = room.top + (room.height - height * len(bars)) / 2.0
    played = () if passes is None else passes.readings[0].passes
    words = _start_words(passage, bars, played)
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
    starts = tuple(_starts(rows, words, played))
    return MetrePlan(
        rows=rows,
        starts=starts,
        leads=_leads(starts),
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


def _leads(starts: Sequence[PassStart]) -> tuple[tuple[int, int], ...]:
    """Choose what the eye follows down the rows: from each start to one in the next row that has
    any, wherever it lies as far on as most starts lie from their nearest.

    So a riff of 5 against bars of 8, which starts twice in most of them, slips by 2 a bar.
    """
    by_row = [list(group) for _, group in groupby(range(len(starts)), lambda i: starts[i].row)]
    near = [
        (min(upper, key=partial(_apart, starts, below)), below)
        for upper, lower in pairwise(by_row)
        for below in lower
    ]
    slips = Counter(round(starts[b].x - starts[a].x) for a, b in near)
    if not slips:
        return ()
    ((usual, _),) = slips.most_common(1)
    return tuple((a, b) for a, b in near if round(starts[b].x - starts[a].x) == usual)


def _apart(starts: Sequence[PassStart], one: int, other: int) -> float:
    return abs(starts[one].x - starts[other].x)


def _start_words(passage: Passage, bars: Sequence[Bar], played: Sequence[Pass]) -> dict[int, str]:
    """Say for the first pass that starts in a bar on which beats passes start there.

    Where all bars are alike only the first one is told.
    """
    words: dict[int, str] = {}
    numbered = list(enumerate((one.span.start_quarters for one in played), start=1))
    for bar in bars:
        own = [(number, at) for number, at in numbered if bar.span.holds(at)]
        beats = [in_digits(beat_text(passage.place(at).beat)) for _, at in own]
        if own:
            words[own[0][0]] = say("on {beats}", beats=listed(beats))
    return words if len(set(words.values())) > 1 else dict(list(words.items())[:1])


def _bands(rows: Sequence[BarRow], span: Span) -> list[tuple[int, float, float]]:
    """Cut a stretch at the bar lines; give its parts as (row, from px, to px)."""
    bands = []
    for index, row in enumerate(rows):
        first = max(span.start_quarters, row.bar.start_quarters)
        last = min(span.end_quarters, row.bar.span.end_quarters)
        if first < last:
            bands.append((index, row.x(first), row.x(last)))
    return bands
