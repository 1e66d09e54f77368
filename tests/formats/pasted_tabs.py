"""Small pasted tabs, and what the reader makes of them, in short."""

from collections.abc import Sequence
from fractions import Fraction

from riffract.formats.pasted import Grid, read_pasted_tab
from riffract.formats.problem import ReadResult, Severity
from riffract.music import Note, Passage, Tuning

GUITAR = ("e", "B", "G", "D", "A", "E")
BASS = ("G", "D", "A", "E")
SIXTEENTH, EIGHTH = Fraction(1, 4), Fraction(1, 2)


def on_strings(*bodies: str, names: Sequence[str] = BASS, behind: str = "|") -> str:
    """Write rows from the highest string down; what is left out is drawn with dashes."""
    rows = dict(body.split(" ", 1) for body in bodies)
    width = max(map(len, rows.values()))
    return "".join(f"{name}{behind}{rows.get(name, '-' * width)}|\n" for name in names)


def low(body: str) -> str:
    """Write a bass tab with nothing but a lowest string, bar lines through all rows."""
    empty = "".join(sign if sign == "|" else "-" for sign in body)
    return "".join(f"{name}|{body if name == 'E' else empty}|\n" for name in BASS)


def read(text: str, grid: Grid = EIGHTH, tuning: Tuning | None = None) -> Passage:
    result = read_pasted_tab(text, grid=grid, tuning=tuning)
    assert result.passage is not None, told(result)
    return result.passage


def notes(text: str, grid: Grid = EIGHTH) -> list[Note]:
    return list(read(text, grid).notes)


def places(text: str, grid: Grid = EIGHTH) -> list[tuple[str, int, int]]:
    """Give onset, string and fret of all notes."""
    return [(str(n.onset_quarters), n.string, n.fret) for n in notes(text, grid)]


def onsets(text: str, grid: Grid = EIGHTH) -> list[str]:
    """Give the different onsets."""
    return list(dict.fromkeys(str(n.onset_quarters) for n in notes(text, grid)))


def told(result: ReadResult) -> list[str]:
    return [problem.text("mail") for problem in result.problems]


def warnings(text: str, grid: Grid = EIGHTH) -> list[str]:
    """Give what is said besides the proposal and the missing tempo."""
    usual = ("time is proposed", "no tempo is given")
    return [
        problem.what
        for problem in read_pasted_tab(text, grid=grid).problems
        if problem.severity is Severity.WARNING and not problem.what.startswith(usual)
    ]
