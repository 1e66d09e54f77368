"""Names of pitches and pitch classes, in letters with octaves (C4 is MIDI 60)."""

import re

_SHARP_NAMES = ("C", "C♯", "D", "D♯", "E", "F", "F♯", "G", "G♯", "A", "A♯", "B")
_FLAT_NAMES = ("C", "D♭", "D", "E♭", "E", "F", "G♭", "G", "A♭", "A", "B♭", "B")
_LETTER_PC = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_ACCIDENTAL_SEMITONES = {"": 0, "#": 1, "♯": 1, "b": -1, "♭": -1, "♮": 0}
_PITCH = re.compile(r"([A-Ga-g])([#♯b♭♮]?)(-?\d{1,2})")

LOWEST_PITCH, HIGHEST_PITCH = 0, 127


def pc_name(pc: int, *, flats: bool = False) -> str:
    """Name a pitch class, 0..11 with C = 0, with the music signs.

    >>> pc_name(1), pc_name(1, flats=True)
    ('C♯', 'D♭')
    """
    return (_FLAT_NAMES if flats else _SHARP_NAMES)[pc % 12]


def pitch_name(pitch: int, *, flats: bool = False) -> str:
    """Name a MIDI pitch with its octave.

    Source: scientific pitch notation with C4 = MIDI 60 (common practice).

    >>> pitch_name(23), pitch_name(61), pitch_name(61, flats=True)
    ('B0', 'C♯4', 'D♭4')
    """
    return f"{pc_name(pitch, flats=flats)}{pitch // 12 - 1}"


def pitch_named(name: str) -> int:
    """Read a pitch name such as `E2`, `F#1` or `B♭0`.

    Returns:
        The MIDI pitch.

    Raises:
        ValueError: if the text is no pitch name, or the pitch lies outside MIDI's 0..127.

    >>> pitch_named("C4"), pitch_named("F#1"), pitch_named("B♭0")
    (60, 30, 22)
    """
    match = _PITCH.fullmatch(name.strip())
    if match is None:
        raise ValueError(f"{name!r} is not a pitch: write a letter, ♯ or ♭, and an octave, as F#1")
    letter, accidental, octave = match.groups()
    pitch = (int(octave) + 1) * 12 + _LETTER_PC[letter.upper()] + _ACCIDENTAL_SEMITONES[accidental]
    if not LOWEST_PITCH <= pitch <= HIGHEST_PITCH:
        raise ValueError(f"{name!r} lies outside the range of MIDI pitch, 0 to 127")
    return pitch
