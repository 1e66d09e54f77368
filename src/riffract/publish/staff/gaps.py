"""Gaps of a voice as rests that are not drawn: an engraver counts values, not ticks."""

from fractions import Fraction

from lxml import etree
from lxml.etree import _Element as Element

from riffract.formats.musicxml.writing.note_values import NoteValue, note_values


def fill_gaps(part: Element, divisions: int) -> None:
    """Write the gaps of all voices as hidden rests.

    A `forward` may have any length. The engraver takes the nearest plain value for it, so that all
    behind a third of a quarter would stand too early; a rest can be a triplet's.

    Args:
        part: of one staff.
        divisions: ticks of a quarter.
    """
    for measure in part:
        _take_out_last_moves(measure)
        for forward in list(measure.iterfind("forward")):
            note = next(tag for tag in forward.itersiblings() if tag.tag == "note")
            length = Fraction(int(forward.findtext("duration", "0")), divisions)
            for rest in _rests(note_values(length), divisions, note.findtext("voice", "1")):
                forward.addprevious(rest)
            measure.remove(forward)


def _take_out_last_moves(measure: Element) -> None:
    """Take out what moves the clock behind the last note, where nothing follows."""
    notes = measure.findall("note")
    for tag in list(notes[-1].itersiblings() if notes else measure):
        if tag.tag in {"backup", "forward"}:
            measure.remove(tag)


def _rests(values: tuple[NoteValue, ...], divisions: int, voice: str) -> list[Element]:
    rests = [_rest(value, divisions, voice) for value in values]
    if values[0].is_in_tuplet:
        for place, end in ((0, "start"), (-1, "stop")):
            notations = rests[place].find("notations")
            if notations is None:
                notations = etree.SubElement(rests[place], "notations")
            tuplet = etree.SubElement(notations, "tuplet", type=end, bracket="no")
            tuplet.set("show-number", "none")
    return rests


def _rest(value: NoteValue, divisions: int, voice: str) -> Element:
    note = etree.Element("note")
    note.set("print-object", "no")
    etree.SubElement(note, "rest")
    etree.SubElement(note, "duration").text = str(int(value.quarters * divisions))
    etree.SubElement(note, "voice").text = voice
    etree.SubElement(note, "type").text = value.kind
    for _ in range(value.dots):
        etree.SubElement(note, "dot")
    if value.is_in_tuplet:
        ratio = etree.SubElement(note, "time-modification")
        etree.SubElement(ratio, "actual-notes").text = str(value.actual)
        etree.SubElement(ratio, "normal-notes").text = str(value.normal)
    return note
