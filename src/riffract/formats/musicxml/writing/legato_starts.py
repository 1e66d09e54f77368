"""Where hammer-ons, pull-offs and slides start; they belong to the note that they lead to."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Final, NamedTuple

from riffract.music import Grace, Note, Technique
from riffract.music.notes import LEGATO, PLAIN

_GRACE: Final = 0
_NOTE: Final = 1
"""A grace comes before its note."""


@dataclass(frozen=True, slots=True)
class LegatoStarts:
    """Which signs start on which note.

    Attributes:
        on_notes: by row.
        on_graces: by place in the passage's graces.
    """

    on_notes: Mapping[int, Technique]
    on_graces: Mapping[int, Technique]


class _Played(NamedTuple):
    at_quarters: Fraction
    place: tuple[int, int]
    row: int
    techniques: Technique


def legato_starts(notes: Iterable[Note], graces: Sequence[Grace]) -> LegatoStarts:
    """Find the note or grace before each sign's goal, on the same string.

    A sign that leads to the first note of a string starts nowhere.
    """
    on_string: dict[int, list[_Played]] = defaultdict(list)
    for index, grace in enumerate(graces):
        on_string[grace.string].append(
            _Played(grace.at_quarters, (_GRACE, grace.place), index, grace.techniques)
        )
    for note in notes:
        on_string[note.string].append(
            _Played(note.onset_quarters, (_NOTE, 0), note.index, note.techniques)
        )
    on_notes: dict[int, Technique] = {}
    on_graces: dict[int, Technique] = {}
    for played in on_string.values():
        played.sort()
        for before, goal in pairwise(played):
            signs = goal.techniques & LEGATO
            if signs:
                starts = on_notes if before.place[0] == _NOTE else on_graces
                starts[before.row] = starts.get(before.row, PLAIN) | signs
    return LegatoStarts(on_notes, on_graces)
