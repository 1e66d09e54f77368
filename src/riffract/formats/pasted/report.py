"""What is said about a pasted tab: each kind of thing once, with its first place and a count."""

from dataclasses import dataclass, field, replace
from typing import Final, NamedTuple

from riffract.formats.problem import Problem, Severity

LONGEST_QUOTE: Final = 32


class Place(NamedTuple):
    """Line and column of the file, from 1; 0 where there is none."""

    line: int = 0
    column: int = 0


NOWHERE: Final = Place()


@dataclass(slots=True)
class _Entry:
    problem: Problem
    count: int = 1


@dataclass(slots=True)
class Report:
    """Gathers problems; those of one kind are counted together, and the first one is shown."""

    _entries: dict[str, _Entry] = field(default_factory=dict)
    has_errors: bool = False

    def warn(self, kind: str, what: str, mend: str, place: Place = NOWHERE) -> None:
        """Note something that the reader had to decide, or could not use."""
        self._add(kind, what, mend, place, Severity.WARNING)

    def error(self, what: str, mend: str, place: Place = NOWHERE) -> None:
        """Note something that stops the work."""
        self.has_errors = True
        self._add(f"error: {what}", what, mend, place, Severity.ERROR)

    def problems(self) -> tuple[Problem, ...]:
        """Give all problems by line and column."""
        told = [_told(entry) for entry in self._entries.values()]
        return tuple(sorted(told, key=lambda problem: (problem.line, problem.column)))

    def _add(self, kind: str, what: str, mend: str, place: Place, severity: Severity) -> None:
        entry = self._entries.get(kind)
        if entry is not None:
            entry.count += 1
            return
        problem = Problem(
            what=what, mend=mend, line=place.line, column=place.column, severity=severity
        )
        self._entries[kind] = _Entry(problem)


def _told(entry: _Entry) -> Problem:
    if entry.count == 1:
        return entry.problem
    what = f"{entry.problem.what} ({entry.count} times, the first is here)"
    return replace(entry.problem, what=what)


def quoted(text: str) -> str:
    """Quote a piece of the file within a message.

    >>> quoted("  a line   of words that goes on and on and on")
    '`a line of words that goes on and…`'
    """
    plain = " ".join(text[: 4 * LONGEST_QUOTE].split())
    return f"`{plain if len(plain) <= LONGEST_QUOTE else plain[:LONGEST_QUOTE] + '…'}`"
