"""Bars with everything in them."""

from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import Final

from lxml.etree import _Element as Element

from riffract.formats.folding import NO_SIGNS
from riffract.formats.musicxml.writing.attributes import write_change, write_first_attributes
from riffract.formats.musicxml.writing.bar_edges import bar_edges
from riffract.formats.musicxml.writing.barlines import (
    starts_ending,
    write_left_barline,
    write_right_barline,
)
from riffract.formats.musicxml.writing.directions import Mark, marks_of, write_mark
from riffract.formats.musicxml.writing.note_values import note_values
from riffract.formats.musicxml.writing.notes import NoteWriter, SharedSigns, Staff
from riffract.formats.musicxml.writing.sheet import Sheet
from riffract.formats.musicxml.writing.signs import touched_fret
from riffract.formats.musicxml.writing.strips import BarStrips, bar_strips
from riffract.formats.musicxml.writing.tags import child
from riffract.formats.musicxml.writing.voices import Event, Voice, voices_of
from riffract.music import Bar, Note, Technique

_LONGEST_MOVE_QUARTERS: Final = 128
"""How far one `backup` or `forward` goes; a reader may well refuse absurd ones."""


def write_measures(part: Element, sheet: Sheet, *, with_notation: bool) -> None:
    """Add all bars of a passage.

    Args:
        part: where to.
        sheet: what.
        with_notation: whether a staff of notation stands over the tab.
    """
    bars = sheet.passage.bars
    strips = bar_strips(sheet.passage, sheet.divisions)
    voices = [_voices(bar, cut, sheet) for bar, cut in zip(bars, strips, strict=True)]
    staves = _staves(max(map(len, voices)), with_notation=with_notation)
    marks = marks_of(sheet)
    for index, bar in enumerate(bars):
        measure = _open_measure(part, bar, bars[0])
        signs = sheet.signs[index]
        before = sheet.signs[index - 1] if index else NO_SIGNS
        write_left_barline(measure, signs, starts_ending=starts_ending(signs, before))
        if index == 0:
            write_first_attributes(measure, bar, sheet.passage.tuning, staves, sheet.divisions)
        else:
            write_change(measure, bar, bars[index - 1])
        writer = _MeasureWriter(measure, bar, sheet)
        writer.write(voices[index], staves, marks[index])
        is_last = index == len(bars) - 1
        waits = is_last and bar.span.end_quarters in sheet.fermatas
        write_right_barline(measure, signs, is_last=is_last, has_fermata=waits)


def _voices(bar: Bar, cut: BarStrips, sheet: Sheet) -> list[Voice]:
    is_full = bar.length_quarters == bar.metre.length_quarters and not bar.is_free
    if cut.strips or cut.silent_cuts or not is_full:
        return voices_of(cut, bar_edges(bar), sheet.passage.notes, sheet.divisions)
    value = note_values(bar.length_quarters)[0]
    return [[Event(0, cut.length_ticks, value, fills_bar=True)]]


def _staves(most_voices: int, *, with_notation: bool) -> tuple[Staff, ...]:
    if not with_notation:
        return (Staff(number=0, first_voice=1, is_tab=True),)
    return (
        Staff(number=1, first_voice=1, is_tab=False),
        Staff(number=2, first_voice=1 + most_voices, is_tab=True),
    )


def _open_measure(part: Element, bar: Bar, first: Bar) -> Element:
    """Open a bar; one that is not as long as its metre is not counted on the page.

    Source: MusicXML 4.0: "For a pickup measure, the number attribute is typically set to 0 and the
    implicit attribute is typically set to yes".
    """
    has_pick_up = first.length_quarters < first.metre.length_quarters and not first.is_free
    measure = child(part, "measure", number=str(bar.number - has_pick_up))
    if bar.length_quarters != bar.metre.length_quarters and not bar.is_free:
        measure.set("implicit", "yes")
    return measure


class _MeasureWriter:
    """Writes voice after voice into one bar, each from its start."""

    def __init__(self, measure: Element, bar: Bar, sheet: Sheet) -> None:
        self._measure = measure
        self._bar = bar
        self._sheet = sheet
        self._now_ticks = 0

    def write(
        self, voices: Sequence[Voice], staves: Sequence[Staff], marks: Sequence[Mark]
    ) -> None:
        shared = self._shared_signs(voices)
        waiting = list(marks)
        for staff in staves:
            leading = self._first_at_moments(voices)
            for number, voice in enumerate(voices):
                writer = NoteWriter(self._sheet, staff, staff.first_voice + number, shared)
                self._move_to(0)
                for event in voice:
                    self._move_to(event.start_ticks)
                    while waiting and self._ticks(waiting[0]) < event.end_ticks:
                        self._mark(waiting.pop(0), staff)
                    self._event(event, writer, is_leading=leading[event.start_ticks] is event)
        while waiting:
            self._mark(waiting.pop(0), staves[0])

    def _ticks(self, mark: Mark) -> int:
        return self._sheet.ticks(mark.at_quarters - self._bar.start_quarters)

    def _mark(self, mark: Mark, staff: Staff) -> None:
        offset = self._ticks(mark) - self._now_ticks
        write_mark(self._measure, mark, offset_ticks=offset, staff=staff.number)

    @staticmethod
    def _first_at_moments(voices: Sequence[Voice]) -> dict[int, Event]:
        """Tell which event takes the fermata or graces of each moment."""
        leading: dict[int, Event] = {}
        for voice in voices:
            for event in voice:
                leading.setdefault(event.start_ticks, event)
        return leading

    def _event(self, event: Event, writer: NoteWriter, *, is_leading: bool) -> None:
        moment = self._bar.start_quarters + Fraction(event.start_ticks, self._sheet.divisions)
        if is_leading:
            writer.write_graces(self._measure, moment)
        has_fermata = is_leading and moment in self._sheet.fermatas
        writer.write(self._measure, event, has_fermata=has_fermata)
        self._now_ticks = event.end_ticks

    def _move_to(self, ticks: int) -> None:
        name = "forward" if ticks > self._now_ticks else "backup"
        for length in self._moves(abs(ticks - self._now_ticks)):
            child(child(self._measure, name), "duration", length)
        self._now_ticks = ticks

    def _moves(self, ticks: int) -> Iterator[int]:
        longest = _LONGEST_MOVE_QUARTERS * self._sheet.divisions
        while ticks > longest:
            yield longest
            ticks -= longest
        if ticks:
            yield ticks

    def _shared_signs(self, voices: Sequence[Voice]) -> SharedSigns:
        """Tell what all notes have that are written at one moment on one pitch class."""
        written: dict[tuple[int, int], list[Note]] = {}
        for event in (event for voice in voices for event in voice):
            for head in event.heads:
                note = self._sheet.notes[head.row]
                for pitch in self._written_pitches(note):
                    written.setdefault((event.start_ticks, pitch % 12), []).append(note)
        return {key: _shared_by(notes) for key, notes in written.items()}

    def _written_pitches(self, note: Note) -> Iterator[int]:
        yield self._sheet.written_pitch(note)
        touched = touched_fret(note)
        if touched is not None:
            yield self._sheet.passage.tuning.pitch_at(note.string, touched)


def _shared_by(notes: Sequence[Note]) -> Technique:
    """Tell which signs all notes have; tremolo only if they have it alike."""
    shared = notes[0].techniques
    for note in notes[1:]:
        shared &= note.techniques
        if note.tremolo_marks != notes[0].tremolo_marks:
            shared &= ~Technique.TREMOLO
    return shared
