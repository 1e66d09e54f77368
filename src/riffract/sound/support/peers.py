"""Whether what is heard at a note is heard at its like throughout a recording.

An instrument, an amplifier or a room bends many notes in the same way: a muted low string sounds
like its octave, a distorted fifth like the octave below, a stiff string like its neighbour. What
befalls many notes of a register says nothing against one of them.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

import numpy as np

from riffract.sound.sound import Reals

NEAR_SEMITONES: Final = 3
"""Notes this near to each other lie on the same or neighbouring strings and sound alike."""

FEWEST: Final = 4
"""Fewer peers tell nothing: one of three is often out of the ordinary."""

TYPICAL_SHARE: Final = 0.2
"""What befalls more than one peer in five is the sound. A wrong note that a text repeats in every
pass of a riff is mostly rarer than that among the notes of its register."""

MISTAKES_AMONG: Final = 1
"""So many peers more: in a text with mistakes one of a handful of peers is wrong as well. Without
it two of six notes that are not played at all were called unclear, with it one of ten."""

MARGIN: Final = 2.0
"""Log10 odds by which a note must stand out from its peers: a hundred to one. At three to one false
alarms double on a driven eighth string, and one mistake in thirty more is found."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Peers:
    """Something measured at many notes.

    Attributes:
        pitches: of the notes.
        places: what tells them apart: notes of the same place are not each other's peers.
        measures: the larger the odder.
    """

    pitches: Reals
    places: Reals
    measures: Reals

    def is_typical(
        self,
        pitch: float,
        place: float,
        measure: float,
        *,
        near_semitones: int = NEAR_SEMITONES,
        margin: float = MARGIN,
    ) -> bool:
        """Tell whether a measure is nothing out of the ordinary for its register.

        >>> peers = Peers(
        ...     pitches=np.full(6, 40.0), places=np.arange(6.0),
        ...     measures=np.array([0.0, 2.0, 3.0, 2.0, 0.0, 0.0]))
        >>> peers.is_typical(40, 9, 2.0), peers.is_typical(40, 9, 5.0), peers.is_typical(60, 9, 2.0)
        (True, False, False)
        """
        like = (np.abs(self.pitches - pitch) <= near_semitones) & (self.places != place)
        if int(like.sum()) < FEWEST:
            return False
        as_odd = int(np.sum(self.measures[like] > measure - margin))
        return as_odd > TYPICAL_SHARE * int(like.sum()) + MISTAKES_AMONG


def peers(rows: Iterable[tuple[float, float, float]]) -> Peers:
    """Gather (pitch, place, measure)."""
    table = np.array(list(rows), dtype=np.float64).reshape(-1, 3)
    return Peers(pitches=table[:, 0], places=table[:, 1], measures=table[:, 2])
