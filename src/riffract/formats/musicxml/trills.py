"""Trills: which fret the note goes to and fro with."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

from lxml.etree import _Element as Element

from riffract.formats.musicxml.numbers import whole_number
from riffract.formats.musicxml.pitches import STEP_PC
from riffract.formats.musicxml.report import Report, Spot
from riffract.formats.musicxml.signs import Trill
from riffract.formats.musicxml.written import WrittenNote
from riffract.music.tuning import MOST_FRETS

_LETTERS: Final = "CDEFGAB"
_SHARPS: Final = "FCGDAEB"
_STEPS: Final = {"unison": 0, "half": 1, "whole": 2}
_ALTERS: Final = {
    "sharp": 1,
    "natural": 0,
    "flat": -1,
    "double-sharp": 2,
    "sharp-sharp": 2,
    "flat-flat": -2,
    "natural-sharp": 1,
    "natural-flat": -1,
}
_OCTAVE: Final = 12


@dataclass(slots=True)
class Key:
    """The key signature in force: how many semitones each letter is altered by."""

    alters: Mapping[str, int] = field(default_factory=dict)

    def change(self, key: Element) -> None:
        """Take over a key signature; one that is not understood alters nothing."""
        fifths = whole_number(key.findtext("fifths"), -7, 7) or 0
        letters = _SHARPS[:fifths] if fifths >= 0 else _SHARPS[fifths:]
        self.alters = dict.fromkeys(letters, 1 if fifths > 0 else -1)
        steps = [(tag.text or "").strip() for tag in key.iterfind("key-step")]
        alters = [whole_number(tag.text, -2, 2) or 0 for tag in key.iterfind("key-alter")]
        self.alters |= dict(zip(steps, alters, strict=False))


def trill_semitones(trill: Trill, pitch: Element, key: Key) -> int | None:
    """Tell how far above a note its trill goes; `None` if its pitch is not understood.

    An accidental beside the trill is that of the next letter up; without one the trill says how
    wide it is, or the next letter has the accidental of the key.

    Source: common practice: a trill goes to the next note of the scale, unless marked otherwise.

    Args:
        trill: what is said about it.
        pitch: the written pitch of the note.
        key: the key in force.
    """
    letter = (pitch.findtext("step") or "").strip().upper()
    if letter not in STEP_PC:
        return None
    upper = _LETTERS[(_LETTERS.index(letter) + 1) % len(_LETTERS)]
    letters_apart = (STEP_PC[upper] - STEP_PC[letter]) % _OCTAVE
    alter = whole_number(pitch.findtext("alter"), -4, 4) or 0
    if trill.accidental in _ALTERS:
        return letters_apart + _ALTERS[trill.accidental] - alter
    if trill.step in _STEPS:
        return _STEPS[trill.step]
    return letters_apart + key.alters.get(upper, 0) - alter


def warn_of_trill(trill: Trill, report: Report, spot: Spot) -> None:
    """Tell which rule is used where a trill does not say how wide it is."""
    if trill.accidental not in _ALTERS and trill.step not in _STEPS:
        report.warn(
            "trill",
            "a trill does not say which note it goes to; the next note of the key is taken",
            "write an `accidental-mark` or a `trill-step` at the trill",
            spot,
        )


def set_trill_fret(note: WrittenNote) -> None:
    """Turn the width of a trill into its other fret, once the note has one itself."""
    if note.other_fret is None and note.other_semitones is not None and note.fret is not None:
        other_fret = note.fret + note.other_semitones
        if 0 <= other_fret <= MOST_FRETS:
            note.other_fret = other_fret
