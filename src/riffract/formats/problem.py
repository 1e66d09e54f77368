"""A problem in a file, as a value: what is wrong, where, and how to mend it."""

from dataclasses import dataclass
from enum import StrEnum

from riffract.music import Passage


class Severity(StrEnum):
    """An error stops the work; a warning does not."""

    ERROR = "error"
    WARNING = "warning"


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One thing that a reader found wrong.

    Attributes:
        what: in the user's words, without a full stop.
        mend: what to do about it.
        line, column: from 1; 0 where the file has no such thing.
        place: bar and beat, e.g. `bar 4, beat 2.5`; empty if unknown.
        severity: whether the work can go on.
    """

    what: str
    mend: str
    line: int = 0
    column: int = 0
    place: str = ""
    severity: Severity = Severity.ERROR

    def text(self, file_name: str) -> str:
        """Write it out in two lines, as a terminal shows it.

        >>> print(Problem(what="fret 26 is beyond the 24 frets", mend="write 0 to 24",
        ...               line=12, column=9, place="bar 4, beat 2.5").text("passage.tab"))
        passage.tab:12:9 (bar 4, beat 2.5): fret 26 is beyond the 24 frets
          mend: write 0 to 24
        """
        shown = "".join(sign if sign.isprintable() else "?" for sign in file_name)
        where = shown + "".join(f":{n}" for n in (self.line, self.column) if n)
        place = f" ({self.place})" if self.place else ""
        note = "" if self.severity is Severity.ERROR else "warning: "
        return f"{where}{place}: {note}{self.what}\n  mend: {self.mend}"


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadResult:
    """What a reader made of a file: a passage, unless something is wrong, and all problems.

    Attributes:
        passage: `None` if any problem is an error.
        problems: by line and column.
        parts: names of all that the file holds to choose from: the parts of a score, the passages
            of a tab; empty if there is but one.
    """

    passage: Passage | None
    problems: tuple[Problem, ...]
    parts: tuple[str, ...] = ()
