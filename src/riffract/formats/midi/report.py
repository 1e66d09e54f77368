"""What goes wrong while a MIDI file is read, gathered."""

from dataclasses import dataclass, field

from riffract.formats.problem import Problem, Severity


@dataclass(slots=True)
class Report:
    """Gathers problems in the order in which they are found."""

    _problems: list[Problem] = field(default_factory=list)

    @property
    def has_errors(self) -> bool:
        """Whether the file cannot be used."""
        return any(problem.severity is Severity.ERROR for problem in self._problems)

    def error(self, what: str, mend: str, *, place: str = "") -> None:
        """Note something that stops the work."""
        self._problems.append(Problem(what=what, mend=mend, place=place))

    def warn(self, what: str, mend: str, *, place: str = "") -> None:
        """Note something that does not stop the work."""
        self._problems.append(Problem(what=what, mend=mend, place=place, severity=Severity.WARNING))

    def problems(self) -> tuple[Problem, ...]:
        """Give all problems, errors first."""
        return tuple(sorted(self._problems, key=lambda p: p.severity is Severity.WARNING))


def counted(count: int, noun: str) -> str:
    """Count things in words.

    >>> counted(1, "note"), counted(1200, "note")
    ('1 note', '1,200 notes')
    """
    return f"{count:,} {noun}{'' if count == 1 else 's'}"
