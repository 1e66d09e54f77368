"""Lines of entries at the foot of a picture: how a legend is broken, and where it stands."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import accumulate, zip_longest

from riffract.analysis.saying import say
from riffract.picture.layout import Layout, label
from riffract.picture.marks import Mark
from riffract.picture.type import text_width

_AIR_PX, _BETWEEN_PX = 14.0, 36.0
_MOST_LINES, _MOST_LINES_TALL = 3, 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One thing that a legend explains.

    Attributes:
        width: of the sample, px; 0 for words alone.
        draw: makes the sample, from its left end and a baseline.
        words: what it means.
        is_said: whether the words are in the essay's language already, places filled.
    """

    width: float
    draw: Callable[[float, float], tuple[Mark, ...]]
    words: str
    is_said: bool = False

    @property
    def text(self) -> str:
        """The words in the essay's language."""
        return self.words if self.is_said else say(self.words)


def written(layout: Layout, lines: Sequence[Sequence[Entry]]) -> tuple[Mark, ...]:
    """Draw lines of entries at the foot of the picture, in columns if these find room."""
    marks: list[Mark] = []
    columns = _columns(layout, lines)
    for entries, y in zip(lines, layout.note_baselines(len(lines)), strict=True):
        x = layout.left
        for entry, column in zip(
            entries, columns or map(partial(_cell, layout), entries), strict=False
        ):
            marks += entry.draw(x, y)
            words_px = column.words_px if entry.width else 0.0
            marks.append(label(layout, x + words_px, y, entry.text))
            x += column.width + _BETWEEN_PX
    return tuple(marks)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Cell:
    """The room of an entry, or of a column of them, px.

    Attributes:
        words_px: how far behind its start the words start.
        width: of all of it.
    """

    words_px: float
    width: float


def _cell(layout: Layout, entry: Entry) -> _Cell:
    return _Cell(words_px=_words_px(entry), width=_width(layout, entry))


def _columns(layout: Layout, lines: Sequence[Sequence[Entry]]) -> tuple[_Cell, ...]:
    """Give the columns that lines of entries stand in; none if they are wider than the page."""
    columns = []
    for stacked in zip_longest(*lines):
        cells = [_cell(layout, entry) for entry in stacked if entry is not None]
        words_px = max(cell.words_px for cell in cells)
        words = max(cell.width - cell.words_px for cell in cells)
        columns.append(_Cell(words_px=words_px, width=words_px + words))
    width = sum(column.width + _BETWEEN_PX for column in columns) - _BETWEEN_PX
    return tuple(columns) if width <= layout.right - layout.left else ()


def broken(layout: Layout, entries: Iterable[Entry]) -> tuple[tuple[Entry, ...], ...]:
    """Break entries into lines as wide as the page; what finds no room in them is left out.

    Lines hold about as many entries each, so that none stands in a line of its own.
    """
    lines: list[list[Entry]] = []
    x = layout.right
    for entry in entries:
        width = _width(layout, entry)
        if x + width > layout.right:
            lines.append([])
            x = layout.left
        lines[-1].append(entry)
        x += width + _BETWEEN_PX
    most = _MOST_LINES_TALL if layout.page.is_tall else _MOST_LINES
    return tuple(map(tuple, _evened(layout, lines)[:most]))


def _evened(layout: Layout, lines: list[list[Entry]]) -> list[list[Entry]]:
    """Share entries out evenly among as many lines, if they are then no wider than the page."""
    entries = [entry for line in lines for entry in line]
    if not entries:
        return lines
    each, longer = divmod(len(entries), len(lines))
    shares = [each + (1 if i < longer else 0) for i in range(len(lines))]
    ends = list(accumulate(shares))
    even = [entries[end - share : end] for share, end in zip(shares, ends, strict=True)]
    widths = (sum(_width(layout, e) + _BETWEEN_PX for e in line) - _BETWEEN_PX for line in even)
    return even if max(widths) <= layout.right - layout.left else lines


def _width(layout: Layout, entry: Entry) -> float:
    return _words_px(entry) + text_width(entry.text, layout.sizes.label, 500)


def _words_px(entry: Entry) -> float:
    """Tell how far behind the start of its sample an entry's words start."""
    return entry.width + _AIR_PX if entry.width else 0.0
