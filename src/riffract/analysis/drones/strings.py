"""Why that string rings: what the others could have done, and what the hand leaves free."""

from riffract.analysis.sounding import SILENT, Slices
from riffract.analysis.what.drone import OtherString
from riffract.music import Tuning


def other_strings(
    tuning: Tuning, slices: Slices, *, string: int, pitch: int
) -> tuple[OtherString, ...]:
    """Look at each other string for what it could have done for a held pitch.

    A string that gives the pitch at a fret would take a finger all the while, and could not be
    played otherwise; one that sounds something else for much of the time was not free for it.

    Args:
        tuning: the strings.
        slices: those in which the pitch sounds.
        string: which string holds it.
        pitch: MIDI pitch.

    Returns:
        The other strings, from the highest-lying down.
    """
    length = slices.length_ticks
    total = float(length.sum())
    strings = slices.note.shape[1]
    return tuple(
        OtherString(
            string=other,
            fret=_fret(tuning, other, pitch),
            busy_share=(
                float(length[slices.note[:, other - 1] != SILENT].sum()) / total
                if other <= strings
                else 0.0
            ),
            semitones=tuning.open_pitch(other) - pitch,
        )
        for other in range(1, tuning.string_count + 1)
        if other != string
    )


def _fret(tuning: Tuning, string: int, pitch: int) -> int | None:
    fret = pitch - tuning.open_pitch(string)
    return fret if 0 <= fret <= tuning.frets else None
