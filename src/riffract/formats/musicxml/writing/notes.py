"""Notes, rests and graces as tags."""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from lxml.etree import _Element as Element

from riffract.formats.musicxml.writing.note_values import NoteValue, note_values
from riffract.formats.musicxml.writing.pitches import write_pitch
from riffract.formats.musicxml.writing.sheet import Sheet
from riffract.formats.musicxml.writing.signs import (
    Played,
    touched_fret,
    write_harmonic,
    write_place,
    write_signs,
)
from riffract.formats.musicxml.writing.tags import append_filled, child, loose
from riffract.formats.musicxml.writing.voices import Event, Head
from riffract.music import Note, Technique
from riffract.music.notes import PLAIN, Grace

WRITTEN_UP_SEMITONES: Final = 12
"""A guitar is written an octave higher than it sounds; `transpose` says so."""


@dataclass(frozen=True, slots=True)
class Staff:
    """Where notes are written.

    Attributes:
        number: its place from the top; 0 if there is no other staff.
        first_voice: the number of its first voice.
        is_tab: whether strings and frets are written.
    """

    number: int
    first_voice: int
    is_tab: bool


SharedSigns = Mapping[tuple[int, int], Technique]
"""What all notes that are written at a moment (ticks of the bar) on one pitch class have."""

_ONCE_A_CHORD: Final = (
    Technique.ACCENT | Technique.STACCATO | Technique.UP_STROKE | Technique.DOWN_STROKE
)
"""Signs that stand once over or under a chord of notation, and say it of all its notes."""


