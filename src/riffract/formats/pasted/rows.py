"""Which lines are the row of a string, and how it is labelled."""

import re
from dataclasses import dataclass
from typing import Final

from riffract.formats.pasted.cleaning import Line
from riffract.formats.pasted.report import Place

_LABEL = re.compile(
    r"""
    \s*[\[(]?\s?
    (?P<name>[A-Ha-h][#b♯♭]?(?:-?[0-9](?=\s?[|:\])]))?)
    \s?[\])]?\s{0,4}[:.]?\s{0,4}
    (?=[-|0-9x(<\[/\\~*hp])
    """,
    re.VERBOSE,
)
_NUMBER = re.compile(r"\s*(?P<name>[0-9]{1,2})\s?[:)]?\s?(?=\|)")
_BEGINS_A_ROW: Final = frozenset("-|0123456789xX(<[/\\~*")
_NO_SIGNS = re.compile(r"full|[-|0-9hpbrstvxo~/\\()<>\[\]{}^*.:=_+ \#½¼¾]+", re.IGNORECASE)
_NO_FILL = re.compile(r"[^-|0-9 =_]+")
_FEWEST_DASHES: Final = 3
_MOST_FOREIGN: Final = 0.1
_LEAST_FILL: Final = 0.5


@dataclass(frozen=True, slots=True)
class Row:
    """The row of one string.

    Attributes:
        line: its number in the file.
        label: the name of the string as written; may be empty.
        text: the whole line; of a row that a mail program broke in two, both parts.
        start: the column, from 0, at which the row begins behind its label.
        end: the column behind the last bar line, or behind the row if it has none.
        odd_column: the column, from 1, of a long dash or tab character; 0 without.
        broken_at: the column from which the text stands on another line; 0 if it does not.
        rest_line, rest_column: where that other part begins in the file.
    """

    line: int
    label: str
    text: str
    start: int
    end: int
    odd_column: int = 0
    broken_at: int = 0
    rest_line: int = 0
    rest_column: int = 0

    @property
    def has_music(self) -> bool:
        """Whether it holds more than dashes."""
        return any(sign not in "- " for sign in self.text[self.start : self.end])

    def place(self, column: int) -> Place:
        """Tell where a column, from 0, stands in the file."""
        if self.broken_at and column >= self.broken_at:
            return Place(self.rest_line, column - self.broken_at + self.rest_column)
        return Place(self.line, column + 1)


def string_row(line: Line) -> Row | None:
    """Read a line as the row of a string; `None` if it is none.

    A row has a name and a bar line or dashes, or begins without a name and is mostly dashes.

    >>> row = string_row(Line(1, "Eb|--0--3--|  x2"))
    >>> row.label, row.text[row.start : row.end]
    ('Eb', '|--0--3--|')
    >>> string_row(Line(1, "E-mail me -- or write")) is None
    True
    """
    text = line.text
    if "-" not in text and "|" not in text:
        return None
    match = _LABEL.match(text) or _NUMBER.match(text)
    start = match.end() if match else line.first_column - 1
    if not match and text[start : start + 1] not in _BEGINS_A_ROW:
        return None
    end = _end(text, start)
    body = text[start:end]
    dashes = body.count("-")
    foreign = len(_NO_SIGNS.sub("", body))
    is_closed = dashes > 0 and not foreign and body.endswith("|")
    is_drawn = dashes >= _FEWEST_DASHES or is_closed or (match and (dashes >= 2 or "|" in body))
    most_foreign = _MOST_FOREIGN * len(body) if dashes >= _FEWEST_DASHES else 0
    fill = len(body) - len("".join(_NO_FILL.findall(body)))
    if not is_drawn or foreign > most_foreign or fill < _LEAST_FILL * len(body):
        return None
    return Row(
        line=line.number,
        label=match["name"] if match else "",
        text=text,
        start=start,
        end=end,
        odd_column=line.odd_column,
    )


def _end(text: str, start: int) -> int:
    """Tell where a row ends: behind its last bar line, unless more dashes follow."""
    behind = text.rfind("|") + 1
    return behind if behind > start + 1 and "--" not in text[behind:] else len(text)
