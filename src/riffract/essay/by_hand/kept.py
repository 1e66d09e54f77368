"""What the analyst sets by hand, kept in `findings.toml`: axes, riffs and stretches of bars.

The file says where; what it comes to is measured anew whenever the music changes. So what was set
outlives every new analysis, and still never says more than the notes do.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Annotated, Any, Final, Literal

import msgspec
import tomlkit

from riffract.analysis.attacks import attacks_of
from riffract.essay.by_hand.axis import AxisOf
from riffract.essay.by_hand.riff import FEWEST_ATTACKS, attacks_within
from riffract.essay.named_stretch import stretch_named
from riffract.essay.toml.values import Checked, checked, located
from riffract.formats.problem import Problem
from riffract.music import Passage, Span

HAND_SET_FILE: Final = "findings.toml"

HandTable = Literal["axis", "pitch_axis", "riff", "stretch"]


class AxisEntry(msgspec.Struct, frozen=True, kw_only=True):
    """An axis as written; `at` in quarters, exact."""

    of: AxisOf
    at: str


class PitchAxisEntry(msgspec.Struct, frozen=True, kw_only=True):
    """An axis of inversion as written: a MIDI pitch, or a half one between two (C4 is 60)."""

    pitch: Annotated[float, msgspec.Meta(ge=0, le=127, multiple_of=0.5)]


class RiffEntry(msgspec.Struct, frozen=True, kw_only=True):
    """A riff as written; in quarters, exact."""

    start: str
    end: str


class StretchEntry(msgspec.Struct, frozen=True, kw_only=True):
    """A stretch that is studied alone, as written: `2-3`, or from beat to beat `2:3-4:1`."""

    bars: str


class HandSetFile(msgspec.Struct, frozen=True, kw_only=True):
    """All of `findings.toml`."""

    axis: tuple[AxisEntry, ...] = ()
    pitch_axis: tuple[PitchAxisEntry, ...] = ()
    riff: tuple[RiffEntry, ...] = ()
    stretch: tuple[StretchEntry, ...] = ()


HandEntry = AxisEntry | PitchAxisEntry | RiffEntry | StretchEntry


@dataclass(frozen=True, slots=True, kw_only=True)
class HandSet:
    """Something set by hand.

    Attributes:
        table: of the file.
        number: of its row there, from 0.
        entry: the row.
    """

    table: HandTable
    number: int
    entry: HandEntry


def read_hand_set(text: str, passage: Passage) -> tuple[tuple[HandSet, ...], tuple[Problem, ...]]:
    """Read `findings.toml` against the passage.

    Returns:
        What was set, by table and row, without the rows that have a mistake; and every problem.
    """
    read = checked(text, HandSetFile)
    if isinstance(read, Problem):
        return (), (read,)
    found: list[HandSet] = []
    problems = list(read.problems)
    for one in _rows(read):
        wrong = _problem(one.entry, passage)
        if wrong is None:
            found.append(one)
        else:
            key, problem = wrong
            problems.append(located(problem, (one.table, one.number, key), read.lines))
    return tuple(found), tuple(sorted(problems, key=lambda problem: problem.line))


def with_hand_set(text: str, entry: HandEntry) -> str:
    """Write something set by hand into the text of the file; what stands there stays."""
    document = tomlkit.parse(text)
    name = _TABLES[type(entry)]
    row = tomlkit.table()
    row.update(msgspec.to_builtins(entry))
    if name not in document:
        document[name] = tomlkit.aot()
    document[name].append(row)
    return tomlkit.dumps(document).lstrip("\n")


def without_hand_set(text: str, table: HandTable, number: int) -> str:
    """Take something set by hand out of the text of the file.

    Raises:
        IndexError: if there is no such row.
    """
    document = tomlkit.parse(text)
    rows: Any = document.get(table, [])
    if not 0 <= number < len(rows):
        raise IndexError(f"there are {len(rows)} rows of {table}, and none has number {number}")
    del rows[number]
    if not rows:
        document.remove(table)
    return tomlkit.dumps(document)


_TABLES: Final[Mapping[type, HandTable]] = {
    AxisEntry: "axis",
    PitchAxisEntry: "pitch_axis",
    RiffEntry: "riff",
    StretchEntry: "stretch",
}
_EXACT: Final = re.compile(r"\d{1,9}(/[1-9]\d{0,5})?")


def _rows(read: Checked) -> Iterator[HandSet]:
    for kind, table in _TABLES.items():
        if (table,) in read.wrong:
            continue
        for number, row in enumerate(read.plain.get(table, ())):
            if not any(path[:2] == (table, number) for path in read.wrong):
                yield HandSet(table=table, number=number, entry=msgspec.convert(row, kind))


def _problem(entry: HandEntry, passage: Passage) -> tuple[str, Problem] | None:
    """Say which key of a row cannot be about this passage, and why."""
    match entry:
        case AxisEntry(at=at):
            return _moment_problem("at", at, passage)
        case PitchAxisEntry():
            return None
        case RiffEntry(start=start, end=end):
            wrong = _moment_problem("start", start, passage) or _moment_problem("end", end, passage)
            return wrong or _riff_problem(Fraction(start), Fraction(end), passage)
        case StretchEntry(bars=bars):
            return _bars_problem(bars, passage)


def _moment_problem(key: str, text: str, passage: Passage) -> tuple[str, Problem] | None:
    if _EXACT.fullmatch(text) and Fraction(text) <= passage.length_quarters:
        return None
    return key, Problem(
        what=f'"{text}" is no moment of the passage',
        mend=f'write quarters from "0" to "{passage.length_quarters}", as "7/2"',
    )


def _riff_problem(start: Fraction, end: Fraction, passage: Passage) -> tuple[str, Problem] | None:
    if start < end:
        _, count = attacks_within(attacks_of(passage), Span(start, end))
        if count >= FEWEST_ATTACKS:
            return None
    return "end", Problem(
        what=f"the riff holds fewer than {FEWEST_ATTACKS} attacks", mend="let it end later"
    )


def _bars_problem(text: str, passage: Passage) -> tuple[str, Problem] | None:
    if stretch_named(text, passage) is not None:
        return None
    most = len(passage.bars)
    return "bars", Problem(
        what=f'"{text}" names no stretch of the passage',
        mend=f'write one bar or two with a dash, from 1 to {most}, as "1-{min(2, most)}", or from '
        'beat to beat, as "1:2-2:1"',
    )
