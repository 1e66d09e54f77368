"""Pitches as written, transpositions, and the pitch that a natural harmonic sounds at."""

from fractions import Fraction
from functools import lru_cache
from math import gcd, log2
from typing import Final

from lxml.etree import _Element as Element

from riffract.formats.musicxml.numbers import decimal_number, whole_number
from riffract.formats.musicxml.report import Report, Spot
from riffract.music.pitch import HIGHEST_PITCH, LOWEST_PITCH

STEP_PC: Final = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_LONGEST_TEXT: Final = 40
_WIDEST_ALTER: Final = 24
_WIDEST_TRANSPOSITION: Final = 48
_HIGHEST_PARTIAL: Final = 8
_REACH_OF_A_NODE_FRETS: Final = 0.4


def step_alter_octave(
    element: Element, names: tuple[str, str, str], report: Report, spot: Spot
) -> int | None:
    """Read a MIDI pitch from step, alter and octave; `None` after reporting why not.

    Args:
        element: the tag that holds them.
        names: what the three are called there.
        report: where mistakes are told.
        spot: where it stands.
    """
    texts = {tag.tag: tag.text for tag in element}
    step_name, alter_name, octave_name = names
    alter_text = texts.get(alter_name)
    pitch = _midi_pitch(
        (texts.get(step_name) or "")[:_LONGEST_TEXT],
        (alter_text or "0")[:_LONGEST_TEXT],
        (texts.get(octave_name) or "")[:_LONGEST_TEXT],
    )
    if pitch is None:
        report.error(
            f"a pitch is not understood: {_shown(element)!r}",
            "write a step A to G, an alter in semitones, and an octave 0 to 9",
            spot,
        )
        return None
    if pitch.denominator != 1:
        report.warn(
            "microtone",
            f"a pitch between two semitones is rounded (alter {(alter_text or '').strip()[:10]})",
            "write it as a bend, if the guitar bends to it",
            spot,
        )
    return round(pitch)


@lru_cache(maxsize=1024)
def _midi_pitch(step_text: str, alter_text: str, octave_text: str) -> int | Fraction | None:
    """Read a pitch, of which a score repeats few."""
    step = STEP_PC.get(step_text.strip().upper())
    octave = whole_number(octave_text, -1, 10)
    alter = _alter_semitones(alter_text.strip())
    if step is None or octave is None or alter is None:
        return None
    return (octave + 1) * 12 + step + alter


def _alter_semitones(text: str) -> int | Fraction | None:
    whole = whole_number(text, -_WIDEST_ALTER, _WIDEST_ALTER)
    if whole is not None:
        return whole
    exact = decimal_number(text or "0")
    return None if exact is None or abs(exact) > _WIDEST_ALTER else exact


def _shown(element: Element) -> str:
    return " ".join(" ".join((child.text or "").split()) for child in element)[:40]


def written_pitch(pitch: Element, report: Report, spot: Spot) -> int | None:
    """Read the pitch of a note as MIDI number, before transposition."""
    return step_alter_octave(pitch, ("step", "alter", "octave"), report, spot)


def transposition_semitones(transpose: Element, report: Report, spot: Spot) -> int:
    """Read what must be added to a written pitch to get the sounding one."""
    if transpose.find("double") is not None:
        report.left_out("double", spot)
    chromatic = decimal_number(transpose.findtext("chromatic") or "0")
    octaves = decimal_number(transpose.findtext("octave-change") or "0")
    semitones = None if chromatic is None or octaves is None else chromatic + 12 * octaves
    if semitones is None or semitones.denominator != 1 or abs(semitones) > _WIDEST_TRANSPOSITION:
        report.warn(
            "transpose",
            "a transposition is not understood; pitches are taken as they are written",
            "write `chromatic` and `octave-change` as whole numbers",
            spot,
        )
        return 0
    return int(semitones)


def natural_harmonic_semitones(fret: int) -> int | None:
    """Tell how far above the open string a natural harmonic sounds; `None` where no node lies.

    Partial p has its nodes at m/p of the string, which lie at fret -12 log2(1 - m/p); the lowest
    partial with a node near the fret sounds, 12 log2 p above the open string, rounded.

    Source: the modes of an ideal string; equal temperament (common practice).

    >>> [natural_harmonic_semitones(fret) for fret in (12, 7, 5, 4, 1)]
    [12, 19, 24, 28, None]
    """
    for partial in range(2, _HIGHEST_PARTIAL + 1):
        nodes = (m for m in range(1, partial) if gcd(m, partial) == 1)
        if any(abs(-12 * log2(1 - m / partial) - fret) < _REACH_OF_A_NODE_FRETS for m in nodes):
            return round(12 * log2(partial))
    return None


def is_midi_pitch(pitch: int) -> bool:
    """Say whether a pitch lies in MIDI's range."""
    return LOWEST_PITCH <= pitch <= HIGHEST_PITCH
