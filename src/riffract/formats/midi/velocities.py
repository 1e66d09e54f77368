"""Accents, told from how hard keys are struck."""

from collections.abc import Iterable, Sequence
from statistics import median
from typing import Final

from riffract.formats.midi.keys import Key
from riffract.formats.midi.report import Report
from riffract.music import Technique
from riffract.music.notes import PLAIN

SAME_LEVEL: Final = 16
"""Velocities that lie nearer to each other are of one level; a level is no wider than that."""

MOST_LEVELS: Final = 3


def accents(keys: Sequence[Key], report: Report) -> list[Technique]:
    """Take the notes above the level of the middle one as accents, if velocities form levels."""
    levels = levels_of(key.velocity for key in keys)
    if len(levels) == 1 and levels[0][0] == levels[0][1]:
        return [PLAIN] * len(keys)
    are_clear = 1 < len(levels) <= MOST_LEVELS and all(
        high - low <= SAME_LEVEL for low, high in levels
    )
    if not are_clear:
        report.warn(
            "how hard the notes are struck is not kept: it forms no clear levels",
            "accent notes by hand if that matters",
        )
        return [PLAIN] * len(keys)
    middle = median(key.velocity for key in keys)
    plain = max(high for low, high in levels if low <= middle)
    return [Technique.ACCENT if key.velocity > plain else PLAIN for key in keys]


def levels_of(velocities: Iterable[int]) -> list[tuple[int, int]]:
    """Part velocities into levels, each with its lowest and highest.

    >>> levels_of([80, 112, 84, 110])
    [(80, 84), (110, 112)]
    """
    levels: list[tuple[int, int]] = []
    for velocity in sorted(set(velocities)):
        if levels and velocity - levels[-1][1] < SAME_LEVEL:
            levels[-1] = (levels[-1][0], velocity)
        else:
            levels.append((velocity, velocity))
    return levels
