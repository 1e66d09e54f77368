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


def length_count(quarters: Fraction) -> str:
    """Say how long with a figure, for places where room is short.

    >>> length_count(Fraction(1, 2)), length_count(Fraction(3, 4))
    ('1 eighth', '3 sixteenths')
    """
    for unit, name in _UNITS:
        if (quarters / unit).denominator == 1:
            return unit_count(int(quarters / unit), name)
    return f"{float(quarters):.2f} quarters"


def unit_count(count: int, unit: str) -> str:
    """Write a figure with its unit.

    >>> unit_count(1, "eighth"), unit_count(9, "eighth")
    ('1 eighth', '9 eighths')
    """
    return f"{count} {unit}{'' if count == 1 else 's'}"


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


def in_common_unit(first: Fraction, second: Fraction) -> tuple[int, int, str]:
    """Count two lengths in the largest note value that measures both, to the nearest sixteenth.

    >>> in_common_unit(Fraction(25, 4), Fraction(11, 4)), in_common_unit(Fraction(4), Fraction(2))
    ((25, 11, 'sixteenth'), (4, 2, 'quarter'))
    """
    for unit, name in _UNITS:
        if (first / unit).denominator == (second / unit).denominator == 1:
            return int(first / unit), int(second / unit), name
    return round(first * 4), round(second * 4), "sixteenth"
