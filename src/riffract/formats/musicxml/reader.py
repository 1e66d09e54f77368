"""The MusicXML reader: from the bytes of a file to a passage, with everything that was odd."""

from riffract.formats.musicxml.document import score_element
from riffract.formats.musicxml.extents import apply_extents
from riffract.formats.musicxml.fields import fields_of
from riffract.formats.musicxml.legato import join_legato
from riffract.formats.musicxml.placing import place_notes
from riffract.formats.musicxml.playing import (
    played_bars,
    played_notes,
    played_sections,
    played_tempos,
)
from riffract.formats.musicxml.reading import WrittenPart, marks_of_other_parts, read_part
from riffract.formats.musicxml.repeats import playing_order
from riffract.formats.musicxml.report import Report, Spot
from riffract.formats.musicxml.score import (
    MOST_BARS,
    Part,
    guitar_part,
    parts_of,
    staves_of,
    title_of,
)
from riffract.formats.musicxml.sounding import one_a_string, set_sounding_pitches
from riffract.formats.musicxml.strings import strings_of
from riffract.formats.musicxml.written import place_text
from riffract.formats.problem import ReadResult
from riffract.music import Passage, Tuning


def read_musicxml(data: bytes, *, source: str = "", part: str | None = None) -> ReadResult:
    """Read a guitar part from MusicXML 4.0, compressed (`.mxl`) or not.

    Strings are numbered from the highest (1), open strings come from `staff-tuning`, whose lines
    count from the bottom. Repeats are played out, ties joined. What the reader does not understand
    is named in the problems, once for each kind; see `docs/musicxml.md`.

    Args:
        data: the bytes of the file, whatever they are; nothing in them can raise.
        source: what to call the file.
        part: id or name of the part to read; the first guitar part without it.

    Returns:
        The passage, `None` if any problem is an error; and all problems by line.

    Source: MusicXML 4.0, W3C Community Group final report.

    >>> result = read_musicxml(b"<html/>")
    >>> result.passage, result.problems[0].what
    (None, 'this is not a MusicXML score: its outermost tag is <html>, not <score-partwise>')
    """
    report = Report()
    written = WrittenPart()
    passage = _passage(data, source, part, written, report)
    problems = report.problems(lambda spot: place_text(written.bars, spot))
    return ReadResult(passage=None if report.has_errors else passage, problems=problems)


def _passage(
    data: bytes, source: str, wanted: str | None, written: WrittenPart, report: Report
) -> Passage | None:
    root = score_element(data, report)
    if root is None:
        return None
    parts = parts_of(root)
    part = guitar_part(parts, wanted, report)
    if part is None or not _has_usable_bars(part, report):
        return None
    fields = fields_of(root)
    written.strings.fields = fields
    read_part(part, staves_of(part, report), written, report)
    marks_of_other_parts([other for other in parts if other is not part], written.marks)
    if report.has_errors:
        return None
    tuning = _settle_notes(written, report)
    order = playing_order(len(written.bars), written.marks.flow, report)
    bars = played_bars(written, order)
    notes = None if report.has_errors else played_notes(written, bars, report)
    if notes is None or tuning is None:
        return None
    return Passage(
        title=title_of(root),
        tuning=tuning,
        bars=bars,
        tempos=played_tempos(written.marks.tempos, bars, report),
        sections=played_sections(written.marks.sections, bars),
        notes=notes,
        source=source,
        proposed=fields.proposed,
    )


def _has_usable_bars(part: Part, report: Report) -> bool:
    count = len(part.measures)
    if 1 <= count <= MOST_BARS:
        return True
    report.error(
        f"the part {part.label} has {count:,} bars; it needs 1 to {MOST_BARS:,}",
        "export a shorter passage" if count else "export a part with notes",
        Spot(line=part.line),
    )
    return False


def _settle_notes(written: WrittenPart, report: Report) -> Tuning | None:
    """Find out what each note is: its place, its pitch, how it is played; `None` after an error."""
    apply_extents(written.notes, written.extents)
    strings = strings_of(written.strings, written.notes, report)
    if strings is None:
        return None
    set_sounding_pitches(written.notes, strings, report)
    written.notes = one_a_string(written.notes, report)
    unplaced = [note for note in written.notes if not note.is_placed]
    place_notes(written.notes, strings, report)
    set_sounding_pitches(unplaced, strings, report)
    join_legato(written.notes, written.signed_notes, report)
    return strings.tuning
