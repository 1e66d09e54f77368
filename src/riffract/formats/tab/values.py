"""Note values as the time row writes them: `q`, `e.`, `s3`, `h+e`, `{7/20}`."""

import re
from fractions import Fraction
from functools import lru_cache
from typing import Final

from riffract.formats.tab.faults import Fault, shortened
from riffract.music.passage import beat_text

LETTERS: Final = {
    "w": Fraction(4),
    "h": Fraction(2),
    "q": Fraction(1),
    "e": Fraction(1, 2),
    "s": Fraction(1, 4),
    "t": Fraction(1, 8),
}
NAMES: Final = {
    "w": "a whole note",
    "h": "a half",
    "q": "a quarter",
    "e": "an eighth",
    "s": "a sixteenth",
    "t": "a thirty-second",
}
LONGEST_QUARTERS: Final = Fraction(256)
"""As long as the longest bar, 64 whole notes."""
FREE: Final = "free"
"""Instead of a bar's length: it lasts as long as its values."""
LONGEST_TEXT: Final = 60
"""More than any value needs; what is longer is not looked at, however hostile."""

_PART = re.compile(r"([whqest])(\.{0,3})(?:([0-9]{1,2})(?::([0-9]{1,2}))?)?")
_EXACT = re.compile(r"\{([0-9]{1,10})(?:/([0-9]{1,10}))?\}")
_DOT_AFTER_TUPLET = re.compile(r"([whqest])([0-9:]+)(\.+)")
_ONLY_LETTERS = re.compile(r"[whqest.]{2,}")
_DENOMINATORS: Final = {"1": "w", "2": "h", "4": "q", "8": "e", "16": "s", "32": "t"}
_HOW: Final = (
    "write w h q e s t for whole to thirty-second, with dots, e3 for a triplet, q+s joined"
)
_MOST_PARTS_WRITTEN: Final = 3


def read_value(text: str) -> Fraction | Fault:
    """Read one value.

    Returns:
        Its length in quarters, or what is wrong with it.

    >>> [str(read_value(text)) for text in ("q", "e.", "e3", "s5", "s7:8", "h+e", "{7/20}")]
    ['1', '3/4', '1/3', '1/5', '2/7', '5/2', '7/20']
    """
    if len(text) > LONGEST_TEXT:
        return Fault(what=f"`{shortened(text)}` is not a note value", mend=_HOW)
    return _read_sum(text)


def reads_as_value(text: str) -> bool:
    """Say whether a text is a value."""
    return isinstance(read_value(text), Fraction)


@lru_cache(maxsize=4096)
def write_value(quarters: Fraction) -> str:
    """Write a length the way a player would: one letter if it can be, then joined, then exact.

    What is longer than one value of a tuplet is one that is tied on, if a plain value fills it up.

    >>> [write_value(Fraction(x)) for x in ("1", "3/4", "1/3", "4/5", "7/2", "5/6", "1/64")]
    ['q', 'e.', 'e3', 'q5', 'h.+e', 'e3+e', '{1/64}']
    """
    odd = quarters.denominator
    while odd % 2 == 0:
        odd //= 2
    suffix, undone = ("", Fraction(1)) if odd == 1 else (str(odd), Fraction(odd, normal_ratio(odd)))
    parts = _in_letters(quarters * undone) if odd < 100 else ()
    if odd > 1 and len(parts) > 1:
        for text, length in _PLAIN:
            if (rest := quarters - length / undone) in _PLAIN_LETTERS:
                return f"{text}{suffix}+{_PLAIN_LETTERS[rest]}"
    if not parts:
        exact = str(quarters)
        return f"{{{exact}}}"
    return "+".join(part + suffix for part in parts)


def normal_ratio(count: int) -> int:
    """Give the number of plain values in whose time `count` tuplet values pass.

    The largest power of two below the count: 3 in the time of 2, 5 to 7 of 4 (common practice).

    >>> [normal_ratio(n) for n in (3, 5, 6, 7, 9)]
    [2, 4, 4, 4, 8]
    """
    return 1 << ((count - 1).bit_length() - 1)


def value_in_words(quarters: Fraction) -> str:
    """Name a length for a message.

    >>> value_in_words(Fraction(1, 2)), value_in_words(Fraction(3)), value_in_words(Fraction(5, 2))
    ('an eighth (`e`)', 'a dotted half (`h.`)', '2.5 quarters (`h+e`)')
    """
    return f"{length_in_words(quarters)} (`{write_value(quarters)}`)"


