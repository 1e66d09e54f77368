"""The names of strings in front of their rows."""

import re
from collections.abc import Sequence

from riffract.formats.tab.faults import Fault
from riffract.music import Tuning, pitch_name, pitch_named
from riffract.music.pitch import pc_name

_LABEL = re.compile(r"([A-Ga-g])([#b♯♭]?)(-?[0-9]{1,2})?")


def row_labels(tuning: Tuning) -> tuple[str, ...]:
    """Name the rows as players do, highest string first; a top string that recurs is lower case.

    >>> row_labels(Tuning(open_pitches=(40, 45, 50, 55, 59, 64)))
    ('e', 'B', 'G', 'D', 'A', 'E')
    """
    names = [plain_name(pitch, tuning, with_octave=False) for pitch in tuning.open_pitches[::-1]]
    if names[0] in names[1:]:
        names[0] = names[0].lower()
    return tuple(names)


def plain_name(pitch: int, tuning: Tuning, *, with_octave: bool) -> str:
    """Name an open string in plain letters, `#` and `b`, as it is typed.

    >>> plain_name(42, Tuning(open_pitches=(39, 44, 49, 54, 58, 63)), with_octave=True)
    'Gb2'
    """
    flats = tuning.is_said_with_flats
    name = pitch_name(pitch, flats=flats) if with_octave else pc_name(pitch, flats=flats)
    return name.replace("♯", "#").replace("♭", "b")


def fits(label: str, open_pitch: int) -> bool:
    """Say whether a label names a string; an empty label fits any.

    >>> fits("e", 64), fits("E4", 64), fits("E2", 64), fits("Eb", 63), fits("", 63)
    (True, True, False, True, True)
    """
    if not label:
        return True
    match = _LABEL.fullmatch(label)
    if match is None:
        return False
    letter, accidental, octave = match.groups()
    try:
        pitch = pitch_named(f"{letter}{accidental}{octave or 4}")
    except ValueError:  # a pitch beyond MIDI's range names no string
        return False
    return pitch == open_pitch if octave else pitch % 12 == open_pitch % 12


def is_label(text: str) -> bool:
    """Say whether a text could name a string at all; an empty one can."""
    return not text or _LABEL.fullmatch(text) is not None


def label_fault(labels: Sequence[str], tuning: Tuning) -> tuple[int | None, Fault] | None:
    """Find the first row whose label does not name its string.

    Args:
        labels: as written, highest row first, one for each string.
        tuning: the strings.

    Returns:
        The row from 0, or none if the tuning itself is at fault, and what is wrong; `None` if all
        labels fit.
    """
    pitches = tuning.open_pitches[::-1]
    wrong = [
        i for i, (label, p) in enumerate(zip(labels, pitches, strict=True)) if not fits(label, p)
    ]
    if not wrong:
        return None
    row = wrong[0]
    right = row_labels(tuning)
    if all(fits(label, pitch) for label, pitch in zip(labels, pitches[::-1], strict=True)):
        if tuning.open_pitches[0] > tuning.open_pitches[-1]:
            return None, _tuning_upside_down(tuning)
        what = "the rows stand upside down, the lowest string on top"
        return row, Fault(what=what, mend=f"put the highest string on top: {' '.join(right)}")
    if labels[row].upper() == "H":
        mend = f"write the string's name as in `tuning`: {right[row]}"
        return row, Fault(what="`H` is no string name here", mend=mend)
    what = f"row {row + 1} is labelled `{labels[row]}`, but string {row + 1} is {right[row]}"
    mend = f"the rows of this tuning are, from the top, {' '.join(right)}; or correct `tuning`"
    return row, Fault(what=what, mend=mend)


def count_fault(labels: Sequence[str], tuning: Tuning) -> Fault | None:
    """Say what is wrong if there are more or fewer rows than strings."""
    found, wanted = len(labels), tuning.string_count
    if found == wanted:
        return None
    rows = "row" if found == 1 else "rows"
    what = f"this system has {found} string {rows}, the tuning has {wanted} strings"
    right = row_labels(tuning)
    if found == wanted - 1:
        pitches = tuning.open_pitches[::-1]
        missing = next((i for i in range(found) if not fits(labels[i], pitches[i])), found)
        return Fault(what=what, mend=f"write the row of string {missing + 1}, {right[missing]}")
    if list(labels[:wanted]) * (found // wanted) == list(labels):
        return Fault(what=what, mend="put an empty line between two systems")
    if "" in labels and found > wanted:
        return Fault(what=what, mend="write each row on one line, however long it is")
    return Fault(what=what, mend=f"write the rows {' '.join(right)}, or correct `tuning`")


def with_guessed_octaves(names: Sequence[str]) -> str | None:
    """Complete a tuning that was written without octaves, for a suggestion.

    Each string lies at most an octave above the one before; the top one of six or more is set
    nearest E4, of four or five nearest G2, as on guitar and bass (common practice).

    >>> with_guessed_octaves(["E", "A", "D", "G", "B", "E"])
    'E2 A2 D3 G3 B3 E4'
    """
    if not all(_LABEL.fullmatch(name) for name in names):
        return None
    plain = [name.rstrip("-0123456789") for name in names]
    pitches: list[int] = []
    above_c = [pitch_named(f"{name}4") - 60 for name in plain]
    for semitones in above_c:
        above = pitches[-1] + 1 if pitches else 0
        pitches.append(above + (semitones - above) % 12)
    top = 64 if len(names) >= 6 else 43
    shift = 12 * max(round((top - pitches[-1]) / 12), 0)
    octaves = [
        (pitch + shift - semitones) // 12 - 1
        for pitch, semitones in zip(pitches, above_c, strict=True)
    ]
    return " ".join(
        f"{name[0].upper()}{name[1:]}{octave}" for name, octave in zip(plain, octaves, strict=True)
    )


def _tuning_upside_down(tuning: Tuning) -> Fault:
    low_to_high = " ".join(
        plain_name(pitch, tuning, with_octave=True) for pitch in tuning.open_pitches[::-1]
    )
    what = "`tuning` runs from the highest string to the lowest"
    return Fault(what=what, mend=f"write it from low to high: `tuning: {low_to_high}`")
