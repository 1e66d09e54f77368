"""What is wrong and how to mend it, before and after it has a place in the file."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from difflib import get_close_matches
from typing import Final

from riffract.formats.problem import Problem, Severity

MOST_PROBLEMS: Final = 300
"""Beyond this nobody reads on, and a hostile file must not fill the memory."""

LONGEST_NAME_COMPARED: Final = 30


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One thing that is wrong with a piece of text, whatever its place."""

    what: str
    mend: str


@dataclass(frozen=True, slots=True)
class Spot:
    """A place in the file: line and column from 1, and bar and beat in words."""

    line: int
    column: int = 0
    place: str = ""


@dataclass(slots=True)
class Report:
    """Gathers the problems of one file; says each thing about each place only once.

    Attributes:
        has_errors: whether anything stops the work.
        is_full: whether more problems were found than are listed.
    """

    _problems: dict[tuple[int, int, str], Problem] = field(default_factory=dict)
    has_errors: bool = False
    is_full: bool = False

    def error(self, fault: Fault, spot: Spot) -> None:
        """Add something that stops the work."""
        self.has_errors = True
        self._add(fault, spot, Severity.ERROR)

    def warn(self, fault: Fault, spot: Spot) -> None:
        """Add something that is legal but looks like a slip."""
        self._add(fault, spot, Severity.WARNING)

    def problems(self) -> tuple[Problem, ...]:
        """List them by line and column."""
        ordered = sorted(self._problems.values(), key=lambda p: (p.line, p.column))
        if not self.is_full:
            return tuple(ordered)
        more = Problem(
            what=f"there are more than {MOST_PROBLEMS} problems; the others are not listed",
            mend="mend these first, then check again",
        )
        return (*ordered, more)

    def _add(self, fault: Fault, spot: Spot, severity: Severity) -> None:
        if len(self._problems) >= MOST_PROBLEMS:
            self.is_full = True
            return
        problem = Problem(
            what=fault.what,
            mend=fault.mend,
            line=spot.line,
            column=spot.column,
            place=spot.place,
            severity=severity,
        )
        self._problems.setdefault((spot.line, spot.column, fault.what), problem)


def nearest(name: str, known: Iterable[str]) -> list[str]:
    """List the known names that look like a name, best first; empty if none does.

    >>> nearest("metr", ["metre", "tempo", "title"])
    ['metre']
    """
    if len(name) > LONGEST_NAME_COMPARED:
        return []
    return get_close_matches(name.lower(), list(known), n=2, cutoff=0.6)


def either(names: Iterable[str]) -> str:
    """Join names for a message.

    >>> either(["metre", "tempo"])
    '`metre` or `tempo`'
    """
    return " or ".join(f"`{name}`" for name in names)


def shortened(text: str, most: int = 24) -> str:
    """Cut a text from the file down to what a message can show.

    >>> shortened("a long word", 6)
    'a long…'
    """
    return text if len(text) <= most else f"{text[:most]}…"
