"""What a recording says about each written note: borne out, unclear or contradicted."""

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction


class Support(StrEnum):
    """Whether the recording plays a note as it is written."""

    BORNE_OUT = "borne_out"
    UNCLEAR = "unclear"
    CONTRADICTED = "contradicted"


class RivalKind(StrEnum):
    """What the recording seems to hold instead."""

    PITCH = "pitch"
    ABSENT = "absent"
    SHORTER = "shorter"
    LONGER = "longer"


@dataclass(frozen=True, slots=True, kw_only=True)
class Rival:
    """What fits better than the written note.

    Attributes:
        kind: another pitch, no note at all, or another length.
        pitch: the better pitch, MIDI, for `PITCH`.
        string, fret: where it lies nearest to the written place, for `PITCH`.
        length_quarters: the better sounding length, for `SHORTER` and `LONGER`.
        shift_quarters: for `ABSENT`, how much later (below 0: earlier) the same pitch is struck
            where none is written; `None` where it is not.
    """

    kind: RivalKind
    pitch: int | None = None
    string: int | None = None
    fret: int | None = None
    length_quarters: Fraction | None = None
    shift_quarters: Fraction | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteSupport:
    """What the recording says about one note.

    Attributes:
        note: index into the passage's notes.
        support: in a word.
        evidence: log10 of the odds that the note is as written against the best rival; above 0
            for it, below 0 against it.
        rival: the best rival; `None` where nothing else comes near.
    """

    note: int
    support: Support
    evidence: float
    rival: Rival | None


@dataclass(frozen=True, slots=True, kw_only=True)
class UnwrittenNote:
    """A note that the recording plays and the text does not have.

    Attributes:
        quarters: the nearest attack of the score, or moment on its grid.
        seconds: when it sounds in the recording.
        pitch: MIDI.
        string, fret: where it can lie, nearest to what the hand does there.
        evidence: log10 of the odds that it is there.
    """

    quarters: Fraction
    seconds: float
    pitch: int
    string: int
    fret: int
    evidence: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SupportReport:
    """All notes of a passage against its recording.

    Attributes:
        notes: one for each note, in the passage's order.
        unwritten: what is heard beside them, in order of time.
        explained_share: how much of what sounds the written notes explain, 0 to 1.
    """

    notes: tuple[NoteSupport, ...]
    unwritten: tuple[UnwrittenNote, ...]
    explained_share: float
