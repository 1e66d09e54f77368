"""Short words for the picture: lengths of time and single notes."""

from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Final

from riffract.analysis.spelling import pitch_spelled
from riffract.analysis.wording import counted

_UNITS: Final = (
    (Fraction(1), "quarter"),
    (Fraction(1, 2), "eighth"),
    (Fraction(1, 4), "sixteenth"),
    (Fraction(1, 3), "triplet eighth"),
    (Fraction(1, 6), "triplet sixteenth"),
    (Fraction(1, 8), "thirty-second"),
)


def length_words(quarters: Fraction) -> str:
    """Say how long, in the largest note value that measures it exactly.

    >>> length_words(Fraction(1, 2)), length_words(Fraction(3, 4)), length_words(Fraction(2, 3))
    ('one eighth', 'three sixteenths', 'two triplet eighths')
    """
    for unit, name in _UNITS:
        if (quarters / unit).denominator == 1:
            return counted(int(quarters / unit), name)
    return f"{float(quarters):.2f} quarters"


def change_words(expected: Sequence[int], found: Sequence[int], names: Mapping[int, str]) -> str:
    """Say which pitches stand in place of which, as MIDI pitches; octaves only if they tell.

    >>> names = {9: "A", 11: "B", 2: "D"}
    >>> change_words([45, 50], [47, 50], names), change_words([45], [57], names)
    ('B, not A', 'A3, not A2')
    >>> change_words([45, 50], [45], names)
    'without D'
    """
    lost = [pitch for pitch in expected if pitch not in found]
    new = [pitch for pitch in found if pitch not in expected]
    if len(lost) == len(new) == 1:
        if lost[0] % 12 == new[0] % 12:
            return f"{pitch_spelled(new[0], names)}, not {pitch_spelled(lost[0], names)}"
        return f"{names[new[0] % 12]}, not {names[lost[0] % 12]}"
    if len(new) == 1 and not lost:
        return f"with {names[new[0] % 12]}"
    if len(lost) == 1 and not new:
        return f"without {names[lost[0] % 12]}"
    return "other notes"
