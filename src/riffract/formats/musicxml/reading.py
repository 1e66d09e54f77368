"""Read one part bar by bar into written notes and bars."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Final

from lxml.etree import _Element as Element

from riffract.formats.musicxml.barring import Barring
from riffract.formats.musicxml.clock import Clock, Timed
from riffract.formats.musicxml.directions import Directions
from riffract.formats.musicxml.flow import Flow
from riffract.formats.musicxml.legato import SignedNote
from riffract.formats.musicxml.numbers import decimal_number, whole_number
from riffract.formats.musicxml.pitches import transposition_semitones, written_pitch
from riffract.formats.musicxml.report import Report, Spot
from riffract.formats.musicxml.score import Measure, Part, Staves, staff_number
from riffract.formats.musicxml.signs import Signs, signs_of
from riffract.formats.musicxml.string_facts import StringFacts
from riffract.formats.musicxml.written import (
    Extent,
    Marks,
    WrittenBar,
    WrittenNote,
)
from riffract.music import Technique
from riffract.music.tuning import MOST_FRETS, MOST_STRINGS

MOST_NOTES: Final = 100_000

_SHARED_BY_STAVES: Final = (
    Technique.ACCENT
    | Technique.STACCATO
    | Technique.PALM_MUTE
    | Technique.LET_RING
    | Technique.VIBRATO
    | Technique.DEAD
)
_LOOKS_ONLY: Final = frozenset({"multiple-rest"})
_LEFT_OUT_IN_BAR: Final = frozenset({"harmony", "figured-bass"})


@dataclass(slots=True)
class WrittenPart:
    """What a part holds, as written.

    Attributes:
        bars: in order.
        notes: sorted by start, then as in the file.
        signed_notes: notes with ends of legato signs, grace notes among them, sorted by start.
        extents: stretches of a technique.
        marks: tempo, sections and flow.
        strings: what the part says about its strings.
    """

    bars: list[WrittenBar] = field(default_factory=list)
    notes: list[WrittenNote] = field(default_factory=list)
    signed_notes: list[SignedNote] = field(default_factory=list)
    extents: list[Extent] = field(default_factory=list)
    marks: Marks = field(default_factory=Marks)
    strings: StringFacts = field(default_factory=StringFacts)


@dataclass(slots=True)
class _PartReader:
    staves: Staves
    report: Report
    written: WrittenPart
    clock: Clock
    directions: Directions
    barring: Barring
    transposition: dict[int, int] = field(default_factory=dict)
    linked_signs: dict[tuple[int, Fraction, int], Technique] = field(default_factory=dict)
    open_waves: dict[str, WrittenNote] = field(default_factory=dict)
    is_full: bool = False

    def read_bar(self, measure: Measure, bar: int) -> None:
        errors_before = self.report.error_count
        for timed in self.clock.walk(measure, bar):
            match timed.tag.tag:
                case "note":
                    self._note(timed)
                case "attributes":
                    self._attributes(timed.tag, timed.spot)
                case left_out if left_out in _LEFT_OUT_IN_BAR:
                    self.report.left_out(str(left_out), timed.spot)
                case _:
                    self.directions.read(timed)
        is_sound = self.report.error_count == errors_before
        self.written.bars.append(self.barring.close_bar(measure, bar, is_sound=is_sound))

    # --- attributes -------------------------------------------------------------------------

    def _attributes(self, attributes: Element, spot: Spot) -> None:
        for tag in attributes:
            is_ours = tag.get("number") is None or self._is_read(staff_number(tag.get("number")))
            match tag.tag:
                case "time" if is_ours:
                    self.barring.change_metre(tag, spot)
                case "transpose":
                    self._transpose(tag, spot)
                case "staff-details":
                    self.written.strings.add_staff_details(tag, self.staves.tab, self.report, spot)
                case "measure-style" | "for-part":
                    for sign in tag:
                        if sign.tag not in _LOOKS_ONLY:
                            self.report.left_out(str(sign.tag), spot)
                case _:
                    pass

    def _is_read(self, staff: int) -> bool:
        return staff in self.staves.read

    def _transpose(self, tag: Element, spot: Spot) -> None:
        semitones = transposition_semitones(tag, self.report, spot)
        number = tag.get("number")
        staves = self.staves.read | self.staves.linked if number is None else {staff_number(number)}
        for staff in staves:
            self.transposition[staff] = semitones

    # --- notes ------------------------------------------------------------------------------

    def _note(self, timed: Timed) -> None:
        inside, spot = timed.inside, timed.spot
        staff = staff_number(inside["staff"].text) if "staff" in inside else 1
        is_read = self._is_read(staff)
        if "rest" in inside or not (is_read or staff in self.staves.linked):
            return
        signs = signs_of(timed.tag, spot, self.report)
        if "grace" in inside or "cue" in inside:
            self._small_note(signs, spot, is_grace="grace" in inside, is_read=is_read)
            return
        pitch = self._pitch(inside.get("pitch"), staff, spot)
        if not is_read:
            self._remember_linked(signs, pitch, spot)
        elif timed.duration_quarters and self._has_room(spot):
            self._add(timed, signs, pitch)

    def _small_note(self, signs: Signs, spot: Spot, *, is_grace: bool, is_read: bool) -> None:
        if not is_read:
            return
        if not is_grace:
            self.report.warn(
                "cue",
                "a cue note is left out, since another instrument plays it",
                "write it as an ordinary note if the guitar plays it",
                spot,
            )
            return
        if signs.legato:
            self.written.signed_notes.append(SignedNote(spot, None, tuple(signs.legato)))
        self.report.warn(
            "grace",
            "a grace note is left out, since it has no time of its own",
            "write it with the time that it takes, if it matters",
            spot,
        )

    def _pitch(self, element: Element | None, staff: int, spot: Spot) -> int | None:
        if element is None:
            return None
        pitch = written_pitch(element, self.report, spot)
        return None if pitch is None else pitch + self.transposition.get(staff, 0)

    def _remember_linked(self, signs: Signs, pitch: int | None, spot: Spot) -> None:
        shared = signs.techniques & _SHARED_BY_STAVES
        if shared and pitch is not None:
            key = (spot.bar, spot.position_quarters, pitch % 12)
            self.linked_signs[key] = self.linked_signs.get(key, Technique(0)) | shared

    def _has_room(self, spot: Spot) -> bool:
        if len(self.written.notes) < MOST_NOTES:
            return True
        if not self.is_full:
            self.is_full = True
            self.report.error(
                f"the part holds more than {MOST_NOTES:,} notes", "export a shorter passage", spot
            )
        return False

    def _add(self, timed: Timed, signs: Signs, pitch: int | None) -> None:
        spot = timed.spot
        techniques = signs.techniques
        if "unpitched" in timed.inside:
            techniques |= Technique.DEAD
        string = self._number(signs.string_text, "string", 1, MOST_STRINGS, spot)
        fret_text = (signs.fret_text or "").strip()
        if fret_text in {"x", "X"}:
            techniques |= Technique.DEAD
            fret_text = "0"
        elif signs.harmonic is not None and (exact := decimal_number(fret_text)) is not None:
            fret_text = str(round(exact))  # nodes beside the fret, such as 2.7 and 3.2
        elif not fret_text and string is not None and Technique.DEAD in techniques:
            fret_text = "0"
        fret = self._number(fret_text or signs.fret_text, "fret", 0, MOST_FRETS, spot)
        if timed.tag.get("print-object") == "no":
            self.report.warn(
                "hidden",
                "a note that is not printed is read like any other",
                "take it out if it only serves playback",
                spot,
            )
        note = WrittenNote(
            spot=spot,
            duration_quarters=timed.duration_quarters,
            voice=(timed.inside["voice"].text or "") if "voice" in timed.inside else "",
            pitch=pitch,
            string=string,
            fret=fret,
            techniques=techniques,
            bend_cents=signs.bend_cents,
            harmonic=signs.harmonic,
            is_tie_start=signs.is_tie_start,
            is_tie_stop=signs.is_tie_stop,
            release_quarters=self.clock.release_quarters(timed.tag, spot),
        )
        self.written.notes.append(note)
        if signs.legato:
            self.written.signed_notes.append(SignedNote(spot, note, tuple(signs.legato)))
        self._wave(note, signs)
        if signs.has_slur_stop and not any(end.end == "stop" for end in signs.legato):
            self.report.warn(
                "slur",
                "a slur is not read as a hammer-on, pull-off or slide",
                "write `hammer-on`, `pull-off` or `slide` where one is played",
                spot,
            )

    def _number(self, text: str | None, name: str, low: int, high: int, spot: Spot) -> int | None:
        if text is None:
            return None
        number = whole_number(text, low, high)
        if number is None:
            self.report.error(
                f"a {name} is a number from {low} to {high}, found {text.strip()[:20]!r}",
                f"write the {name} as a number"
                + (", 1 for the highest-lying string" if name == "string" else ""),
                spot,
            )
        return number

    def _wave(self, note: WrittenNote, signs: Signs) -> None:
        """Turn ends of vibrato lines into stretches of their voice."""
        for end in signs.waves:
            started = self.open_waves.pop(note.voice, None)
            if started is not None:
                self._close_wave(started, note)
            if end == "start":
                self.open_waves[note.voice] = note

    def _close_wave(self, started: WrittenNote, ended: WrittenNote) -> None:
        if started is ended:
            started.techniques |= Technique.VIBRATO
            return
        stretch = Extent(Technique.VIBRATO, started.start, ended.start, started.voice)
        self.written.extents.append(stretch)

    def finish(self) -> None:
        for note in self.open_waves.values():
            self._close_wave(note, note)
        self.written.notes.sort(key=lambda n: n.start)
        self.written.signed_notes.sort(key=lambda s: (s.spot.bar, s.spot.position_quarters))
        self.written.extents.extend(self.directions.extents())
        for note in self.written.notes:
            if self.linked_signs and note.pitch is not None:
                key = (*note.start, note.pitch % 12)
                note.techniques |= self.linked_signs.get(key, Technique(0))


def read_part(part: Part, staves: Staves, written: WrittenPart, report: Report) -> None:
    """Read the bars, notes and marks of a part into `written`; problems go to the report."""
    clock = Clock(report)
    directions = Directions(report, clock, written.marks, written.strings.scordatura)
    reader = _PartReader(staves, report, written, clock, directions, Barring(report, clock))
    for bar, measure in enumerate(part.measures):
        reader.read_bar(measure, bar)
    reader.finish()


def marks_of_other_parts(parts: Iterable[Part], marks: Marks) -> None:
    """Add tempos, sections and flow that only stand in other parts.

    A score often prints them over its top part only. What the part itself says goes first;
    mistakes in other parts are none of this reader's business.
    """
    for part in parts:
        unheard = Report()
        clock = Clock(unheard)
        directions = Directions(unheard, clock)
        for bar, measure in enumerate(part.measures):
            for timed in clock.walk(measure, bar):
                directions.read(timed)
        for at, tempo in directions.marks.tempos.items():
            marks.tempos.setdefault(at, tempo)
        for at, label in directions.marks.sections.items():
            marks.sections.setdefault(at, label)
        for bar, flow in directions.marks.flow.items():
            marks.flow[bar] = marks.flow.get(bar, Flow()).or_else(flow)
