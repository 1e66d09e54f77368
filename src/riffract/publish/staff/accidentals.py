"""Spelling and accidentals on a staff without a key signature."""

from collections.abc import Mapping
from typing import Final, NamedTuple

from lxml import etree
from lxml.etree import _Element as Element

from riffract.publish.staff.written_notes import insert_accidental, written_notes

_STEPS: Final[Mapping[str, int]] = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_ALTERS: Final[Mapping[str, int]] = {"♭": -1, "": 0, "♯": 1}
_SIGNS: Final[Mapping[int, str]] = {-1: "flat", 0: "natural", 1: "sharp"}


class _Line(NamedTuple):
    """A line or space of the staff."""

    step: str
    octave: str


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


def write_accidentals(part: Element, divisions: int) -> None:
    """Add the accidentals of all bars, and in brackets those that only remind.

    Definition: an accidental holds for its line or space, in its octave, to the end of the bar, in
    all voices of the staff; a bar starts with none. A note that is held over needs none, and lends
    none to those behind it. A reminder stands at the first note of its line in a bar that differs
    from the last one of that line in the bar before, from one that is held over, or from what
    holds for another octave.

    Source: common practice.
    """
    before: dict[_Line, int] = {}
    for measure in part.iterfind("measure"):
        before = _write_bar(measure, divisions, before)


def _write_bar(measure: Element, divisions: int, before: Mapping[_Line, int]) -> dict[_Line, int]:
    """Add the accidentals of a bar.

    Args:
        measure: the bar.
        divisions: ticks of a quarter.
        before: how the last note of each line was altered in the bar before.

    Returns:
        The same of this bar.
    """
    standing: dict[_Line, int] = {}
    heard = dict(before)
    now: dict[_Line, int] = {}
    for note in sorted(written_notes(measure, divisions), key=lambda note: note.at_quarters):
        pitch = note.tag.find("pitch")
        if pitch is None:
            continue
        line = _Line(pitch.findtext("step", ""), pitch.findtext("octave", ""))
        alter = int(pitch.findtext("alter", "0"))
        if not note.is_held:
            is_needed = standing.get(line, 0) != alter
            if is_needed or _is_doubtful(line, alter, standing, heard):
                insert_accidental(note.tag, _accidental(alter, is_reminder=not is_needed))
                standing[line] = alter
        heard[line] = now[line] = alter
    return now


def _is_doubtful(
    line: _Line, alter: int, standing: Mapping[_Line, int], heard: Mapping[_Line, int]
) -> bool:
    """Tell whether a reader could take the note for what stood on its line or octave before."""
    if line in standing:
        return False
    octaves = (other for at, other in standing.items() if at.step == line.step)
    return heard.get(line, alter) != alter or any(other != alter for other in octaves)


def _accidental(alter: int, *, is_reminder: bool) -> Element:
    accidental = etree.Element("accidental")
    accidental.text = _SIGNS[alter]
    if is_reminder:
        accidental.set("cautionary", "yes")
        accidental.set("parentheses", "yes")
    return accidental
