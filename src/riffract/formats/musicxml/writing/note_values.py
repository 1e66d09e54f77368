"""Note values: which written notes, tied together, last a given time."""

from fractions import Fraction
from functools import lru_cache
from itertools import product
from typing import Final, NamedTuple

from riffract.formats.musicxml.values import NOTE_VALUE_QUARTERS

_SHORTEST: Final = "1024th"
_DOTTED: Final = (Fraction(1), Fraction(3, 2), Fraction(7, 4))
_PLAIN: Final = sorted(
    (
        (quarters * _DOTTED[dots], kind, dots)
        for (kind, quarters), dots in product(NOTE_VALUE_QUARTERS.items(), range(len(_DOTTED)))
    ),
    key=lambda value: -value[0],
)
BEAMS_OF: Final = {
    "eighth": 1,
    **{name: n for n, name in enumerate(("16th", "32nd", "64th", "128th", "256th"), start=2)},
    "512th": 7,
    "1024th": 8,
}
"""How many beams or flags a note has; none for a quarter and longer ones."""


class NoteValue(NamedTuple):
    """A note as it is written.

    Attributes:
        quarters: how long it lasts.
        kind: its name in the standard, e.g. `eighth`.
        dots: how many dots it has.
        actual, normal: `actual` notes in the time of `normal`; equal outside tuplets.
    """

    quarters: Fraction
    kind: str
    dots: int
    actual: int = 1
    normal: int = 1

    @property
    def is_in_tuplet(self) -> bool:
        """Whether its ratio must be written."""
        return self.actual != self.normal

    @property
    def beams(self) -> int:
        """How many beams or flags it has."""
        return BEAMS_OF.get(self.kind, 0)


@lru_cache(maxsize=4096)
def note_values(quarters: Fraction) -> tuple[NoteValue, ...]:
    """Say by which notes, tied in this order, a time is written exactly.

    Halves of halves are note values and dots, the longest first. Whatever else divides a quarter
    is a tuplet: q notes in the time of the next lower power of two. What is left below the
    shortest note is that note, in the ratio that makes it exact.

    Source: MusicXML 4.0, `type`, `dot`, `time-modification`.

    >>> [(value.kind, value.dots, value.actual) for value in note_values(Fraction(5, 4))]
    [('quarter', 0, 1), ('16th', 0, 1)]
    >>> [(value.kind, value.actual, value.normal) for value in note_values(Fraction(2, 5))]
    [('eighth', 5, 4)]
    """
    actual = _odd_part(quarters.denominator)
    normal = 1 << (actual.bit_length() - 1)
    ratio = Fraction(normal, actual)
    left = quarters / ratio
    found: list[NoteValue] = []
    for value, kind, dots in _PLAIN:
        while value <= left:
            found.append(NoteValue(value * ratio, kind, dots, actual, normal))
            left -= value
    if left:
        exact = left * ratio / NOTE_VALUE_QUARTERS[_SHORTEST]
        found.append(NoteValue(left * ratio, _SHORTEST, 0, exact.denominator, exact.numerator))
    return tuple(found)


def _odd_part(number: int) -> int:
    """Divide a number by 2 as often as that goes."""
    return number // (number & -number)
