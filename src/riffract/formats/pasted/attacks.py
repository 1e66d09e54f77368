"""Notes that start together, by the columns in which they stand."""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

from riffract.formats.pasted.bars import WrittenBar
from riffract.formats.pasted.signs import Stroke
from riffract.music import Technique
from riffract.music.notes import PLAIN

_MOST_SPREAD: Final = 2
"""Columns by which numbers of one chord may miss each other: `(5)` over `5` over `12`."""


@dataclass(slots=True)
class Attack:
    """What is struck at one moment of a bar.

    Attributes:
        column: columns behind the bar line.
        page_column: the column of the topmost row's line, for the rows above and below.
        left, right: how many columns its widest signs take before its column and from it on.
        digits: how many columns its widest fret number takes.
        strokes: its notes, one a row at most.
        techniques: what a row above or below adds to all of them.
        extents: numbers of the extents that cover it.
    """

    column: int
    page_column: int
    left: int
    right: int
    digits: int
    strokes: list[Stroke]
    techniques: Technique = PLAIN
    extents: tuple[int, ...] = ()


@dataclass(slots=True)
class Bar:
    """One written bar with its attacks.

    Attributes:
        system: which system it stands in, from 0.
        line: where its system begins in the file.
        width: in columns.
        attacks: from left to right.
        opens, closes, times: as in `WrittenBar`.
    """

    system: int
    line: int
    width: int
    attacks: list[Attack] = field(default_factory=list)
    opens: bool = False
    closes: bool = False
    times: int = 0


def bar_with_attacks(
    written: WrittenBar, strokes_by_row: Sequence[Sequence[Stroke]], *, system: int, line: int
) -> Bar:
    """Gather the strokes of one bar into attacks.

    Strokes in one column are one attack. So are strokes whose signs overlap, as where the numbers
    of a chord are set flush right: 9 under the second digit of 12.
    """
    placed = sorted(
        (
            (stroke.column - cell.start, row, stroke)
            for row, (cell, strokes) in enumerate(zip(written.cells, strokes_by_row, strict=True))
            for stroke in strokes
        ),
        key=lambda item: item[:2],
    )
    bar = Bar(
        system=system,
        line=line,
        width=max(cell.width for cell in written.cells),
        opens=written.opens,
        closes=written.closes,
        times=written.times,
    )
    for column, row, stroke in placed:
        last = bar.attacks[-1] if bar.attacks else None
        if last is not None and _belongs_to(last, column, row, stroke):
            last.strokes.append(stroke)
            last.digits = max(last.digits, _digits(stroke) + column - last.column)
            last.left = max(last.left, stroke.left - (column - last.column))
            last.right = max(last.right, stroke.right + column - last.column)
        else:
            bar.attacks.append(
                Attack(
                    column=column,
                    page_column=written.cells[0].start + column,
                    left=stroke.left,
                    right=stroke.right,
                    digits=_digits(stroke),
                    strokes=[stroke],
                )
            )
    return bar


def strokes_in_cells(
    strokes: Sequence[Stroke], written: Sequence[WrittenBar], row: int
) -> list[list[Stroke]]:
    """Divide the strokes of a row among the bars; one that stands in none is left out."""
    starts = [bar.cells[row].start for bar in written]
    cells: list[list[Stroke]] = [[] for _ in written]
    for stroke in strokes:
        index = bisect_right(starts, stroke.column) - 1
        if index >= 0 and stroke.column < written[index].cells[row].end:
            cells[index].append(stroke)
    return cells


def _belongs_to(attack: Attack, column: int, row: int, stroke: Stroke) -> bool:
    if any(other.row == row for other in attack.strokes):
        return False
    if column == attack.column:
        return True
    if column - attack.column > _MOST_SPREAD:
        return False
    core_end = attack.column + _core_width(attack.strokes[0])
    return column < core_end or column - stroke.left <= attack.column


def _core_width(stroke: Stroke) -> int:
    """Count the columns of the number itself, with a bracket behind it."""
    return min(_digits(stroke) + stroke.left, stroke.right)


def _digits(stroke: Stroke) -> int:
    return len(str(stroke.fret))
