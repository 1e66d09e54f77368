"""What goes wrong while a score is read: gathered as it is found, told once for each kind."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Final, NamedTuple, cast

from lxml.etree import _Element as Element

from riffract.formats.musicxml.texts import tidy_text
from riffract.formats.problem import Problem, Severity

MOST_ERRORS: Final = 50
MOST_WARNINGS: Final = 100
LONGEST_SIGN: Final = 40


class Spot(NamedTuple):
    """A place in the file.

    Attributes:
        line: in the file, from 1; 0 if unknown.
        bar: index of the bar as written, from 0; -1 outside all bars.
        position_ticks: time since the start of that bar.
    """

    line: int = 0
    bar: int = -1
    position_ticks: int | Fraction = 0


NOWHERE: Final = Spot()


def line_of(element: Element) -> int:
    """Tell in which line of the file a tag starts; 0 if that is not known."""
    return cast("int | None", element.sourceline) or 0


@dataclass(slots=True)
class _Entry:
    problem: Problem
    spot: Spot
    count: int = 1


@dataclass(slots=True)
class Report:
    """Gathers problems. Errors stand one by one; warnings of one kind are counted together."""

    _errors: list[_Entry] = field(default_factory=list)
    _errors_left_out: int = 0
    _warnings_left_out: int = 0
    _warnings: dict[str, _Entry] = field(default_factory=dict)

    @property
    def error_count(self) -> int:
        """How many errors were found so far."""
        return len(self._errors) + self._errors_left_out

    @property
    def has_errors(self) -> bool:
        """Whether the file cannot be used."""
        return bool(self._errors)

    def error(self, what: str, mend: str, at: Spot = NOWHERE, *, column: int = 0) -> None:
        """Note something that stops the work."""
        if len(self._errors) >= MOST_ERRORS:
            self._errors_left_out += 1
            return
        self._errors.append(_Entry(Problem(what=what, mend=mend, column=column), at))

    def warn(self, kind: str, what: str, mend: str, at: Spot = NOWHERE) -> None:
        """Note something that does not stop the work; only the first of a kind is told."""
        entry = self._warnings.get(kind)
        if entry is not None:
            entry.count += 1
            return
        if len(self._warnings) >= MOST_WARNINGS:
            self._warnings_left_out += 1
            return
        problem = Problem(what=what, mend=mend, severity=Severity.WARNING)
        self._warnings[kind] = _Entry(problem, at)

    def left_out(self, sign: str, at: Spot, *, detail: str = "", mend: str = "") -> None:
        """Note a sign that the reader knows no meaning for, by its name and what it holds."""
        name = f"`{tidy_text(sign, LONGEST_SIGN)}`"
        shown = tidy_text(detail, LONGEST_SIGN)
        self.warn(
            f"left out: {name}",
            f"{name}{f' {shown!r}' if shown else ''} is not read; it is left out",
            mend or "nothing, if it does not change which notes sound when; else write it in notes",
            at,
        )

    def problems(self, place: Callable[[Spot], str]) -> tuple[Problem, ...]:
        """Give all problems by line, errors before warnings on the same line.

        Args:
            place: names the bar and beat of a spot.
        """
        entries = [*self._errors, *self._warnings.values()]
        entries.sort(key=lambda entry: (entry.spot.line, entry.problem.severity.value))
        told = [_told(entry, place) for entry in entries]
        if self._errors_left_out:
            told.append(
                Problem(
                    what=f"{self._errors_left_out} more errors follow",
                    mend="mend these first, then read the file again",
                )
            )
        if self._warnings_left_out:
            told.append(
                Problem(
                    what=f"{self._warnings_left_out} more warnings of other kinds follow",
                    mend="mend these first, then read the file again",
                    severity=Severity.WARNING,
                )
            )
        return tuple(told)


def _told(entry: _Entry, place: Callable[[Spot], str]) -> Problem:
    times = f" ({entry.count} times, the first is here)" if entry.count > 1 else ""
    return replace(
        entry.problem,
        what=entry.problem.what + times,
        line=entry.spot.line,
        place=place(entry.spot) if entry.spot.bar >= 0 else "",
    )
