"""What is wrong and how to mend it, before and after it has a place in the file."""

from collections.abc import Hashable, Iterable
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
        is_full: more errors were found than are listed, so there is no use in reading on.
    """

    is_full: bool = False
    _errors: dict[tuple[int, int, str], Problem] = field(default_factory=dict)
    _warnings: dict[tuple[int, int, str], Problem] = field(default_factory=dict)
    _told: set[Hashable] = field(default_factory=set)

    @property
    def has_errors(self) -> bool:
        """Whether anything stops the work."""
        return bool(self._errors)

    @property
    def error_count(self) -> int:
        """How many errors there are so far."""
        return len(self._errors)

    @property
    def count(self) -> int:
        """How many problems there are so far."""
        return len(self._errors) + len(self._warnings)

    def error(self, fault: Fault, spot: Spot) -> None:
        """Add something that stops the work."""
        if len(self._errors) >= MOST_PROBLEMS:
            self.is_full = True
        else:
            _add(self._errors, fault, spot, Severity.ERROR)

    def error_once(self, fault: Fault, spot: Spot, *, cause: Hashable) -> None:
        """Add something that may show in many places, but has one cause; the first place counts."""
        if cause not in self._told:
            self._told.add(cause)
            self.error(fault, spot)

    def warn_once(self, fault: Fault, spot: Spot, *, cause: Hashable) -> None:
        """Add a doubt that has one cause, wherever else it shows; the first place counts."""
        if cause not in self._told:
            self._told.add(cause)
            self.warn(fault, spot)

    def warn(self, fault: Fault, spot: Spot) -> None:
        """Add something that is legal but looks like a slip; beyond a number it is left out."""
        if len(self._warnings) < MOST_PROBLEMS:
            _add(self._warnings, fault, spot, Severity.WARNING)

    def problems(self) -> tuple[Problem, ...]:
        """List them by line and column."""
        found = [*self._errors.values(), *self._warnings.values()]
        found.sort(key=lambda problem: (problem.line, problem.column))
        if self.is_full:
            what = f"there are more than {MOST_PROBLEMS} errors; the others are not listed"
            found.append(Problem(what=what, mend="mend these first, then check again"))
        return tuple(found)


def _add(
    problems: dict[tuple[int, int, str], Problem], fault: Fault, spot: Spot, severity: Severity
) -> None:
    problem = Problem(
        what=fault.what,
        mend=fault.mend,
        line=spot.line,
        column=spot.column,
        place=spot.place,
        severity=severity,
    )
    problems.setdefault((spot.line, spot.column, fault.what), problem)


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
