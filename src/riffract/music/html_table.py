"""Tables that a notebook shows: plain, named, with heads that a screen reader can say.

Everything that comes from a file is escaped. Notebooks set text to the right; words are read from
the left, so each cell says so itself.
"""

from collections.abc import Iterable, Sequence
from html import escape
from typing import Final

_LEFT: Final = ' style="text-align:left"'
_LIGHT: Final = ' style="text-align:left;font-weight:normal"'


def facts_html(caption: str, facts: Iterable[tuple[str, str]]) -> str:
    """Write names and what they hold, a row each.

    >>> facts_html("A <riff>", [("bars", "4")]).count("&lt;riff&gt;")
    1
    """
    rows = "".join(
        f'<tr><th scope="row"{_LEFT}>{escape(name)}</th>{_cell(text)}</tr>' for name, text in facts
    )
    return _table(caption, rows)


def table_html(caption: str, heads: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Write rows under heads; what a row is about stands first in it.

    Args:
        caption: what the table is about.
        heads: of the columns.
        rows: as many texts each.
    """
    head = "".join(f'<th scope="col"{_LEFT}>{escape(name)}</th>' for name in heads)
    body = "".join(
        f'<tr><th scope="row"{_LIGHT}>{escape(first)}</th>{"".join(map(_cell, rest))}</tr>'
        for first, *rest in rows
    )
    return _table(caption, f"<thead><tr>{head}</tr></thead><tbody>{body}</tbody>")


def _table(caption: str, rows: str) -> str:
    return f"<table><caption{_LEFT}>{escape(caption)}</caption>{rows}</table>"


def _cell(text: str) -> str:
    return f"<td{_LEFT}>{escape(text)}</td>"
