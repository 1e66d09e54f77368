"""Read one part bar by bar into written notes and bars."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Final, NamedTuple

from lxml.etree import _Element as Element

from riffract.formats.musicxml.barring import Barring
from riffract.formats.musicxml.clock import Clock, Timed
from riffract.formats.musicxml.directions import Directions
from riffract.formats.musicxml.flow import Flow
from riffract.formats.musicxml.grid import Grid, Ticks, grid_of
from riffract.formats.musicxml.legato import SignedNote
from riffract.formats.musicxml.noting import tremolo_marks, voice_of, written_note
from riffract.formats.musicxml.pitches import transposition_semitones, written_pitch
from riffract.formats.musicxml.report import Report, Spot
from riffract.formats.musicxml.score import Measure, Part, Staves, staff_number
from riffract.formats.musicxml.signs import Signs, Trill, signs_of
from riffract.formats.musicxml.string_facts import StringFacts
from riffract.formats.musicxml.trills import Key, trill_semitones, warn_of_trill
from riffract.formats.musicxml.waves import Waves
from riffract.formats.musicxml.written import BarTime, Extent, Marks, WrittenBar, WrittenNote
from riffract.music import Technique
from riffract.music.notes import PLAIN

MOST_NOTES: Final = 100_000

_SHARED_BY_STAVES: Final = (
    Technique.ACCENT
    | Technique.STACCATO
    | Technique.PALM_MUTE
    | Technique.LET_RING
    | Technique.VIBRATO
    | Technique.DEAD
    | Technique.TRILL
    | Technique.TREMOLO
    | Technique.DOWN_STROKE
    | Technique.UP_STROKE
    | Technique.SCOOP
    | Technique.PLOP
    | Technique.DOIT
    | Technique.FALLOFF
)
_LOOKS_ONLY: Final = frozenset({"multiple-rest"})
_LEFT_OUT_IN_BAR: Final = frozenset({"harmony", "figured-bass"})
_COARSEST: Final = Grid(1)


@dataclass(slots=True)
class WrittenPart:
    """What a part holds, as written.

    Attributes:
        grid: what its times are counted in.
        bars: in order.
        notes: sorted by start, graces before the notes they lead to, then as in the file.
        signed_notes: notes with ends of legato signs, in the same order.
        extents: stretches of a technique.
        marks: tempo, fermatas, sections and flow.
        strings: what the part says about its strings.
    """

    grid: Grid = _COARSEST
    bars: list[WrittenBar] = field(default_factory=list)
    notes: list[WrittenNote] = field(default_factory=list)
    signed_notes: list[SignedNote] = field(default_factory=list)
    extents: list[Extent] = field(default_factory=list)
    marks: Marks = field(default_factory=Marks)
    strings: StringFacts = field(default_factory=StringFacts)


class _Shared(NamedTuple):
    """What a note on the staff beside the tab lends to its twin there."""

    techniques: Technique = PLAIN
    tremolo_marks: int = 0
    trill: Trill | None = None
    trill_semitones: int | None = None


@dataclass(slots=True)
class _Graces:
    """Counts the graces of each voice that lead to one moment."""

    before: dict[str, tuple[BarTime, int]] = field(default_factory=dict)

    def place(self, voice: str, at: BarTime, *, is_chord: bool) -> int:
        last_at, last = self.before.get(voice, (at, -1))
        place = max(last, 0) if is_chord else last + 1
        place = place if last_at == at else 0
        self.before[voice] = (at, place)
        return place


@dataclass(slots=True)
class _PartReader:
    staves: Staves
    report: Report
    written: WrittenPart
    clock: Clock
    directions: Directions
    barring: Barring
    waves: Waves
    key: Key = field(default_factory=Key)
    graces: _Graces = field(default_factory=_Graces)
    transposition: dict[int, int] = field(default_factory=dict)
    linked: dict[tuple[int, Ticks, int], _Shared] = field(default_factory=dict)
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
                case "key" if is_ours:
                    self.key.change(tag)
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
        is_read = staff in self.staves.read
        if not (is_read or staff in self.staves.linked):
            return
        if "rest" in inside and "notations" not in inside and "lyric" not in inside:
            return
        signs = signs_of(timed.children, spot, self.report)
        if signs.has_fermata:
            self.written.marks.fermatas.add(spot[1:])
        if "rest" in inside:
            return
        if "cue" in inside:
            self._cue(spot, is_read=is_read)
            return
        pitch = self._pitch(inside.get("pitch"), staff, spot)
        if not is_read:
            self._remember_linked(timed, signs, pitch)
        elif (timed.duration_ticks or "grace" in inside) and self._has_room(spot):
            self._add(timed, signs, pitch)

    def _cue(self, spot: Spot, *, is_read: bool) -> None:
        if is_read:
            self.report.warn(
                "cue",
                "a cue note is left out, since another instrument plays it",
                "write it as an ordinary note if the guitar plays it",
                spot,
            )

    def _pitch(self, element: Element | None, staff: int, spot: Spot) -> int | None:
        if element is None:
            return None
        pitch = written_pitch(element, self.report, spot)
        return None if pitch is None else pitch + self.transposition.get(staff, 0)

    def _trill_semitones(self, timed: Timed, signs: Signs) -> int | None:
        pitch = timed.inside.get("pitch")
        if signs.trill is None or signs.trill.fret is not None or pitch is None:
            return None
        return trill_semitones(signs.trill, pitch, self.key)

    def _remember_linked(self, timed: Timed, signs: Signs, pitch: int | None) -> None:
        techniques = signs.techniques & _SHARED_BY_STAVES if signs.techniques else PLAIN
        if pitch is None or "grace" in timed.inside:
            return
        if techniques:
            shared = _Shared(
                techniques,
                tremolo_marks(timed, signs),
                signs.trill,
                self._trill_semitones(timed, signs),
            )
            key = (*timed.spot[1:], pitch % 12)
            before = self.linked.get(key, _Shared())
            self.linked[key] = shared._replace(techniques=before.techniques | techniques)

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
        place = self._grace_place(timed)
        note = written_note(timed, signs, pitch, self.report, grace_place=place)
        note.release_ticks = self.clock.release_ticks(timed.tag, timed.spot)
        if signs.trill is not None:
            self._trill(note, timed, signs)
        if place is not None and (note.is_tie_start or note.is_tie_stop):
            self._untie(note)
        self.written.notes.append(note)
        if signs.legato:
            self.written.signed_notes.append(SignedNote(note, tuple(signs.legato)))
        if signs.waves:
            self.waves.read(note, signs.waves)
        if signs.has_slur_stop and not any(end.end == "stop" for end in signs.legato):
            self.report.warn(
                "slur",
                "a slur is not read as a hammer-on, pull-off or slide",
                "write `hammer-on`, `pull-off` or `slide` where one is played",
                timed.spot,
            )

    def _grace_place(self, timed: Timed) -> int | None:
        if "grace" not in timed.inside:
            return None
        is_chord = "chord" in timed.inside
        return self.graces.place(voice_of(timed), timed.spot[1:], is_chord=is_chord)

    def _trill(self, note: WrittenNote, timed: Timed, signs: Signs) -> None:
        if signs.trill is not None and (signs.trill.fret or "?") != "?":
            note.other_fret = int(signs.trill.fret or 0)
        note.other_semitones = self._trill_semitones(timed, signs)
        if note.other_semitones is not None and signs.trill is not None:
            warn_of_trill(signs.trill, self.report, note.spot)

    def _untie(self, grace: WrittenNote) -> None:
        grace.is_tie_start = grace.is_tie_stop = False
        self.report.warn(
            "grace tie",
            "the tie of a grace note is left out; the note after it is struck anew",
            "write the grace note with the time that it takes, if it matters",
            grace.spot,
        )

    # --- at the end -------------------------------------------------------------------------

    def finish(self) -> None:
        self.waves.close()
        self.written.notes.sort(key=lambda n: n.moment)
        self.written.signed_notes.sort(key=lambda s: s.note.moment)
        self.written.extents.extend(self.directions.extents())
        self.written.extents.extend(self.waves.extents)
        if self.linked:
            _lend_signs(self.written.notes, self.linked, self.report)


def _lend_signs(
    notes: Iterable[WrittenNote], linked: Mapping[tuple[int, Ticks, int], _Shared], report: Report
) -> None:
    for note in notes:
        if note.pitch is None or note.grace is not None:
            continue
        shared = linked.get((*note.start, note.pitch % 12))
        if shared is not None:
            if shared.trill is not None and Technique.TRILL not in note.techniques:
                note.other_semitones = shared.trill_semitones
                warn_of_trill(shared.trill, report, note.spot)
            note.techniques |= shared.techniques
            note.tremolo_marks = note.tremolo_marks or shared.tremolo_marks


def read_part(part: Part, staves: Staves, written: WrittenPart, report: Report) -> None:
    """Read the bars, notes and marks of a part into `written`; problems go to the report."""
    written.grid = grid_of(part)
    clock = Clock(report, written.grid)
    directions = Directions(report, clock, written.marks, written.strings.scordatura)
    barring = Barring(report, clock)
    reader = _PartReader(staves, report, written, clock, directions, barring, Waves(report))
    for bar, measure in enumerate(part.measures):
        reader.read_bar(measure, bar)
    reader.finish()


def marks_of_other_parts(parts: Iterable[Part], marks: Marks, grid: Grid) -> None:
    """Add tempos, sections and flow that only stand in other parts.

    A score often prints them over its top part only. What the part itself says goes first;
    mistakes in other parts are none of this reader's business.
    """
    for part in parts:
        unheard = Report()
        clock = Clock(unheard, grid)
        directions = Directions(unheard, clock)
        for bar, measure in enumerate(part.measures):
            for timed in clock.walk(measure, bar):
                directions.read(timed)
        for at, tempo in directions.marks.tempos.items():
            marks.tempos.setdefault(at, tempo)
        for at, ramp in directions.marks.ramps.items():
            marks.ramps.setdefault(at, ramp)
        for at, label in directions.marks.sections.items():
            marks.sections.setdefault(at, label)
        for bar, flow in directions.marks.flow.items():
            marks.flow[bar] = marks.flow.get(bar, Flow()).or_else(flow)
