"""The strings of the instrument: as the file tunes them, or as its notes tell."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import product
from typing import Final

from lxml.etree import _Element as Element

from riffract.formats.musicxml.numbers import whole_number
from riffract.formats.musicxml.pitches import is_midi_pitch, step_alter_octave
from riffract.formats.musicxml.report import NOWHERE, Report, Spot, line_of
from riffract.formats.musicxml.score import staff_number
from riffract.formats.musicxml.written import WrittenNote
from riffract.music import Technique, Tuning, pitch_name
from riffract.music.tuning import FEWEST_STRINGS, MOST_FRETS, MOST_STRINGS

USUAL_FRETS: Final = 24
USUAL_STRINGS: Final = 6

_TUNING_NAMES: Final = ("tuning-step", "tuning-alter", "tuning-octave")
_STANDARD: Final = {
    4: (28, 33, 38, 43),
    5: (23, 28, 33, 38, 43),
    6: (40, 45, 50, 55, 59, 64),
}
_FOURTH: Final = 5
_MOST_SAY: Final = 0.9
_FEWEST_TO_AGREE: Final = 2
_OCTAVES: Final = (0, 12, -12)

Offsets = Counter[tuple[int, int]]
"""How often a string is seen with a certain difference of written pitch and fret."""


def standard_tuning(strings: int) -> tuple[int, ...]:
    """Give the usual open strings, low to high: 4 and 5 as basses, 6 and more as guitars.

    Source: common practice: fourths with a third between strings 3 and 2; further low strings go
    on down in fourths.

    >>> standard_tuning(7)
    (35, 40, 45, 50, 55, 59, 64)
    """
    if strings <= USUAL_STRINGS:
        return _STANDARD[strings]
    lower = tuple(40 - _FOURTH * step for step in range(strings - USUAL_STRINGS, 0, -1))
    return lower + _STANDARD[USUAL_STRINGS]


@dataclass(slots=True)
class _StaffFacts:
    pitch_of_line: dict[int, int] = field(default_factory=dict)
    lines: int = 0
    capo: int = 0


@dataclass(slots=True)
class StringFacts:
    """What a part says about its strings.

    Attributes:
        scordatura: tags that tune single strings.
    """

    scordatura: list[Element] = field(default_factory=list)
    _tab: _StaffFacts = field(default_factory=_StaffFacts)
    _elsewhere: _StaffFacts = field(default_factory=_StaffFacts)

    def add_staff_details(
        self, details: Element, tab: int | None, report: Report, spot: Spot
    ) -> None:
        """Read the lines, their pitches and the capo; changes within the music are reported."""
        number = details.get("number")
        is_elsewhere = number is not None and tab not in {None, staff_number(number)}
        facts = self._elsewhere if is_elsewhere else self._tab
        if tab is not None and not facts.lines:
            facts.lines = whole_number(details.findtext("staff-lines"), 1, MOST_STRINGS) or 0
        for tuning in details.iterfind("staff-tuning"):
            line = whole_number(tuning.get("line"), 0, MOST_STRINGS)
            pitch = step_alter_octave(tuning, _TUNING_NAMES, report, spot)
            if pitch is not None and line is not None:
                self._tune(facts, line, pitch, report, spot)
            elif line is None:
                report.warn(
                    "tuning line",
                    f"a `staff-tuning` for line {tuning.get('line')!r} is left out",
                    f"count the lines from the bottom, 1 to at most {MOST_STRINGS}",
                    spot,
                )
        capo = whole_number(details.findtext("capo") or "0", 0, USUAL_FRETS - 1) or 0
        if facts.capo and capo and facts.capo != capo:
            self._warn_of_change(report, spot)
        facts.capo = facts.capo or capo

    def _tune(self, facts: _StaffFacts, line: int, pitch: int, report: Report, spot: Spot) -> None:
        if not is_midi_pitch(pitch):
            report.error(
                f"an open string is tuned to MIDI pitch {pitch}, outside 0 to 127",
                "mend the octave of its `staff-tuning`",
                spot,
            )
        elif facts.pitch_of_line.setdefault(line, pitch) != pitch:
            self._warn_of_change(report, spot)

    @staticmethod
    def _warn_of_change(report: Report, spot: Spot) -> None:
        report.warn(
            "tuning change",
            "the strings are tuned anew within the music; the first tuning is kept",
            "export each tuning as a passage of its own",
            spot,
        )

    @property
    def capo(self) -> int:
        """The fret that the capo stops, 0 without one."""
        return self._tab.capo or self._elsewhere.capo

    @property
    def lines(self) -> int:
        """How many lines the tab has, 0 if it does not say or there is no tab."""
        return self._tab.lines

    @property
    def pitch_of_line(self) -> Mapping[int, int]:
        """Open strings by line of the tab, counted from the bottom; a count from 0 is mended."""
        found = self._tab.pitch_of_line or self._elsewhere.pitch_of_line
        shift = 1 if 0 in found else 0
        return {line + shift: pitch for line, pitch in found.items()}

    def pitch_of_string(self, report: Report) -> dict[int, int]:
        """Open strings by number, where single strings are retuned."""
        found: dict[int, int] = {}
        for accord in (accord for tag in self.scordatura for accord in tag.iterfind("accord")):
            spot = Spot(line_of(accord))
            string = whole_number(accord.get("string"), 1, MOST_STRINGS)
            pitch = step_alter_octave(accord, _TUNING_NAMES, report, spot)
            if string is not None and pitch is not None and is_midi_pitch(pitch):
                found.setdefault(string, pitch)
        return found


@dataclass(frozen=True, slots=True)
class Strings:
    """How string and fret give a pitch.

    Attributes:
        tuning: the open strings.
        octave_semitones: how much higher the written pitches lie than they sound.
    """

    tuning: Tuning
    octave_semitones: int


@dataclass(frozen=True, slots=True)
class _Reading:
    """One way to understand what is written about the strings."""

    opens: tuple[tuple[int, int], ...]
    strings: int
    is_upside_down: bool
    is_from_nut: bool
    octave: int

    def agreement(self, offsets: Offsets, capo: int) -> int:
        shift = self.octave + (0 if self.is_from_nut else capo)
        return sum(offsets[string, pitch + shift] for string, pitch in self.opens)


def strings_of(facts: StringFacts, notes: Sequence[WrittenNote], report: Report) -> Strings | None:
    """Work out the tuning, and mend what disagrees with it; `None` after an error.

    A tuning in the file is checked against the written pitches of the fretted notes. Where most of
    them only agree if the lines are counted from the top, if frets are counted from the nut in
    spite of a capo, or if pitches stand an octave off, it is read that way, with a warning.
    Without a tuning, pitch minus fret gives the open strings; the ones that are never played are
    filled in from the standard tuning.

    Args:
        facts: what the file says.
        notes: the notes; their frets change if they turn out to be counted from the nut.
        report: where choices and problems are told.
    """
    offsets: Offsets = Counter((note.string, note.pitch - note.fret) for note in _witnesses(notes))  # type: ignore[operator,misc]
    spot = notes[0].spot if notes else NOWHERE
    if facts.pitch_of_line:
        reading = _best_reading(facts, offsets)
        _warn_of_reading(reading, report, spot)
        opens, octave, count = dict(reading.opens), reading.octave, reading.strings
        capo = facts.capo
        if reading.is_from_nut and capo:
            capo = _recount_from_capo(notes, capo)
    else:
        capo, octave = facts.capo, 0
        opens, octave = _derived(offsets, capo, facts.pitch_of_string(report), report, spot)
        count = _string_count(facts, notes)
    if not FEWEST_STRINGS <= count <= MOST_STRINGS:
        report.error(
            f"an instrument with {count} strings cannot be read",
            f"use a part for {FEWEST_STRINGS} to {MOST_STRINGS} strings",
        )
        return None
    if not _all_on_strings(notes, count, report):
        return None
    open_pitches = _completed(opens, count, report, spot)
    frets = max((note.fret or 0 for note in notes), default=0)
    tuning = Tuning(
        open_pitches=open_pitches, capo=capo, frets=min(max(USUAL_FRETS, frets), MOST_FRETS)
    )
    return Strings(tuning, octave)


def _all_on_strings(notes: Iterable[WrittenNote], count: int, report: Report) -> bool:
    beyond = [note for note in notes if note.string is not None and note.string > count]
    for note in beyond:
        report.error(
            f"string {note.string} is beyond the {count} strings of this instrument",
            f"write a string from 1, the highest-lying, to {count}; or tune all strings",
            note.spot,
        )
    return not beyond


def _witnesses(notes: Iterable[WrittenNote]) -> Iterator[WrittenNote]:
    """Pick the notes whose written pitch must be that of their string and fret."""
    return (
        note
        for note in notes
        if note.pitch is not None
        and note.is_placed
        and note.harmonic is None
        and not note.techniques & (Technique.DEAD | Technique.BEND)
    )


def _best_reading(facts: StringFacts, offsets: Offsets) -> _Reading:
    readings = list(_readings(facts))
    total = offsets.total()
    plain = readings[0]
    if plain.agreement(offsets, facts.capo) * 2 >= total:
        return plain
    best = max(readings, key=lambda r: r.agreement(offsets, facts.capo))
    return best if best.agreement(offsets, facts.capo) >= _MOST_SAY * total else plain


def _readings(facts: StringFacts) -> Iterator[_Reading]:
    pitches = facts.pitch_of_line
    highest_line = max(pitches)
    likely = facts.lines if len(pitches) <= facts.lines else highest_line
    counts = dict.fromkeys((likely, max(facts.lines, highest_line), highest_line))
    capos = (False, True) if facts.capo else (False,)
    for octave, is_from_nut, is_upside_down, count in product(
        _OCTAVES, capos, (False, True), counts
    ):
        opens = tuple(
            (line if is_upside_down else count + 1 - line, pitch)
            for line, pitch in sorted(pitches.items())
            if line <= count
        )
        yield _Reading(opens, count, is_upside_down, is_from_nut, octave)


def _warn_of_reading(reading: _Reading, report: Report, spot: Spot) -> None:
    if reading.is_upside_down:
        report.warn(
            "upside down",
            "the tuning only agrees with the written pitches if its lines are counted from the "
            "top; it is read that way",
            "count the lines of `staff-tuning` from the bottom",
            spot,
        )
    if reading.is_from_nut:
        report.warn(
            "capo counted",
            "frets agree with the written pitches only if they are counted from the nut, not from "
            "the capo; they are read that way",
            "count frets from the capo",
            spot,
        )
    if reading.octave:
        _warn_of_octave(reading.octave, report, spot)


def _warn_of_octave(octave: int, report: Report, spot: Spot) -> None:
    where = "above" if octave > 0 else "below"
    report.warn(
        "octave",
        f"the written pitches lie an octave {where} what the guitar sounds; they are read an "
        "octave away",
        "write `transpose` with `octave-change` -1 for a guitar part that is written an octave up",
        spot,
    )


def _recount_from_capo(notes: Sequence[WrittenNote], capo: int) -> int:
    """Count frets from the capo instead of the nut; give the capo, 0 if it is not really there."""
    frets = [note.fret for note in notes if note.fret is not None]
    if min(frets, default=0) < capo:
        return 0
    for note in notes:
        if note.fret is not None:
            note.fret -= capo
    return capo


def _string_count(facts: StringFacts, notes: Iterable[WrittenNote]) -> int:
    used = max((note.string or 0 for note in notes), default=0)
    return max(facts.lines or USUAL_STRINGS, used)


def _derived(
    offsets: Offsets, capo: int, retuned: Mapping[int, int], report: Report, spot: Spot
) -> tuple[dict[int, int], int]:
    """Find open strings from pitch minus fret; and by how many octaves the pitches are off."""
    opens: dict[int, int] = {}
    for (string, offset), _ in offsets.most_common():
        opens.setdefault(string, offset - capo)
    usual = standard_tuning(max((USUAL_STRINGS, *opens)))
    away = sorted(pitch - usual[-string] for string, pitch in opens.items())
    octave = 0
    if away and away[len(away) // 2] >= _FOURTH + 2:
        octave = 12
        _warn_of_octave(octave, report, spot)
    derived = {string: pitch - octave for string, pitch in opens.items()} | dict(retuned)
    if derived:
        found = ", ".join(f"{string} ({_name(derived[string])})" for string in sorted(derived))
        report.warn(
            "derived tuning",
            f"the file has no string tuning; pitches and frets give these strings: {found}",
            "write a `staff-tuning` for each line of the tab",
            spot,
        )
    return derived, octave


def _name(pitch: int) -> str:
    return pitch_name(pitch) if is_midi_pitch(pitch) else f"MIDI pitch {pitch}"


def _completed(opens: Mapping[int, int], count: int, report: Report, spot: Spot) -> tuple[int, ...]:
    """Fill in strings without a known pitch, as far from standard as most of the others are."""
    usual = standard_tuning(count)
    known = {string: pitch for string, pitch in opens.items() if string <= count}
    away = Counter(pitch - usual[-string] for string, pitch in known.items())
    shift, agreeing = next(iter(away.most_common(1)), (0, 0))
    if agreeing < _FEWEST_TO_AGREE or agreeing * 2 <= len(known):
        shift = 0
    filled = [known.get(string, usual[-string] + shift) for string in range(count, 0, -1)]
    pitches = tuple(min(max(pitch, 0), 127) for pitch in filled)
    missing = [string for string in range(1, count + 1) if string not in known]
    if missing:
        names = ", ".join(f"{string} ({pitch_name(pitches[-string])})" for string in missing)
        report.warn(
            "completed tuning",
            f"the file does not tell how all strings are tuned; standard tuning is taken for "
            f"{names}",
            "write a `staff-tuning` for each line of the tab",
            spot,
        )
    return pitches
