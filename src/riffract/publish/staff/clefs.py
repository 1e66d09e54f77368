"""The clef that a passage reads best in, and pitches written as they sound under it."""

from collections.abc import Sequence
from typing import Final, NamedTuple

from lxml import etree
from lxml.etree import _Element as Element

_WRITTEN_UP: Final = 12


class Clef(NamedTuple):
    """A clef with an 8 below: what it shows sounds an octave lower than written.

    Attributes:
        sign, line: as MusicXML names it.
        lowest_pitch, highest_pitch: what the five lines hold, as it sounds.
    """

    sign: str
    line: int
    lowest_pitch: int
    highest_pitch: int


TREBLE: Final = Clef("G", 2, 64 - _WRITTEN_UP, 77 - _WRITTEN_UP)
BASS: Final = Clef("F", 4, 43 - _WRITTEN_UP, 57 - _WRITTEN_UP)


def best_clef(pitches: Sequence[int]) -> Clef:
    """Choose the clef that leaves fewer semitones to ledger lines; treble if both are as good.

    Guitarists read treble with an 8 below. Where strings are tuned far down, most notes would hang
    on four and more ledger lines, and the bass clef, as basses have it, reads better.

    Source: common practice.

    >>> best_clef([40, 52, 64]).sign, best_clef([28, 35, 40]).sign
    ('G', 'F')
    """
    return min((TREBLE, BASS), key=lambda clef: sum(_beyond(clef, pitch) for pitch in pitches))


def _beyond(clef: Clef, pitch: int) -> int:
    """Count the semitones that a pitch lies outside the lines."""
    return max(clef.lowest_pitch - pitch, pitch - clef.highest_pitch, 0)


def write_clef(part: Element, pitches: Sequence[int]) -> None:
    """Set the clef of a part, with its octave in it instead of in a transposition.

    Args:
        part: written an octave above what sounds.
        pitches: what sounds.
    """
    best = best_clef(pitches)
    for octave in part.iter("octave"):
        octave.text = str(int(octave.text or "4") - 1)
    for clef in list(part.iter("clef")):
        clef.clear()
        etree.SubElement(clef, "sign").text = best.sign
        etree.SubElement(clef, "line").text = str(best.line)
        etree.SubElement(clef, "clef-octave-change").text = "-1"
    for transpose in list(part.iter("transpose")):
        parent = transpose.getparent()
        assert parent is not None, "it stands in attributes"
        parent.remove(transpose)
