"""The notes of a MusicXML bar with the moment at which each stands."""

from collections.abc import Iterator
from fractions import Fraction
from typing import Final, NamedTuple

from lxml.etree import _Element as Element

_BEFORE_ACCIDENTAL: Final = (
    "grace",
    "chord",
    "pitch",
    "rest",
    "duration",
    "tie",
    "voice",
    "type",
    "dot",
)
_BEFORE_BEAM: Final = (
    *_BEFORE_ACCIDENTAL,
    "accidental",
    "time-modification",
    "stem",
    "notehead",
    "staff",
    "beam",
)


class WrittenNote(NamedTuple):
    """A `note` of a bar.

    Attributes:
        at_quarters: from the start of the bar.
        length_quarters: 0 for a grace note.
        tag: the element itself.
    """

    at_quarters: Fraction
    length_quarters: Fraction
    tag: Element

    @property
    def voice(self) -> str:
        """The number of its voice."""
        return self.tag.findtext("voice", "1")

    @property
    def is_rest(self) -> bool:
        """Whether nothing sounds."""
        return self.tag.find("rest") is not None

    @property
    def joins_chord(self) -> bool:
        """Whether it stands on the stem of the note before."""
        return self.tag.find("chord") is not None

    @property
    def is_grace(self) -> bool:
        """Whether it takes no time of the bar."""
        return self.tag.find("grace") is not None

    @property
    def is_held(self) -> bool:
        """Whether a tie leads to it."""
        return any(tie.get("type") == "stop" for tie in self.tag.iterfind("tie"))


def written_notes(measure: Element, divisions: int) -> Iterator[WrittenNote]:
    """Walk through a bar in the order of the file, with a clock.

    Args:
        measure: the bar.
        divisions: ticks of a quarter.
    """
    now = before = Fraction(0)
    for tag in measure:
        length = Fraction(int(tag.findtext("duration", "0")), divisions)
        if tag.tag == "backup":
            now -= length
        elif tag.tag == "forward":
            now += length
        elif tag.tag == "note":
            if tag.find("chord") is None:
                before = now
                now += length
            yield WrittenNote(before, length, tag)


def insert_accidental(note: Element, accidental: Element) -> None:
    """Put an accidental where the standard wants it: behind the dots."""
    _insert_behind(note, accidental, _BEFORE_ACCIDENTAL)


def insert_beam(note: Element, beam: Element) -> None:
    """Put a beam where the standard wants it: behind the staff and earlier beams."""
    _insert_behind(note, beam, _BEFORE_BEAM)


def _insert_behind(note: Element, tag: Element, names: tuple[str, ...]) -> None:
    place = sum(1 for inner in note if inner.tag in names)
    note.insert(place, tag)
