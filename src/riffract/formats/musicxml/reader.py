"""The MusicXML reader: from the bytes of a file to a passage, with everything that was odd."""

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

from lxml.etree import _Element as Element

from riffract.formats.musicxml.document import score_element
from riffract.formats.musicxml.extents import apply_extents
from riffract.formats.musicxml.fields import fields_of
from riffract.formats.musicxml.harmonics import joined_harmonics
from riffract.formats.musicxml.laid_marks import played_sections, played_tempos
from riffract.formats.musicxml.legato import join_legato
from riffract.formats.musicxml.placing import place_notes
from riffract.formats.musicxml.playing import played_bars, played_fermatas, played_notes
from riffract.formats.musicxml.reading import WrittenPart, marks_of_other_parts, read_part
from riffract.formats.musicxml.repeats import playing_order
from riffract.formats.musicxml.report import Report, Spot
from riffract.formats.musicxml.score import (
    MOST_BARS,
    Part,
    guitar_part,
    part_names,
    parts_of,
    staves_of,
    title_of,
)
from riffract.formats.musicxml.sounding import one_a_string, set_sounding_pitches
from riffract.formats.musicxml.strings import strings_of
from riffract.formats.musicxml.written import place_text
from riffract.formats.problem import ReadResult
from riffract.music import Passage, Proposed, Tuning


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
        The passage, `None` if any problem is an error; all problems by line; and the names of
        the parts to choose from, if there are several.

    Source: MusicXML 4.0, W3C Community Group final report.

    >>> result = read_musicxml(b"<html/>")
    >>> result.passage, result.problems[0].what
    (None, 'this is not a MusicXML score: its outermost tag is <html>, not <score-partwise>')
    """
    report = Report()
    root = score_element(data, report)
    parts = () if root is None else parts_of(root)
    written = WrittenPart()
    chosen = None if root is None else _usable_part(parts, part, report)
    passage = None
    if root is not None and chosen is not None:
        passage = _passage(root, parts, chosen, written, report)
    return ReadResult(
        passage=None if report.has_errors or passage is None else replace(passage, source=source),
        problems=report.problems(lambda spot: place_text(written.bars, written.grid, spot)),
        parts=part_names(parts) if len(parts) > 1 else (),
    )


def _usable_part(parts: Sequence[Part], wanted: str | None, report: Report) -> Part | None:
    part = guitar_part(parts, wanted, report)
    return part if part is not None and _has_usable_bars(part, report) else None


def _passage(
    root: Element, parts: Sequence[Part], part: Part, written: WrittenPart, report: Report
) -> Passage | None:
    fields = fields_of(root)
    written.strings.fields = fields
    read_part(part, staves_of(part, report), written, report)
    others = [other for other in parts if other is not part]
    marks_of_other_parts(others, written.marks, written.grid)
    if report.has_errors:
        return None
    settled = _settle_notes(written, report)
    order = playing_order(len(written.bars), written.marks.flow, report)
    bars = played_bars(written, order)
    played = None if report.has_errors else played_notes(written, bars, report)
    if played is None or settled is None:
        return None
    notes, graces = played
    marks, grid = written.marks, written.grid
    proposed = {*fields.proposed, *settled.proposed}
    return Passage(
        title=title_of(root),
        tuning=settled.tuning,
        bars=bars,
        tempos=played_tempos(marks, bars, grid, report),
        sections=played_sections(marks.sections, bars, grid),
        notes=notes,
        graces=graces,
        fermatas=played_fermatas(marks.fermatas, bars, grid),
        proposed=tuple(kind for kind in Proposed if kind in proposed),
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


class _Settled(NamedTuple):
    tuning: Tuning
    proposed: tuple[Proposed, ...]


def _settle_notes(written: WrittenPart, report: Report) -> _Settled | None:
    """Find out what each note is: its place, its pitch, how it is played; `None` after an error."""
    apply_extents(written.notes, written.extents)
    written.notes = joined_harmonics(written.notes)
    strings = strings_of(written.strings, written.notes, report)
    if strings is None:
        return None
    set_sounding_pitches(written.notes, strings, report)
    written.notes = one_a_string(written.notes, report)
    unplaced = [note for note in written.notes if not note.is_placed]
    is_proposed = place_notes(written.notes, strings, report)
    set_sounding_pitches(unplaced, strings, report)
    join_legato(written.notes, written.signed_notes, report)
    return _Settled(strings.tuning, (Proposed.FINGERING,) if is_proposed else ())
