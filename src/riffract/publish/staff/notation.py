"""The passage as MusicXML that an engraver can set as it stands."""

from itertools import pairwise
from typing import Final

from lxml import etree
from lxml.etree import _Element as Element

from riffract.analysis.saying import say
from riffract.analysis.spelling import twelve_names
from riffract.formats.musicxml.writing import write_musicxml
from riffract.music import Passage
from riffract.publish.staff.accidentals import spell_pitches, write_accidentals
from riffract.publish.staff.beams import write_beams
from riffract.publish.staff.clefs import write_clef
from riffract.publish.staff.signs import carry_signs, tell_ringing

_TAB_STAFF: Final = "2"


def notation_xml(passage: Passage) -> bytes:
    """Write a passage as one staff of notation with spelling, accidentals and beams written out.

    Files that go to other programs leave beams and accidentals to them, as the standard allows;
    an engraver draws what a file states, and nothing else.

    Raises:
        ValueError: as `write_musicxml`.

    Source: MusicXML 4.0, W3C Community Group final report.
    """
    root = etree.fromstring(write_musicxml(passage, folded=False))
    part = root.find("part")
    assert part is not None, "the writer always writes one part"
    names = twelve_names(note.pitch for note in passage.notes if note.pitch is not None)
    divisions = int(part.findtext("measure/attributes/divisions", "1"))
    _keep_notation(part)
    for name in root.iter("part-name"):
        name.set("print-object", "no")
    write_clef(part, [n.pitch for n in passage.notes if n.pitch is not None])
    _plain_metres(part)
    _take_out_metronomes(part)
    _end_lines_in_their_bars(part)
    tell_ringing(part)
    spell_pitches(part, names)
    for measure, bar in zip(part, passage.bars, strict=True):
        write_accidentals(measure, divisions)
        write_beams(measure, bar, divisions)
    return etree.tostring(root, encoding="UTF-8", xml_declaration=True)


def _keep_notation(part: Element) -> None:
    """Take out the tab staff; both staves hold the same notes in the same order."""
    for measure in part:
        notes = measure.findall("note")
        tab = [note for note in notes if note.findtext("staff") == _TAB_STAFF]
        written = [note for note in notes if note.findtext("staff") != _TAB_STAFF]
        for note, twin in zip(written, tab, strict=True):
            carry_signs(note, twin)
        for tag in list(measure):
            if tag.findtext("staff") == _TAB_STAFF:
                measure.remove(tag)
        for attributes in measure.iterfind("attributes"):
            _keep_first_staff(attributes)


def _keep_first_staff(attributes: Element) -> None:
    for tag in list(attributes):
        is_other = tag.get("number") == _TAB_STAFF
        if is_other or tag.tag in {"staves", "staff-details"}:
            attributes.remove(tag)
        elif "number" in tag.attrib:
            del tag.attrib["number"]


def _plain_metres(part: Element) -> None:
    """Write 11/8 for 3+3+3+2/8: the beams show the groups, and metres may change at each bar."""
    for beats in part.iter("beats"):
        beats.text = str(sum(map(int, (beats.text or "0").split("+"))))


def _take_out_metronomes(part: Element) -> None:
    """Put tempos in words: the engraver draws the note of a metronome mark in a font of its own.

    The only tempo of a passage is told beside it, so it is left out here.
    """
    marks = list(part.iter("metronome"))
    for mark in marks:
        kind = mark.getparent()
        assert kind is not None, "a metronome mark stands in a direction"
        if len(marks) == 1:
            _take_out(kind)
            continue
        words = etree.SubElement(kind, "words")
        words.text = say("{number} quarters a minute", number=mark.findtext("per-minute", ""))
        kind.remove(mark)


def _take_out(kind: Element) -> None:
    """Take out the direction that something of one kind stands in."""
    direction = kind.getparent()
    assert direction is not None, "a direction type stands in a direction"
    measure = direction.getparent()
    assert measure is not None, "a direction stands in a bar"
    measure.remove(direction)


def _end_lines_in_their_bars(part: Element) -> None:
    """Put the end of a line that falls on a bar line before it; else a stump opens the next bar."""
    for before, measure in pairwise(part):
        for tag in list(measure):
            if tag.tag == "note":
                break
            dashes = tag.find("direction-type/dashes")
            if dashes is not None and dashes.get("type") == "stop" and tag.find("offset") is None:
                _first_voice_end(before).addprevious(tag)


def _first_voice_end(measure: Element) -> Element:
    """Give what stands behind the first voice, which fills the bar."""
    behind = measure.find("backup")
    if behind is None:
        behind = measure.find("barline[@location='right']")
    return etree.SubElement(measure, "barline") if behind is None else behind
