"""What a written note is most easily mistaken for on a fretboard."""

from dataclasses import dataclass
from typing import Final

from riffract.music import Tuning

SLIPS: Final = (-1, 1, -2, 2, -12, 12)
"""Frets along the same string: one off, two off, an octave."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """A place on the fretboard, and the pitch it gives."""

    pitch: int
    string: int
    fret: int


def mistaken_for(tuning: Tuning, string: int, fret: int) -> tuple[Spot, ...]:
    """List the places that a note can be mistaken for: along its string, and one string off.

    Returns:
        Places by likelihood, no pitch twice, the written pitch left out.

    >>> [s.pitch for s in mistaken_for(Tuning(open_pitches=(40, 45, 50, 55, 59, 64)), 6, 3)]
    [42, 44, 41, 45, 55, 48]
    """
    along = [(string, fret + slip) for slip in SLIPS]
    across = [(string - 1, fret), (string + 1, fret)]
    spots: dict[int, Spot] = {}
    for s, f in (*along, *across):
        if 1 <= s <= tuning.string_count and 0 <= f <= tuning.frets - tuning.capo:
            pitch = tuning.pitch_at(s, f)
            spots.setdefault(pitch, Spot(pitch=pitch, string=s, fret=f))
    spots.pop(tuning.pitch_at(string, fret), None)
    return tuple(spots.values())


def nearest_spot(tuning: Tuning, pitch: int, near_fret: int, taken: frozenset[int]) -> Spot | None:
    """Find where a pitch lies nearest to a fret, on a string that is free.

    >>> nearest_spot(Tuning(open_pitches=(40, 45, 50, 55, 59, 64)), 52, 2, frozenset())
    Spot(pitch=52, string=4, fret=2)
    """
    spots = [
        Spot(pitch=pitch, string=s, fret=pitch - tuning.open_pitch(s))
        for s in range(1, tuning.string_count + 1)
        if s not in taken and 0 <= pitch - tuning.open_pitch(s) <= tuning.frets - tuning.capo
    ]
    return min(spots, key=lambda spot: (abs(spot.fret - near_fret), spot.string), default=None)
