"""The strings of the instrument: as the file tunes them, or as its notes tell."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise, product
from typing import Final

from riffract.formats.musicxml.pitches import is_midi_pitch
from riffract.formats.musicxml.report import NOWHERE, Report, Spot
from riffract.formats.musicxml.string_facts import StringFacts
from riffract.formats.musicxml.written import WrittenNote
from riffract.formats.standard_tuning import USUAL_STRINGS, standard_tuning
from riffract.music import Technique, Tuning, pitch_name
from riffract.music.notes import HARMONIC
from riffract.music.tuning import FEWEST_STRINGS, MOST_FRETS, MOST_STRINGS

USUAL_FRETS: Final = 24
USUAL_SCALE_LENGTH_MM: Final = 648.0
_OCTAVE: Final = 12
_MOST_SAY: Final = 0.9
_FEWEST_TO_AGREE: Final = 2
_FEWEST_TO_RISE: Final = 3

_UNLIKE_THEIR_FRET: Final = Technique.DEAD | HARMONIC

Offsets = Counter[tuple[int, int]]
"""How often a string is seen with a certain difference of written pitch and fret."""


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
    """One way to understand what is written about the strings.

    Attributes:
        opens: open pitch by string number as the notes write it; some may be missing.
        strings: how many strings there are.
        is_upside_down: whether the lines of the tuning are counted from the top.
        is_from_nut: whether frets are counted from the nut in spite of a capo.
        octave_semitones: how much higher the written pitches lie than they sound.
    """

    opens: Mapping[int, int]
    strings: int
    is_upside_down: bool = False
    is_from_nut: bool = False
    octave_semitones: int = 0

    def agreement(self, offsets: Offsets, capo: int) -> int:
        """Count the notes whose pitch comes out as written."""
        shift = self.octave_semitones + (0 if self.is_from_nut else capo)
        return sum(offsets[string, pitch + shift] for string, pitch in self.opens.items())

    @property
    def rises_with_the_number(self) -> bool:
        """Whether string 1 is the lowest: then strings are numbered the other way round."""
        pitches = [pitch for _, pitch in sorted(self.opens.items())]
        return len(pitches) >= _FEWEST_TO_RISE and all(a < b for a, b in pairwise(pitches))


def strings_of(facts: StringFacts, notes: Sequence[WrittenNote], report: Report) -> Strings | None:
    """Work out the tuning, and mend what disagrees with it; `None` after an error.

    A tuning in the file is checked against the written pitches of the fretted notes. Where most of
    them only agree if the lines or the strings are counted the other way round, if frets are
    counted from the nut in spite of a capo, or if pitches stand an octave off, it is read that
    way, with a warning. Without a tuning, pitch minus fret gives the open strings; the ones that
    are never played are filled in from the standard tuning.

    Args:
        facts: what the file says.
        notes: the notes; strings and frets change where they are counted another way.
        report: where choices and problems are told.
    """
    spot = notes[0].spot if notes else NOWHERE
    offsets = _offsets(notes)
    count = _string_count(facts, notes)
    if not FEWEST_STRINGS <= count <= MOST_STRINGS:
        report.error(
            f"an instrument with {count} strings cannot be read",
            f"use a part for {FEWEST_STRINGS} to {MOST_STRINGS} strings",
        )
        return None
    if facts.pitch_of_line:
        reading = _best_reading(facts, offsets)
        _warn_of_reading(reading, report, spot)
    else:
        opens = facts.pitch_of_string(report)
        reading = _derived(offsets, facts.capo, opens, count)
        _warn_of_derivation(reading, report, spot)
    if not facts.fields.is_string_order_sure:
        reading = _with_strings_from_the_highest(reading, notes, report, spot)
    capo = _recount_from_capo(notes, facts.capo) if reading.is_from_nut else facts.capo
    if not _all_on_strings(notes, reading.strings, report):
        return None
    tuning = Tuning(
        open_pitches=_completed(reading, report, spot),
        capo=capo,
        frets=_fret_count(facts, notes, capo),
        scale_length_mm=facts.fields.scale_length_mm or USUAL_SCALE_LENGTH_MM,
    )
    return Strings(tuning, reading.octave_semitones)


def _fret_count(facts: StringFacts, notes: Iterable[WrittenNote], capo: int) -> int:
    """Tell how many frets there are: as many as said, if the notes lie on them; else the usual."""
    touched = Technique.NATURAL_HARMONIC
    stopped = (n.fret or 0 for n in notes if not n.techniques or touched not in n.techniques)
    played = max(stopped, default=0)
    fewest = max(played, capo + 1)
    if facts.fields.frets is not None and facts.fields.frets >= fewest:
        return facts.fields.frets
    return min(max(USUAL_FRETS, fewest), MOST_FRETS)


def _offsets(notes: Iterable[WrittenNote]) -> Offsets:
    """Count pitch minus fret on each string, where the pitch must be that of string and fret."""
    offsets: Offsets = Counter()
    for note in notes:
        if note.string is None or note.fret is None or note.pitch is None or note.bend:
            continue
        if not note.techniques or not note.techniques & _UNLIKE_THEIR_FRET:
            offsets[note.string, note.pitch - note.fret] += 1
    return offsets


def _string_count(facts: StringFacts, notes: Iterable[WrittenNote]) -> int:
    """Tell how many strings there are: as many as tuned; else lines of the tab, or played ones."""
    if facts.pitch_of_line:
        return _likely_count(facts)
    used = max((note.string or 0 for note in notes), default=0)
    return max(facts.lines or USUAL_STRINGS, used)


def _likely_count(facts: StringFacts) -> int:
    pitches = facts.pitch_of_line
    return facts.lines if len(pitches) <= facts.lines else max(pitches)


def _best_reading(facts: StringFacts, offsets: Offsets) -> _Reading:
    readings = list(_readings(facts))
    plain = readings[0]
    if plain.agreement(offsets, facts.capo) * 2 >= offsets.total():
        return plain
    best = max(readings, key=lambda r: r.agreement(offsets, facts.capo))
    is_clear = best.agreement(offsets, facts.capo) >= _MOST_SAY * offsets.total()
    return best if is_clear else plain


def _readings(facts: StringFacts) -> Iterator[_Reading]:
    """List ways to understand a tuning, the one that the standard describes first."""
    pitches = facts.pitch_of_line
    highest_line = max(pitches)
    counts = dict.fromkeys((_likely_count(facts), max(facts.lines, highest_line), highest_line))
    octaves = (0, _OCTAVE, -_OCTAVE)
    from_nut = (False, True) if facts.capo else (False,)
    for octave, is_from_nut, is_upside_down, count in product(
        octaves, from_nut, (False, True), counts
    ):
        opens = {
            line if is_upside_down else count + 1 - line: pitch
            for line, pitch in pitches.items()
            if line <= count
        }
        yield _Reading(opens, count, is_upside_down, is_from_nut, octave)


def _derived(offsets: Offsets, capo: int, retuned: Mapping[int, int], count: int) -> _Reading:
    """Find open strings from pitch minus fret; and whether the pitches are an octave too high."""
    opens: dict[int, int] = {}
    for (string, offset), _ in offsets.most_common():
        opens.setdefault(string, offset - capo)
    usual = standard_tuning(count)
    away = sorted(pitch - usual[-string] for string, pitch in opens.items())
    is_high = bool(away) and away[len(away) // 2] > _OCTAVE // 2
    octave = _OCTAVE if is_high else 0
    low = {string: pitch - octave for string, pitch in opens.items()}
    return _Reading(low | dict(retuned), count, octave_semitones=octave)


def _with_strings_from_the_highest(
    reading: _Reading, notes: Iterable[WrittenNote], report: Report, spot: Spot
) -> _Reading:
    """Renumber strings that the file counts from the lowest one."""
    if not reading.rises_with_the_number:
        return reading
    report.warn(
        "string order",
        "the file counts strings from the lowest one; they are counted from the highest one",
        "number the highest-lying string 1",
        spot,
    )
    for note in notes:
        if note.string is not None and note.string <= reading.strings:
            note.string = reading.strings + 1 - note.string
    turned = {reading.strings + 1 - string: pitch for string, pitch in reading.opens.items()}
    return replace(reading, opens=turned)


def _recount_from_capo(notes: Iterable[WrittenNote], capo: int) -> int:
    """Count frets from the capo instead of the nut; give the capo, 0 if it is not really there."""
    fretted = [note for note in notes if note.fret is not None]
    if any((note.fret or 0) < capo for note in fretted):
        return 0
    for note in fretted:
        note.fret = (note.fret or 0) - capo
    return capo


def _all_on_strings(notes: Iterable[WrittenNote], count: int, report: Report) -> bool:
    beyond = [note for note in notes if note.string is not None and note.string > count]
    for note in beyond:
        report.error(
            f"string {note.string} is beyond the {count} strings of this instrument",
            f"write a string from 1, the highest-lying, to {count}; or tune all strings",
            note.spot,
        )
    return not beyond


def _completed(reading: _Reading, report: Report, spot: Spot) -> tuple[int, ...]:
    """Fill in strings without a known pitch, as far from standard as most of the others are."""
    count = reading.strings
    usual = standard_tuning(count)
    away = Counter(pitch - usual[-string] for string, pitch in reading.opens.items())
    shift, agreeing = next(iter(away.most_common(1)), (0, 0))
    if agreeing < _FEWEST_TO_AGREE or agreeing * 2 <= len(reading.opens):
        shift = 0
    filled = [reading.opens.get(s, usual[-s] + shift) for s in range(count, 0, -1)]
    pitches = tuple(min(max(pitch, 0), 127) for pitch in filled)
    missing = [string for string in range(1, count + 1) if string not in reading.opens]
    if missing:
        names = ", ".join(f"{string} ({pitch_name(pitches[-string])})" for string in missing)
        report.warn(
            "completed tuning",
            "the file does not tell how all strings are tuned; standard tuning is taken for "
            f"{names}",
            "write a `staff-tuning` for each line of the tab",
            spot,
        )
    return pitches


def _warn_of_reading(reading: _Reading, report: Report, spot: Spot) -> None:
    if reading.is_upside_down and not reading.rises_with_the_number:
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
    _warn_of_octave(reading, report, spot)


def _warn_of_derivation(reading: _Reading, report: Report, spot: Spot) -> None:
    _warn_of_octave(reading, report, spot)
    if reading.opens:
        found = ", ".join(f"{s} ({_name(pitch)})" for s, pitch in sorted(reading.opens.items()))
        report.warn(
            "derived tuning",
            f"the file has no string tuning; pitches and frets give these strings: {found}",
            "write a `staff-tuning` for each line of the tab",
            spot,
        )


def _warn_of_octave(reading: _Reading, report: Report, spot: Spot) -> None:
    if not reading.octave_semitones:
        return
    where = "above" if reading.octave_semitones > 0 else "below"
    report.warn(
        "octave",
        f"the written pitches lie an octave {where} what the guitar sounds; they are read an "
        "octave away",
        "write `transpose` with `octave-change` -1 for a guitar part that is written an octave up",
        spot,
    )


def _name(pitch: int) -> str:
    return pitch_name(pitch) if is_midi_pitch(pitch) else f"MIDI pitch {pitch}"
