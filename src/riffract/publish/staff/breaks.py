"""Where lines of music break: evenly, so that no bar is left alone on the last one."""

from collections.abc import Sequence
from itertools import accumulate
from math import inf
from typing import Final

from lxml import etree

MOST_BARS: Final = 24
"""On one line: more than fit a page of paper, whatever they hold."""


def even_breaks(widths: Sequence[float], room: float) -> tuple[int, ...]:
    """Break bars into as few lines as they need, as evenly filled as can be.

    Definition: of the ways with the fewest lines, none wider than its room, the one with the least
    sum of squares of what stays empty. A bar that is wider than a line has one of its own.

    Args:
        widths: of the bars, in any unit.
        room: of a line, in the same unit.

    Returns:
        The place of the first bar of each line, in order; empty if there are no bars.

    Source: total fit of lines, Knuth and Plass, Breaking paragraphs into lines (1981).

    >>> even_breaks([1, 1, 1, 1, 1, 1], 5)
    (0, 3)
    """
    ends = [0.0, *accumulate(widths)]
    best: list[tuple[float, float, int]] = [(0, 0.0, 0)]
    for end in range(1, len(ends)):
        ways = [
            (best[start][0] + 1, best[start][1] + _emptiness(ends[end] - ends[start], room), start)
            for start in range(max(end - MOST_BARS, 0), end)
            if ends[end] - ends[start] <= room or start == end - 1
        ]
        best.append(min(ways, default=(inf, inf, 0)))
    return _starts(best)


def _emptiness(width: float, room: float) -> float:
    return max(room - width, 0.0) ** 2


def _starts(best: Sequence[tuple[float, float, int]]) -> tuple[int, ...]:
    """Walk back from the end."""
    starts: list[int] = []
    place = len(best) - 1
    while place > 0:
        place = best[place][2]
        starts.append(place)
    return tuple(reversed(starts))


def with_breaks(xml: bytes, starts: Sequence[int]) -> bytes:
    """Let each line of a MusicXML file start at given bars.

    A page is one line, so lines are pages.
    """
    root = etree.fromstring(xml)
    measures = root.findall("part/measure")
    for start in starts[1:]:
        measures[start].insert(0, etree.Element("print", {"new-page": "yes"}))
    return etree.tostring(root, encoding="UTF-8", xml_declaration=True)
