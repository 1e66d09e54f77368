"""Note values: the name of a note, its dots, and the tuplet it stands in."""

from collections.abc import Mapping
from fractions import Fraction
from typing import Final, NamedTuple

from lxml.etree import _Element as Element

from riffract.formats.musicxml.numbers import whole_number

NOTE_VALUE_QUARTERS: Final = {
    "maxima": Fraction(32),
    "long": Fraction(16),
    "breve": Fraction(8),
    "whole": Fraction(4),
    "half": Fraction(2),
    "quarter": Fraction(1),
    "eighth": Fraction(1, 2),
    "16th": Fraction(1, 4),
    "32nd": Fraction(1, 8),
    "64th": Fraction(1, 16),
    "128th": Fraction(1, 32),
    "256th": Fraction(1, 64),
    "512th": Fraction(1, 128),
    "1024th": Fraction(1, 256),
}
MOST_DOTS: Final = 8
LARGEST_TUPLET: Final = 1000


class WrittenValue(NamedTuple):
    """The texts that a note's written value stands in.

    Attributes:
        kind: name of the note value, e.g. `eighth`; `None` if it has none.
        dots: how many dots.
        actual, normal: a tuplet of `actual` notes in the time of `normal`; `None` without one.
    """

    kind: str | None
    dots: int
    actual: str | None
    normal: str | None

    def quarters(self) -> Fraction | None:
        """Work out how long it is; `None` if it is not written or makes no sense.

        A note with n dots lasts 2 - 2^-n times its type; a tuplet of m in the time of n, n/m of it.

        Source: MusicXML 4.0, `type`, `dot`, `time-modification`.

        >>> WrittenValue("eighth", 1, "3", "2").quarters()
        Fraction(1, 2)
        """
        value = NOTE_VALUE_QUARTERS.get((self.kind or "").strip())
        if value is None:
            return None
        if self.dots:
            value *= 2 - Fraction(1, 2 ** min(self.dots, MOST_DOTS))
        if self.actual is None and self.normal is None:
            return value
        actual = whole_number(self.actual, 1, LARGEST_TUPLET)
        normal = whole_number(self.normal, 1, LARGEST_TUPLET)
        return None if actual is None or normal is None else value * normal / actual


def beam_count(kind: str | None) -> int:
    """Tell how many beams or flags a note has.

    >>> [beam_count(kind) for kind in ("half", "quarter", "eighth", "32nd")]
    [0, 0, 1, 3]
    """
    value = NOTE_VALUE_QUARTERS.get((kind or "").strip(), Fraction(1))
    return value.denominator.bit_length() - 1


def written_value(note: Element, tags: Mapping[str, Element]) -> WrittenValue:
    """Read the written value of a note.

    Args:
        note: the note.
        tags: its tags by name.
    """
    kind = tags.get("type")
    tuplet = tags.get("time-modification")
    return WrittenValue(
        None if kind is None else kind.text,
        len(note.findall("dot")) if "dot" in tags else 0,
        None if tuplet is None else tuplet.findtext("actual-notes", default=""),
        None if tuplet is None else tuplet.findtext("normal-notes", default=""),
    )