@dataclass(frozen=True, slots=True)
class NoteWriter:
    """Writes the notes of one voice of one staff.

    Attributes:
        sheet: what is written.
        staff: where.
        voice: its number.
        shared: on notation, signs that may be written: a reader that takes the tab for its notes
            takes signs from here by moment and pitch class.
    """

    sheet: Sheet
    staff: Staff
    voice: int
    shared: SharedSigns

    def write(self, measure: Element, event: Event, *, has_fermata: bool) -> None:
        """Add a chord or rest."""
        if not event.heads:
            self._rest(measure, event, has_fermata=has_fermata)
        is_first = True
        for head in event.heads:
            self._note(measure, event, head, is_first=is_first, has_fermata=has_fermata)
            is_first = False

    def _rest(self, measure: Element, event: Event, *, has_fermata: bool) -> None:
        note = child(measure, "note")
        rest = child(note, "rest")
        child(note, "duration", event.duration_ticks)
        child(note, "voice", self.voice)
        if event.fills_bar:
            rest.set("measure", "yes")
        else:
            _write_value(note, event.value)
        self._staff(note)
        notations = loose("notations")
        _write_brackets(notations, event)
        if has_fermata:
            child(notations, "fermata")
        append_filled(note, notations)

    def _staff(self, note: Element) -> None:
        if self.staff.number:
            child(note, "staff", self.staff.number)

    def _note(
        self, measure: Element, event: Event, head: Head, *, is_first: bool, has_fermata: bool
    ) -> None:
        played = self.sheet.notes[head.row]
        note = child(measure, "note")
        if head.is_end and head.row in self.sheet.releases:
            note.set("release", str(self.sheet.ticks(self.sheet.releases[head.row])))
        if not is_first:
            child(note, "chord")
        pitch = self.sheet.written_pitch(played)
        write_pitch(child(note, "pitch"), pitch + WRITTEN_UP_SEMITONES)
        child(note, "duration", event.duration_ticks)
        self._ties(note, head)
        child(note, "voice", self.voice)
        _write_value(note, event.value)
        techniques = self._techniques(played, event, pitch)
        if not self.staff.is_tab:
            techniques &= ~self._said_before(event, head)
        if Technique.DEAD in techniques:
            child(note, "notehead", "x")
        self._staff(note)
        notations = loose("notations")
        self._notations(notations, event, head, techniques)
        if is_first:
            _write_brackets(notations, event)
            if has_fermata:
                child(notations, "fermata")
        append_filled(note, notations)
        _write_play(note, techniques)
        touched = touched_fret(played)
        if head.is_start and touched is not None:
            self._touched(measure, event, played, touched)

    def _techniques(self, played: Note, event: Event, pitch: int) -> Technique:
        if self.staff.is_tab:
            return played.techniques
        return played.techniques & self.shared[event.start_ticks, pitch % 12]

    def _said_before(self, event: Event, head: Head) -> Technique:
        """Tell which signs that stand once a chord an earlier note of it bears."""
        said = Technique(0)
        for other in event.heads[: event.heads.index(head)]:
            played = self.sheet.notes[other.row]
            said |= self._techniques(played, event, self.sheet.written_pitch(played))
        return said & _ONCE_A_CHORD

    def _ties(self, note: Element, head: Head) -> None:
        if not head.is_start:
            child(note, "tie", type="stop")
        if not head.is_end:
            child(note, "tie", type="start")

    def _notations(
        self, notations: Element, event: Event, head: Head, techniques: Technique
    ) -> None:
        if not head.is_start:
            child(notations, "tied", type="stop")
        if not head.is_end:
            child(notations, "tied", type="start")
        elif Technique.LET_RING in techniques:
            child(notations, "tied", type="let-ring")
        played = self.sheet.notes[head.row]
        signs = Played(
            techniques=techniques,
            starts_here=head.is_start,
            ends_here=head.is_end,
            leads_to=self.sheet.legato.on_notes.get(head.row, PLAIN),
            string=played.string if self.staff.is_tab else None,
            fret=played.fret,
            bend=played.bend,
            other_fret=played.other_fret,
            tremolo_marks=played.tremolo_marks,
            beams=event.value.beams,
        )
        write_signs(notations, signs)

    def _touched(self, measure: Element, event: Event, played: Note, fret: int) -> None:
        """Add the place where a stopped string is touched, as a diamond in the chord."""
        note = child(measure, "note")
        child(note, "chord")
        pitch = self.sheet.passage.tuning.pitch_at(played.string, fret)
        write_pitch(child(note, "pitch"), pitch + WRITTEN_UP_SEMITONES)
        child(note, "duration", event.duration_ticks)
        child(note, "voice", self.voice)
        _write_value(note, event.value)
        child(note, "notehead", "diamond")
        self._staff(note)
        technical = child(child(note, "notations"), "technical")
        write_harmonic(technical, played.techniques, "touching-pitch")
        if self.staff.is_tab:
            write_place(technical, played.string, fret)

    def write_graces(self, measure: Element, at_quarters: Fraction) -> None:
        """Add the graces that lead to a moment."""
        place_before: int | None = None
        for index in self.sheet.graces_at.get(at_quarters, ()):
            grace = self.sheet.passage.graces[index]
            self._grace(measure, index, grace, is_chord=grace.place == place_before)
            place_before = grace.place

    def _grace(self, measure: Element, index: int, grace: Grace, *, is_chord: bool) -> None:
        note = child(measure, "note")
        child(note, "grace", slash="yes" if grace.is_slashed else "no")
        if is_chord:
            child(note, "chord")
        write_pitch(child(note, "pitch"), self.sheet.written_pitch(grace) + WRITTEN_UP_SEMITONES)
        child(note, "voice", self.voice)
        _write_value(note, note_values(grace.value_quarters)[0])
        if Technique.DEAD in grace.techniques:
            child(note, "notehead", "x")
        self._staff(note)
        notations = loose("notations")
        if Technique.LET_RING in grace.techniques:
            child(notations, "tied", type="let-ring")
        signs = Played(
            techniques=grace.techniques,
            leads_to=self.sheet.legato.on_graces.get(index, PLAIN),
            string=grace.string if self.staff.is_tab else None,
            fret=grace.fret,
            bend=grace.bend,
        )
        write_signs(notations, signs)
        append_filled(note, notations)
        _write_play(note, grace.techniques)


def _write_value(note: Element, value: NoteValue) -> None:
    child(note, "type", value.kind)
    for _ in range(value.dots):
        child(note, "dot")
    if value.is_in_tuplet:
        ratio = child(note, "time-modification")
        child(ratio, "actual-notes", value.actual)
        child(ratio, "normal-notes", value.normal)


def _write_brackets(notations: Element, event: Event) -> None:
    if event.opens_tuplet:
        child(notations, "tuplet", type="start", number="1", bracket="yes")
    if event.closes_tuplet:
        child(notations, "tuplet", type="stop", number="1")


def _write_play(note: Element, techniques: Technique) -> None:
    if Technique.PALM_MUTE in techniques:
        child(child(note, "play"), "mute", "palm")
