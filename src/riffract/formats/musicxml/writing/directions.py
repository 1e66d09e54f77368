"""Marks over the notes: tempo, sections, palm-mute lines."""

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Final, Literal

from lxml.etree import _Element as Element

from riffract.formats.musicxml.writing.sheet import Sheet
from riffract.formats.musicxml.writing.tags import child, loose, printable
from riffract.music import Passage, Technique, TempoMark

_PALM_MUTE_LINE: Final = "1"
_RAMP_LINE: Final = "2"
_SECTION_LINE: Final = "1"
End = Literal["start", "stop"]


@dataclass(frozen=True, slots=True)
class Mark:
    """A direction, and when it stands.

    Attributes:
        at_quarters: when.
        tag: what, without offset and staff.
    """

    at_quarters: Fraction
    tag: Element


def marks_of(sheet: Sheet) -> list[Sequence[Mark]]:
    """Gather the directions of each bar, in order of time: first what ends, then what starts."""
    passage = sheet.passage
    marks = [
        *_ends_of_palm_mutes(sheet),
        *_ends_of_ramps(passage),
        *_ends_of_sections(passage),
        *_starts_of_palm_mutes(sheet),
        *_starts_of_ramps(passage),
        *_starts_of_sections(passage),
        *_tempos(passage),
    ]
    marks.sort(key=lambda mark: mark.at_quarters)
    times = [mark.at_quarters for mark in marks]
    edges = [bisect_left(times, bar.start_quarters) for bar in passage.bars]
    spans = pairwise([*edges, len(marks)])
    return [marks[a:b] for a, b in spans]


def write_mark(measure: Element, mark: Mark, *, offset_ticks: int, staff: int) -> None:
    """Add a direction where the music stands, or `offset_ticks` later.

    Source: MusicXML 4.0, `offset`: with `sound` it holds for what is heard, too.
    """
    measure.append(mark.tag)
    at = next((i for i, tag in enumerate(mark.tag) if tag.tag == "sound"), len(mark.tag))
    if staff:
        number = loose("staff")
        number.text = str(staff)
        mark.tag.insert(at, number)
    if offset_ticks:
        offset = loose("offset")
        offset.set("sound", "yes")
        offset.text = str(offset_ticks)
        mark.tag.insert(at, offset)


def _direction() -> Element:
    direction = loose("direction")
    direction.set("placement", "above")
    return direction


def _starts_of_sections(passage: Passage) -> Iterator[Mark]:
    for section in passage.sections:
        direction = _direction()
        kind = child(direction, "direction-type")
        child(kind, "rehearsal", printable(section.label), enclosure="square")
        if _ends_alone(passage, section.span.end_quarters):
            _bracket(direction, "start")
        yield Mark(section.span.start_quarters, direction)


def _ends_of_sections(passage: Passage) -> Iterator[Mark]:
    """Close the bracket over a section that neither another one nor the music's end closes."""
    for section in passage.sections:
        if _ends_alone(passage, section.span.end_quarters):
            direction = _direction()
            _bracket(direction, "stop")
            yield Mark(section.span.end_quarters, direction)


def _ends_alone(passage: Passage, end_quarters: Fraction) -> bool:
    starts = {section.span.start_quarters for section in passage.sections}
    return end_quarters < passage.length_quarters and end_quarters not in starts


def _bracket(direction: Element, end: End) -> None:
    kind = child(direction, "direction-type")
    child(kind, "bracket", type=end, number=_SECTION_LINE, line_end="down")


def _tempos(passage: Passage) -> Iterator[Mark]:
    for mark in passage.tempos:
        direction = _direction()
        direction.set("directive", "yes")
        metronome = child(child(direction, "direction-type"), "metronome")
        child(metronome, "beat-unit", "quarter")
        child(metronome, "per-minute", f"{mark.quarters_per_minute:.5g}")
        child(direction, "sound", tempo=repr(float(mark.quarters_per_minute)))
        yield Mark(mark.at_quarters, direction)


def _starts_of_ramps(passage: Passage) -> Iterator[Mark]:
    for mark, goal in zip(passage.tempos, [*passage.tempos[1:], None], strict=True):
        if mark.is_ramp:
            yield _line_with_words(mark.at_quarters, _ramp_words(mark, goal), _RAMP_LINE)


def _ends_of_ramps(passage: Passage) -> Iterator[Mark]:
    for mark, goal in pairwise(passage.tempos):
        if mark.is_ramp:
            yield _line_end(goal.at_quarters, _RAMP_LINE)


def _ramp_words(mark: TempoMark, goal: TempoMark | None) -> str:
    is_faster = goal is not None and goal.quarters_per_minute > mark.quarters_per_minute
    return "accel." if is_faster else "rit."


def _line_with_words(at_quarters: Fraction, words: str, number: str) -> Mark:
    direction = _direction()
    child(child(direction, "direction-type"), "words", words)
    child(child(direction, "direction-type"), "dashes", type="start", number=number)
    return Mark(at_quarters, direction)


def _line_end(at_quarters: Fraction, number: str) -> Mark:
    direction = _direction()
    child(child(direction, "direction-type"), "dashes", type="stop", number=number)
    return Mark(at_quarters, direction)


def _starts_of_palm_mutes(sheet: Sheet) -> Iterator[Mark]:
    for start, _ in _palm_muted(sheet):
        yield _line_with_words(start, "P.M.", _PALM_MUTE_LINE)


def _ends_of_palm_mutes(sheet: Sheet) -> Iterator[Mark]:
    for _, end in _palm_muted(sheet):
        yield _line_end(end, _PALM_MUTE_LINE)


def _palm_muted(sheet: Sheet) -> Iterator[tuple[Fraction, Fraction]]:
    """List the stretches in which every attack is palm-muted on all its strings.

    Each ends with the last of its notes, or with the next attack if that comes first.
    """
    start: Fraction | None = None
    end = Fraction(0)
    for onset, is_muted, attack_end in _attacks(sheet):
        if is_muted:
            start = onset if start is None else start
            end = attack_end
        elif start is not None:
            yield start, min(end, onset)
            start = None
    if start is not None:
        yield start, end


def _attacks(sheet: Sheet) -> Iterator[tuple[Fraction, bool, Fraction]]:
    """Yield onset, whether its notes and graces are palm-muted, and the last end, by attack."""
    notes = sheet.notes
    first = 0
    while first < len(notes):
        onset = notes[first].onset_quarters
        last = first
        while last + 1 < len(notes) and notes[last + 1].onset_quarters == onset:
            last += 1
        together = notes[first : last + 1]
        graces = [sheet.passage.graces[i] for i in sheet.graces_at.get(onset, ())]
        techniques = [*(n.techniques for n in graces), *(n.techniques for n in together)]
        is_muted = all(Technique.PALM_MUTE in each for each in techniques)
        yield onset, is_muted, max(note.end_quarters for note in together)
        first = last + 1
