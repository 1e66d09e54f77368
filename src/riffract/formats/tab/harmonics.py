"""Harmonics: where they are touched, and what sounds."""

import re
from dataclasses import dataclass
from typing import Final

from riffract.formats.tab.faults import Fault, shortened
from riffract.music import Note, Technique, Tuning, pitch_name, pitch_named

HARMONIC_SEMITONES: Final = {12: 12, 7: 19, 19: 19, 5: 24, 24: 24, 4: 28, 9: 28, 16: 28, 3: 31}
"""Sounding interval over the stopped or open string of the usual nodes, by frets above it.

Touching where the string divides into k parts sounds its k-th partial, 12 log2(k) semitones up;
the node nearest the nut lies over fret 12 log2(k / (k - 1)) (common practice).
"""
_NODE = re.compile(r"<([0-9]*)(?:=([a-g][#b]?-?[0-9]))?>", re.IGNORECASE)
_NODES: Final = " ".join(str(fret) for fret in sorted(HARMONIC_SEMITONES))


@dataclass(frozen=True, slots=True)
class Node:
    """What brackets tell of a harmonic: the fret that is touched, the pitch that sounds."""

    fret: int | None = None
    pitch: int | None = None

    @property
    def is_said(self) -> bool:
        """Whether they tell anything."""
        return self.fret is not None or self.pitch is not None


def read_node(tail: str, sound: str) -> tuple[Node, Fault | None]:
    """Read where a harmonic is touched.

    Args:
        tail: the signs behind the fret, `<17>` or `<17=A4>` among them.
        sound: the pitch within the brackets of the fret itself, `=E5`.
    """
    if "<" not in tail and not sound:
        return Node(), None
    found = _NODE.search(tail)
    touched = found[1] if found else ""
    name = found[2] if found and found[2] else sound[1:]
    fret = int(touched) if touched else None
    try:
        pitch = pitch_named(name) if name else None
    except ValueError:  # told to the user
        fault = Fault(what=f"`{name}` is no pitch that can sound", mend="write it like `=E5`")
        return Node(fret), fault
    if fret is None and pitch is None:
        return Node(0), Fault(what="`<>` is empty", mend="write the fret that is touched: 5<17>")
    return Node(fret, pitch), None


def sounding_pitch(
    string: int, fret: int, technique: int, node: Node, tuning: Tuning
) -> int | None:
    """Tell what a note sounds; `None` if its harmonic is none that is usual."""
    if node.pitch is not None:
        return node.pitch
    if technique == Technique.NATURAL_HARMONIC:
        interval = HARMONIC_SEMITONES.get(fret)
        return None if interval is None else tuning.open_pitch(string) + interval
    stopped = tuning.pitch_at(string, fret)
    if node.fret is None:
        return stopped
    interval = HARMONIC_SEMITONES.get(node.fret - fret)
    if interval is None and technique == Technique.ARTIFICIAL_HARMONIC:
        return None
    return stopped + (interval or 0)


def harmonic_fault(digits: str, technique: int, node: Node) -> Fault:
    """Say that no usual harmonic lies where it is touched."""
    if technique == Technique.NATURAL_HARMONIC:
        what = f"no usual harmonic lies over fret {shortened(digits)}"
        return Fault(what=what, mend=f"write a node: {_NODES}")
    what = f"no usual harmonic of fret {digits} lies over fret {node.fret}"
    mend = f"touch it 12, 7 or 5 frets higher, or write what sounds: {digits}<{node.fret}=E5>"
    return Fault(what=what, mend=mend)


def node_text(note: Note, tuning: Tuning) -> str:
    """Write what stands in the brackets of an artificial or pinch harmonic; the pitch only where
    the touched fret does not tell it.
    """
    is_pinch = Technique.PINCH_HARMONIC in note.techniques
    technique = Technique.PINCH_HARMONIC if is_pinch else Technique.ARTIFICIAL_HARMONIC
    touched = None if Technique.TRILL in note.techniques else note.other_fret
    expected = sounding_pitch(note.string, note.fret, technique, Node(touched), tuning)
    is_told = expected == note.pitch and (touched is not None or is_pinch)
    text = ("" if touched is None else str(touched)) + ("" if is_told else sound_text(note))
    return f"<{text}>" if text else ""


def sound_text(note: Note) -> str:
    """Write what sounds: `=E5`."""
    return f"={pitch_name(note.pitch or 0).replace('♯', '#')}"
