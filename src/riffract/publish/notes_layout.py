"""Notes for a terminal: lines at a depth, wrapped."""

from collections.abc import Iterable
from textwrap import wrap

Line = tuple[int, str]
"""A depth, in steps of two signs, and a text."""


def wrapped(lines: Iterable[Line], width: int) -> str:
    """Write lines one under another, none wider than so many signs.

    >>> print(wrapped([(0, "The riff"), (1, "comes back four times")], 16))
    The riff
      comes back
      four times
    """
    rows: list[str] = []
    for depth, text in lines:
        indent = "  " * depth
        rows += wrap(text, width, initial_indent=indent, subsequent_indent=indent) or [""]
    return "\n".join(rows)
