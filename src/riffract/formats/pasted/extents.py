"""Rows for palm mute and let ring, as they are drawn above or below the strings."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from riffract.formats.pasted.cleaning import Line
from riffract.formats.pasted.report import Place
from riffract.music import Technique

_PALM_MUTE = r"p\.?\s?m\.?(?![a-z])|palm[\s-]?mut(?:e|ed|ing)(?![a-z])"
_LET_RING = r"let\s?ring(?![a-z])|l\.\s?r\.|ring(?![a-z])"
_WORD = re.compile(rf"(?<![A-Za-z])(?:(?P<mute>{_PALM_MUTE})|(?P<ring>{_LET_RING}))", re.IGNORECASE)
_NOTHING_ELSE = re.compile(r"[-.=_|>*\s:/\\]*")
_DASH = re.compile(r"[-.=_]+")
_REACH: Final = 2
"""How many columns beside a sign without dashes its note may start."""
_WIDEST_GAP: Final = 3
"""Columns between the dashes of one run, as in `- - -` or `_  _`; behind more a new run begins."""


@dataclass(slots=True)
class Extent:
    """A stretch of columns, from 0, both ends included.

    Attributes:
        technique: what holds there.
        start, end: columns of the line.
        is_drawn: whether dashes show how far it goes; if not, it is meant for one attack.
        place: in the file.
        is_used: whether it covers an attack.
    """

    technique: Technique
    start: int
    end: int
    is_drawn: bool
    place: Place
    is_used: bool = False

    def covers(self, column: int) -> bool:
        """Say whether it holds for an attack at a column of the same page."""
        if self.is_drawn:
            return self.start <= column <= self.end
        return not self.is_used and self.start - 1 <= column <= self.end + _REACH


def read_extents(line: Line) -> list[Extent]:
    """Read a row of extents; empty if the line is none. A wide gap ends a run.

    >>> [(e.technique.name, e.start, e.end) for e in read_extents(Line(1, "  PM-----|   PM"))]
    [('PALM_MUTE', 2, 9), ('PALM_MUTE', 13, 14)]
    >>> [(e.start, e.end) for e in read_extents(Line(1, "PM - - - -       ----"))]
    [(0, 9), (17, 20)]
    """
    words = list(_WORD.finditer(line.text))
    if not words or not _NOTHING_ELSE.fullmatch(_WORD.sub("", line.text)):
        return []
    bounds = [*(word.start() for word in words[1:]), len(line.text)]
    extents: list[Extent] = []
    for word, bound in zip(words, bounds, strict=True):
        technique = Technique.PALM_MUTE if word["mute"] else Technique.LET_RING
        place = Place(line.number, word.start() + 1)
        behind = line.text[word.end() : bound]
        if behind.lstrip().startswith("|"):
            extents += _drawn_in_row(technique, behind, word.end(), line.number)
        else:
            extents += _from_word(technique, word, behind, place)
    return extents


def _from_word(
    technique: Technique, word: re.Match[str], behind: str, place: Place
) -> list[Extent]:
    """Take the runs of dashes that follow the word; one without an end goes up to the bar line."""
    run, bar_line, _ = behind.partition("|")
    dashes = [(word.end() + d.start(), word.end() + d.end() - 1) for d in _DASH.finditer(run)]
    if not dashes:
        return [Extent(technique, word.start(), word.end() - 1, is_drawn=False, place=place)]
    runs = [(word.start() if dashes[0][0] - word.end() <= _WIDEST_GAP else dashes[0][0], 0)]
    for (_, end), (start, _) in pairwise(dashes):
        if start - end - 1 > _WIDEST_GAP:
            runs[-1] = (runs[-1][0], end)
            runs.append((start, 0))
    bar_column = word.end() + len(run)
    is_up_to_bar = bar_line and bar_column - dashes[-1][1] - 1 <= _WIDEST_GAP
    runs[-1] = (runs[-1][0], bar_column if is_up_to_bar else dashes[-1][1])
    return [Extent(technique, start, end, is_drawn=True, place=place) for start, end in runs]


def _drawn_in_row(technique: Technique, behind: str, offset: int, line: int) -> list[Extent]:
    """Take every run of dashes of a row that is labelled like a string's: `PM |--- ---|`."""
    return [
        Extent(
            technique,
            offset + dash.start(),
            offset + dash.end() - 1,
            is_drawn=True,
            place=Place(line, offset + dash.start() + 1),
        )
        for dash in _DASH.finditer(behind)
    ]


def technique_at(extents: Sequence[Extent], column: int) -> tuple[Technique, tuple[int, ...]]:
    """Tell what holds for an attack at a column, and which extents say so."""
    found = [i for i, extent in enumerate(extents) if extent.covers(column)]
    techniques = Technique(0)
    for i in found:
        extents[i].is_used = True
        techniques |= extents[i].technique
    return techniques, tuple(found)
