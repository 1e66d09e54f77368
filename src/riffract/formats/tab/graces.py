"""Grace notes as they are written: `g5`, and `g{long,s,pm}5` where more must be said."""

from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from riffract.formats.tab.faults import Fault, shortened
from riffract.formats.tab.values import read_value, write_value
from riffract.music import Technique

PLAIN_VALUE_QUARTERS: Final = Fraction(1, 2)
LONG: Final = "long"
WORDS: Final = {
    "pm": Technique.PALM_MUTE,
    "ring": Technique.LET_RING,
    "accent": Technique.ACCENT,
    "staccato": Technique.STACCATO,
    "trem": Technique.TREMOLO,
    "d": Technique.DOWN_STROKE,
    "u": Technique.UP_STROKE,
}
"""What rows above the strings say of notes with a value of their own."""


@dataclass(frozen=True, slots=True)
class GraceSign:
    """What a `g` says: the value it is written as, whether it is short, bits of `Technique`."""

    value_quarters: Fraction = PLAIN_VALUE_QUARTERS
    is_slashed: bool = True
    techniques: int = 0


def read_grace_sign(text: str) -> tuple[GraceSign, Fault | None]:
    """Read what stands in the braces of a grace note.

    >>> read_grace_sign("long,s")[0]
    GraceSign(value_quarters=Fraction(1, 4), is_slashed=False, techniques=0)
    """
    value, is_slashed, techniques = PLAIN_VALUE_QUARTERS, True, 0
    for word in text.split(",") if text else ():
        if word == LONG:
            is_slashed = False
        elif word in WORDS:
            techniques |= WORDS[word]
        else:
            length = read_value(f"{{{word}}}" if word[:1].isdecimal() else word)
            if isinstance(length, Fault):
                what = f"`{shortened(word)}` says nothing about a grace note"
                known = ", ".join((LONG, *WORDS))
                return GraceSign(), Fault(what=what, mend=f"write a value, or one of {known}")
            value = length
    return GraceSign(value, is_slashed, int(techniques)), None


def write_grace_sign(value_quarters: Fraction, *, is_slashed: bool, techniques: Technique) -> str:
    """Write a `g` and what must be said of it.

    >>> write_grace_sign(Fraction(1, 4), is_slashed=False, techniques=Technique.PALM_MUTE)
    'g{long,s,pm}'
    """
    words = [] if is_slashed else [LONG]
    if value_quarters != PLAIN_VALUE_QUARTERS:
        words.append(write_value(value_quarters).strip("{}"))
    words += [word for word, technique in WORDS.items() if technique in techniques]
    return f"g{{{','.join(words)}}}" if words else "g"
