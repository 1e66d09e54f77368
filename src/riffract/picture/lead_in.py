"""Grace notes: small numbers before the one they lead to, each on its string."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby
from types import MappingProxyType
from typing import Final

from riffract.music import Passage, Technique
from riffract.music.notes import Grace
from riffract.picture.number_signs import small_size
from riffract.picture.type import text_width

BEFORE_NUMBER_SHARE: Final = 0.4
"""From a grace to the onset that it leads to, over the size of a fret number: room for a slash."""

BETWEEN_GRACES_PX: Final = 7.0
RAISED_SHARE: Final = 0.22


@dataclass(frozen=True, slots=True, kw_only=True)
class LeadIn:
    """The graces before an attack, as far as one of its notes shows them.

    Attributes:
        shown: those that come and go with the note.
        all: those of the whole attack, which stand in columns over its strings.
    """

    shown: tuple[Grace, ...]
    all: tuple[Grace, ...]

    def left(self, grace: Grace, size: float) -> float:
        """Tell where a grace's number starts, in px from the onset, so below 0."""
        return -_widths(self.all, size)[grace.place]

    def middle(self, grace: Grace, size: float) -> float:
        """Tell where the middle of its number lies, in px from the onset."""
        return self.left(grace, size) + _width(grace, size) / 2


def lead_ins(passage: Passage) -> Mapping[int, LeadIn]:
    """Give each note, by its index, the graces that it shows.

    A grace goes with the note that it leads to on its string; where there is none, with the lowest
    string's note of the attack. Graces that lead to no attack are not shown.
    """
    found: dict[int, LeadIn] = {}
    at_onset: dict[Fraction, dict[int, int]] = {}
    if passage.graces:
        for note in passage.notes:
            at_onset.setdefault(note.onset_quarters, {})[note.string] = note.index
    for at, group in groupby(passage.graces, key=lambda grace: grace.at_quarters):
        every = tuple(group)
        led_to = at_onset.get(at, {})
        first = min(led_to.values(), default=None)
        shown: dict[int, list[Grace]] = {}
        for grace in every:
            index = led_to.get(grace.string, first)
            if index is not None:
                shown.setdefault(index, []).append(grace)
        for index, own in shown.items():
            found[index] = LeadIn(shown=tuple(own), all=every)
    return MappingProxyType(found)


def grace_text(grace: Grace) -> str:
    """Write what stands on the string."""
    return "×" if grace.techniques & Technique.DEAD else str(grace.fret)


def lead_px(graces: Sequence[Grace], size: float) -> float:
    """Tell how far the graces of one attack reach before it, px; 0 without any."""
    return max(_widths(graces, size).values(), default=0.0)


def _widths(graces: Sequence[Grace], size: float) -> dict[int, float]:
    """Tell for each place of an attack's graces how far before it its column starts."""
    widest: dict[int, float] = {}
    for grace in graces:
        widest[grace.place] = max(widest.get(grace.place, 0.0), _width(grace, size))
    starts, reach = {}, BEFORE_NUMBER_SHARE * size
    for place in sorted(widest, reverse=True):
        reach += widest[place]
        starts[place] = reach
        reach += BETWEEN_GRACES_PX
    return starts


def _width(grace: Grace, size: float) -> float:
    return text_width(grace_text(grace), small_size(size), 400)
