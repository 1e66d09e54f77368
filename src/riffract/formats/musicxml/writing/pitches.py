"""Pitches as tags."""

from typing import Final

from lxml.etree import _Element as Element

from riffract.formats.musicxml.writing.tags import child

_STEPS: Final = ("C", "C", "D", "D", "E", "F", "F", "G", "G", "A", "A", "B")
_ALTERS: Final = (0, 1, 0, 1, 0, 0, 1, 0, 1, 0, 1, 0)
_HIGHEST_OCTAVE: Final = 9


def write_pitch(parent: Element, pitch: int, prefix: str = "") -> None:
    """Add step, alter and octave of a MIDI pitch, spelled with sharps.

    The standard knows octaves 0 to 9; what lies beyond is an octave that is altered by 12.

    Source: MusicXML 4.0: octave 4 starts at middle C, MIDI 60.

    Args:
        parent: where to.
        pitch: MIDI pitch.
        prefix: what stands in front of the names, e.g. `tuning-`.
    """
    octave, pc = divmod(pitch - 12, 12)
    written = min(max(octave, 0), _HIGHEST_OCTAVE)
    alter = _ALTERS[pc] + 12 * (octave - written)
    child(parent, f"{prefix}step", _STEPS[pc])
    if alter:
        child(parent, f"{prefix}alter", alter)
    child(parent, f"{prefix}octave", written)
