"""What the standard has no tag for, noted in its `miscellaneous-field`s by our own writer."""

from dataclasses import dataclass
from typing import Final

from lxml.etree import _Element as Element

from riffract.formats.musicxml.numbers import decimal_number, whole_number
from riffract.formats.musicxml.texts import tidy_text
from riffract.music import Proposed
from riffract.music.tuning import MOST_FRETS

FRETS: Final = "frets"
SCALE_LENGTH_MM: Final = "scale-length-mm"
PROPOSED: Final = "proposed"
STRING_1: Final = "string-1"
HIGHEST_LYING: Final = "highest-lying"

_LONGEST_FIELD: Final = 80


@dataclass(frozen=True, slots=True)
class Fields:
    """What the fields say.

    Attributes:
        frets: how many frets the neck has; `None` if not said.
        scale_length_mm: nut to bridge; `None` if not said.
        proposed: what a reader had to propose when the music first came in.
        is_string_order_sure: whether string 1 is the highest-lying one even though it sounds
            lowest.
    """

    frets: int | None = None
    scale_length_mm: float | None = None
    proposed: tuple[Proposed, ...] = ()
    is_string_order_sure: bool = False


NO_FIELDS: Final = Fields()


def fields_of(root: Element) -> Fields:
    """Read the fields of a score; names and values that are not known are passed over."""
    texts = {
        field.get("name", ""): tidy_text(field.text, _LONGEST_FIELD)
        for field in root.iterfind("identification/miscellaneous/miscellaneous-field")
    }
    scale_length = decimal_number(texts.get(SCALE_LENGTH_MM))
    words = texts.get(PROPOSED, "").split()
    return Fields(
        frets=whole_number(texts.get(FRETS), 1, MOST_FRETS),
        scale_length_mm=(
            float(scale_length)
            if scale_length is not None and 200 <= scale_length <= 1500
            else None
        ),
        proposed=tuple(kind for kind in Proposed if kind.value in words),
        is_string_order_sure=texts.get(STRING_1) == HIGHEST_LYING,
    )
