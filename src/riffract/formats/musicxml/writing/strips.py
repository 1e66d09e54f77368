"""Notes cut into what lies in each bar."""

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Sequence
from fractions import Fraction
from math import lcm
from typing import NamedTuple

from riffract.formats.musicxml.writing.bar_edges import bar_edges
from riffract.music import Passage


class Strip(NamedTuple):
    """What of a note lies between two cuts: bar lines, or moments that need a sign of their own.

    Attributes:
        row: the note's row in the table.
        start_ticks, end_ticks: counted from the start of the bar.
        is_start, is_end: whether the note starts, or ends, with it.
    """

    row: int
    start_ticks: int
    end_ticks: int
    is_start: bool
    is_end: bool


class BarStrips(NamedTuple):
    """A bar cut up.

    Attributes:
        length_ticks: how long it is.
        strips: what sounds in it, by start, then as in the table.
        silent_cuts: moments in it that need a sign although no note sounds, in order.
    """

    length_ticks: int
    strips: tuple[Strip, ...]
    silent_cuts: tuple[int, ...]


def divisions_of(passage: Passage) -> int:
    """Give the fewest divisions of a quarter that make every time in a passage whole.

    Values are cut where groups begin, so these times count, too.
    """
    moments: list[Fraction] = [*passage.fermatas]
    moments += [grace.at_quarters for grace in passage.graces]
    moments += [mark.at_quarters for mark in passage.tempos]
    for bar in passage.bars:
        moments += [bar.start_quarters, *bar_edges(bar).groups]
    for section in passage.sections:
        moments += [section.span.start_quarters, section.span.end_quarters]
    return lcm(passage.notes.ticks_per_quarter, *{moment.denominator for moment in moments})


def bar_strips(passage: Passage, divisions: int) -> list[BarStrips]:
    """Cut the notes of a passage at the bar lines, and where a fermata or grace needs it.

    Args:
        passage: bars as they are to be written.
        divisions: ticks of a quarter, fine enough for every time.
    """
    bar_ends = [int(bar.span.end_quarters * divisions) for bar in passage.bars]
    cuts = _cuts(passage, divisions)
    in_bar: dict[int, list[Strip]] = defaultdict(list)
    table = passage.notes
    finer = divisions // table.ticks_per_quarter
    onsets = [int(ticks) * finer for ticks in table.onset_ticks]
    ends = [
        onset + int(ticks) * finer
        for onset, ticks in zip(onsets, table.duration_ticks, strict=True)
    ]
    edges = sorted({*bar_ends, *cuts})
    for row, (onset, end) in enumerate(zip(onsets, ends, strict=True)):
        for start, stop in _between(onset, end, edges):
            bar = bisect_right(bar_ends, start)
            bar_start = bar_ends[bar - 1] if bar else 0
            strip = Strip(row, start - bar_start, stop - bar_start, start == onset, stop == end)
            in_bar[bar].append(strip)
    return _gathered(bar_ends, in_bar, cuts)


def _cuts(passage: Passage, divisions: int) -> list[int]:
    moments = {*passage.fermatas, *(grace.at_quarters for grace in passage.graces)}
    return sorted(int(moment * divisions) for moment in moments)


def _between(start: int, end: int, edges: Sequence[int]) -> Iterable[tuple[int, int]]:
    """Cut a stretch at the edges that lie within it."""
    index = bisect_right(edges, start)
    while index < len(edges) and edges[index] < end:
        yield start, edges[index]
        start = edges[index]
        index += 1
    yield start, end


def _gathered(
    bar_ends: Sequence[int], in_bar: dict[int, list[Strip]], cuts: Sequence[int]
) -> list[BarStrips]:
    gathered = []
    start = 0
    for bar, end in enumerate(bar_ends):
        strips = sorted(in_bar.get(bar, ()), key=lambda strip: strip.start_ticks)
        begun = {strip.start_ticks for strip in strips}
        own = cuts[bisect_right(cuts, start - 1) : bisect_right(cuts, end - 1)]
        silent = tuple(cut - start for cut in own if cut - start not in begun)
        gathered.append(BarStrips(end - start, tuple(strips), silent))
        start = end
    return gathered