def length_in_words(quarters: Fraction) -> str:
    """Name a length for somebody who does not look at its text.

    >>> length_in_words(Fraction(3)), length_in_words(Fraction(5, 2))
    ('a dotted half', '2.5 quarters')
    """
    text = write_value(quarters)
    if text in NAMES:
        return NAMES[text]
    if len(text) == 2 and text[1] == ".":
        return f"a dotted {NAMES[text[0]].split(' ', 1)[1]}"
    return f"{number_text(quarters)} {'quarters' if quarters > 1 else 'of a quarter'}"


def number_text(number: Fraction) -> str:
    """Write a number for a message.

    >>> number_text(Fraction(5, 2)), number_text(Fraction(7, 3)), number_text(Fraction(1, 3))
    ('2.5', '2 1/3', '1/3')
    """
    return beat_text(number).removeprefix("0 ")


@lru_cache(maxsize=4096)
def _read_sum(text: str) -> Fraction | Fault:
    total = Fraction(0)
    for part in text.split("+"):
        length = _read_part(part)
        if isinstance(length, Fault):
            return length
        total += length
    if total > LONGEST_QUARTERS:
        return Fault(what=f"`{text}` is longer than any bar", mend=_HOW)
    return total


def _read_part(part: str) -> Fraction | Fault:
    match = _PART.fullmatch(part)
    if match is not None:
        letter, dots, count, against = match.groups()
        dotted = LETTERS[letter] * (2 - Fraction(1, 2 ** len(dots)))
        return dotted if count is None else _in_tuplet(dotted, part, int(count), against)
    exact = _EXACT.fullmatch(part)
    if exact is None:
        return Fault(what=f"`{shortened(part)}` is not a note value", mend=_mend(part))
    above, below = int(exact[1]), int(exact[2] or 1)
    if above == 0 or below == 0:
        return Fault(what=f"`{part}` lasts no time", mend="write a fraction of a quarter: {7/20}")
    return Fraction(above, below)


def _in_tuplet(plain: Fraction, part: str, count: int, against: str | None) -> Fraction | Fault:
    if against is not None and int(against) > 0 and count > 0:
        return plain * Fraction(int(against), count)
    if against is not None or count < 3:
        mend = "write e3 for a triplet, e2:3 for two in the time of three"
        return Fault(what=f"`{part}` is not a tuplet", mend=mend)
    if count.bit_count() == 1:
        mend = f"say in whose time the {count} pass: `{part}:3`"
        return Fault(what=f"`{part}` is not a tuplet by itself", mend=mend)
    return plain * Fraction(normal_ratio(count), count)


def _mend(part: str) -> str:
    swapped = _DOT_AFTER_TUPLET.fullmatch(part)
    number = part.removeprefix("1/").rstrip(".")
    if swapped is not None:
        return f"put the dot before the tuplet number: `{swapped[1]}{swapped[3]}{swapped[2]}`"
    if number in _DENOMINATORS:
        dots = part[len(part.rstrip(".")) :]
        return f"values are letters: write `{_DENOMINATORS[number]}{dots}`"
    if _ONLY_LETTERS.fullmatch(part):
        return "leave a space between two values; each stands over the start of its fret number"
    if part != part.lower() and reads_as_value(part.lower()):
        return f"write it in lower case: `{part.lower()}`"
    if part in {"r", "R", "z", "Z"}:
        return "a rest is written as its value over an empty column, for example `q`"
    return _HOW


def _in_letters(quarters: Fraction) -> tuple[str, ...]:
    """Split a length into letters and single dots, longest first; empty if it would take many."""
    parts: list[str] = []
    for text, length in _PLAIN:
        if length <= quarters:
            parts.append(text)
            quarters -= length
        if not quarters or len(parts) == _MOST_PARTS_WRITTEN:
            break
    return () if quarters else tuple(parts)


_PLAIN: Final = tuple(
    (letter + dot, length * (Fraction(3, 2) if dot else 1))
    for letter, length in LETTERS.items()
    for dot in (".", "")
)
_PLAIN_LETTERS: Final = {length: text for text, length in _PLAIN}
