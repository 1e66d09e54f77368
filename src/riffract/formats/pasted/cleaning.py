"""The lines of a mail as plain signs, each in its column."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

_QUOTE = re.compile(r"(?:\s?>)+\s?(?=[^\s>])")
_LONG_DASHES: Final = "\u2010\u2011\u2012\u2013\u2014\u2015\u2212"
_PLAIN: Final = str.maketrans(
    {
        **dict.fromkeys(_LONG_DASHES + "\u2500\u2501\u2550\u00ad\uff0d", "-"),
        **dict.fromkeys("\u2502\u2503\u2551\u00a6\u2016\uff5c", "|"),
        **dict.fromkeys("\u00a0\u2000\u2001\u2002\u2003\u2007\u2009\u202f\x0b\x0c\x00", " "),
        **dict.fromkeys("\u200b\u200c\u200d\u200e\u200f\u2060\ufeff", None),
        "\u223c": "~",
        "\uff5e": "~",
    }
)
_LONG_DASH = re.compile(f"[{_LONG_DASHES}]")


@dataclass(frozen=True, slots=True)
class Line:
    """One line.

    Attributes:
        number: in the file, from 1.
        text: with plain dashes and bar lines, without quotation marks of mails; columns are kept.
        odd_column: the first column, from 1, of a long dash or tab character; 0 without.
    """

    number: int
    text: str
    odd_column: int = 0

    @property
    def is_blank(self) -> bool:
        """Whether nothing stands there."""
        return not self.text or self.text.isspace()

    @property
    def first_column(self) -> int:
        """Where its text starts, from 1."""
        return len(self.text) - len(self.text.lstrip()) + 1


def plain_lines(text: str) -> Iterator[Line]:
    r"""Clean up line by line.

    >>> [line.text for line in plain_lines("> e|——3—|\r\n>")]
    ['  e|--3-|', '>']
    """
    unified = text.replace("\r\n", "\n").replace("\r", "\n")
    for number, raw in enumerate(unified.split("\n"), start=1):
        odd_column = 0
        line = raw
        if not raw.isascii() or not raw.isprintable():
            odd = _LONG_DASH.search(raw)
            odd_column = odd.start() + 1 if odd else raw.find("\t") + 1
            line = raw.translate(_PLAIN).expandtabs()
        quote = _QUOTE.match(line)
        if quote is not None:
            line = " " * quote.end() + line[quote.end() :]
        yield Line(number, line.rstrip(), odd_column)
