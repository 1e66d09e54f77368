"""Spelling and accidentals on a staff without a key signature."""

from collections.abc import Mapping
from typing import Final

from lxml import etree
from lxml.etree import _Element as Element

from riffract.publish.staff.written_notes import insert_accidental, written_notes

_STEPS: Final[Mapping[str, int]] = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_ALTERS: Final[Mapping[str, int]] = {"♭": -1, "": 0, "♯": 1}
_SIGNS: Final[Mapping[int, str]] = {-1: "flat", 0: "natural", 1: "sharp"}


def spell_pitches(part: Element, names: Mapping[int, str]) -> None:
    """Write all pitches with the letters that the findings use.

    Args:
        part: its notes' pitches are written anew; none of the names may cross an octave.
        names: a letter with its sign for each pitch class, as `twelve_names` gives them.
    """
    for pitch in part.iter("pitch"):
        height = _height(pitch)
        name = names[height % 12]
        alter = _ALTERS[name[1:]]
        octave = (height - alter) // 12 - 1
        _write_pitch(pitch, name[0], alter, octave)


def _height(pitch: Element) -> int:
    """Give the MIDI pitch that is written."""
    step = _STEPS[pitch.findtext("step", "C")]
    alter = int(pitch.findtext("alter", "0"))
    return 12 * (int(pitch.findtext("octave", "4")) + 1) + step + alter


def _write_pitch(pitch: Element, step: str, alter: int, octave: int) -> None:
    for tag in list(pitch):
        pitch.remove(tag)
    etree.SubElement(pitch, "step").text = step
    if alter:
        etree.SubElement(pitch, "alter").text = str(alter)
    etree.SubElement(pitch, "octave").text = str(octave)


def write_accidentals(measure: Element, divisions: int) -> None:
    """Add the accidentals of a bar.

    Definition: an accidental holds for its line or space, in its octave, to the end of the bar,
    in all voices of the staff; a bar starts with none. A note that is held over needs none, and
    lends none to those behind it.

    Source: common practice.
    """
    standing: dict[tuple[str, str], int] = {}
    for note in sorted(written_notes(measure, divisions), key=lambda note: note.at_quarters):
        pitch = note.tag.find("pitch")
        if pitch is None or note.is_held:
            continue
        line = (pitch.findtext("step", ""), pitch.findtext("octave", ""))
        alter = int(pitch.findtext("alter", "0"))
        if standing.get(line, 0) != alter:
            accidental = etree.Element("accidental")
            accidental.text = _SIGNS[alter]
            insert_accidental(note.tag, accidental)
            standing[line] = alter
