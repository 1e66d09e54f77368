"""The passage as MusicXML that an engraver can set as it stands."""

from collections.abc import Iterator
from itertools import pairwise
from typing import Final, NamedTuple

from lxml import etree
from lxml.etree import _Element as Element

from riffract.analysis.saying import say
from riffract.analysis.spelling import names_in
from riffract.formats.musicxml.writing import write_musicxml
from riffract.music import Bar, Passage
from riffract.publish.staff.accidentals import spell_pitches, write_accidentals
from riffract.publish.staff.beams import write_beams
from riffract.publish.staff.clefs import write_clef
from riffract.publish.staff.frets import FretFinder, WrittenFret
from riffract.publish.staff.gaps import fill_gaps
from riffract.publish.staff.signs import carry_signs, take_out_loose_ends
from riffract.publish.staff.written_notes import written_notes

_TAB_STAFF: Final = "2"
_PALM_MUTE_LINE: Final = "1"
_TOUCHED: Final = "diamond"


class Notation(NamedTuple):
    """A passage on one staff, and what the hand does at each of its notes.

    Attributes:
        xml: the file, as `notation_xml` writes it.
        frets: of each written note and rest, in the order of the file.
    """

    xml: bytes
    frets: tuple[WrittenFret, ...]


def notation_xml(passage: Passage) -> bytes:
    """Write a passage as one staff of notation with spelling, accidentals and beams written out.

    Files that go to other programs leave beams and accidentals to them, as the standard allows;
    an engraver draws what a file states, and nothing else.

    Raises:
        ValueError: as `write_musicxml`.

    Source: MusicXML 4.0, W3C Community Group final report.
    """
    return notation_of(passage).xml


def notation_of(passage: Passage) -> Notation:
    """Write a passage as `notation_xml` does, and keep the frets that stand under its notes.

    What a tab staff says in its own way is left to it: palm muting, ringing and bends.
    """
    root = etree.fromstring(write_musicxml(passage, folded=False))
    part = root.find("part")
    assert part is not None, "the writer always writes one part"
    names = names_in(passage)
    divisions = int(part.findtext("measure/attributes/divisions", "1"))
    frets = tuple(_taken_from_tab(part, passage, divisions))
    fill_gaps(part, divisions)
    for name in root.iter("part-name"):
        name.set("print-object", "no")
    write_clef(part, [n.pitch for n in passage.notes if n.pitch is not None])
    _plain_metres(part)
    _take_out_metronomes(part)
    _take_out_palm_mutes(part)
    _take_out_ringing(part)
    take_out_loose_ends(part)
    _end_lines_in_their_bars(part)
    spell_pitches(part, names)
    write_accidentals(part, divisions)
    for measure, bar in zip(part, passage.bars, strict=True):
        write_beams(measure, bar, divisions)
        _number_as_told(measure, bar)
    _sections_in_words(part)
    return Notation(etree.tostring(root, encoding="UTF-8", xml_declaration=True), frets)


def _taken_from_tab(part: Element, passage: Passage, divisions: int) -> Iterator[WrittenFret]:
    """Take out the tab staff; both staves hold the same notes in the same order."""
    _take_out_touched(part)
    finder = FretFinder(passage)
    for measure, bar in zip(part, passage.bars, strict=True):
        notes = list(written_notes(measure, divisions))
        tab = [note.tag for note in notes if note.tag.findtext("staff") == _TAB_STAFF]
        written = [note for note in notes if note.tag.findtext("staff") != _TAB_STAFF]
        for note, twin in zip(written, tab, strict=True):
            found = finder.found(bar.start_quarters, note, twin)
            carry_signs(note.tag, twin, slides_in=found.slides_in)
            yield found
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


def _number_as_told(measure: Element, bar: Bar) -> None:
    """Count bars as all words about them do: a file for other programs calls a pick-up 0."""
    measure.set("number", str(bar.number))
    measure.attrib.pop("implicit", "")


def _sections_in_words(part: Element) -> None:
    """Name sections in framed words: under a rehearsal mark the engraver leaves out the number."""
    for mark in list(part.iter("rehearsal")):
        words = etree.Element("words", {"enclosure": "rectangle", "font-weight": "bold"})
        words.text = mark.text
        kind = mark.getparent()
        assert kind is not None, "a rehearsal mark stands in a direction"
        kind.replace(mark, words)


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


def _take_out_palm_mutes(part: Element) -> None:
    for dashes in list(part.iter("dashes")):
        kind = dashes.getparent()
        if dashes.get("number") == _PALM_MUTE_LINE and kind is not None:
            _take_out(kind)


def _take_out_ringing(part: Element) -> None:
    """Take out ties into the open: they have no room in a run of eighths."""
    for tie in list(part.iter("tied")):
        parent = tie.getparent()
        if tie.get("type") == "let-ring" and parent is not None:
            parent.remove(tie)


def _take_out_touched(part: Element) -> None:
    """Take out the diamonds of touched strings: the tab says where they are touched."""
    for head in list(part.iter("notehead")):
        note = head.getparent()
        if head.text == _TOUCHED and note is not None:
            _take_out_of_bar(note)


def _take_out_of_bar(tag: Element) -> None:
    measure = tag.getparent()
    assert measure is not None, "notes and directions stand in a bar"
    measure.remove(tag)


def _take_out(kind: Element) -> None:
    """Take out the direction that something of one kind stands in."""
    direction = kind.getparent()
    assert direction is not None, "a direction type stands in a direction"
    _take_out_of_bar(direction)


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
