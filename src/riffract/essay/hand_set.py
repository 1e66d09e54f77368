"""What the analyst sets by hand, kept in `findings.toml`: axes, riffs and stretches of bars.

The file says where; what it comes to is measured anew whenever the music changes. So what was set
outlives every new analysis, and still never says more than the notes do.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Final, Literal

import msgspec
import tomlkit

from riffract.analysis.attacks import attacks_of
from riffract.essay.hand_axis import AXIS_WORDS, AxisOf, axes_by_hand, nearest_axis
from riffract.essay.hand_riff import FEWEST_ATTACKS, attacks_within, riff_by_hand
from riffract.essay.toml_values import Checked, checked, located
from riffract.formats.problem import Problem
from riffract.music import Passage, Span
from riffract.music.cutting import cut
from riffract.weighing.study import VERDICT_NAMES, Verdict
from riffract.weighing.view import View, view_of
from riffract.weighing.weigh import study_passage

HAND_SET_FILE: Final = "findings.toml"

HandTable = Literal["axis", "riff", "stretch"]


class AxisEntry(msgspec.Struct, frozen=True, kw_only=True):
    """An axis as written; `at` in quarters, exact."""

    of: AxisOf
    at: str


class RiffEntry(msgspec.Struct, frozen=True, kw_only=True):
    """A riff as written; in quarters, exact."""

    start: str
    end: str


class StretchEntry(msgspec.Struct, frozen=True, kw_only=True):
    """Bars that are studied alone, as written: `2-3`."""

    bars: str


class HandSetFile(msgspec.Struct, frozen=True, kw_only=True):
    """All of `findings.toml`."""

    axis: tuple[AxisEntry, ...] = ()
    riff: tuple[RiffEntry, ...] = ()
    stretch: tuple[StretchEntry, ...] = ()


HandEntry = AxisEntry | RiffEntry | StretchEntry


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


@dataclass(frozen=True, slots=True, kw_only=True)
class HandMeasured:
    """Something set by hand, with what the notes say about it now.

    Attributes:
        set: what was set.
        span: the stretch that it is about.
        sentence: what it comes to.
        facts: pairs of a name and a text.
    """

    set: HandSet
    span: Span
    sentence: str
    facts: tuple[tuple[str, str], ...]


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


def measured_by_hand(
    those: tuple[HandSet, ...], passage: Passage, *, seed: int
) -> tuple[HandMeasured, ...]:
    """Measure what was set by hand, in the same order."""
    if not those:
        return ()
    view = view_of(passage, seed=seed)
    return tuple(_measured(one, view, passage) for one in those)


def _measured(one: HandSet, view: View, passage: Passage) -> HandMeasured:
    match one.entry:
        case AxisEntry():
            return _axis(one, one.entry, view)
        case RiffEntry():
            return _riff(one, one.entry, view)
        case StretchEntry():
            return _stretch(one, one.entry, passage, view.seed)


def _axis(one: HandSet, entry: AxisEntry, view: View) -> HandMeasured:
    passage, at = view.passage, Fraction(entry.at)
    axes = axes_by_hand(view, entry.of)
    span = Span(passage.bar_at(at).start_quarters, passage.length_quarters)
    if not axes:
        short = "The passage is too short for a mirror."
        return HandMeasured(set=one, span=span, sentence=short, facts=())
    axis = nearest_axis(axes, at)
    bar = passage.bar_at(axis.at_quarters)
    place = passage.place(axis.at_quarters)
    way = "rhythm" if entry.of == "rhythm" else "line"
    turns = f"reads the same backwards, {axis.core_pairs} steps each way"
    return HandMeasured(
        set=one,
        span=bar.span,
        sentence=f"Around {place} the {way} {turns if axis.core_pairs else 'does not turn back'}.",
        facts=(
            ("what is mirrored", AXIS_WORDS[entry.of]),
            ("axis", f"{place}{'' if axis.at_quarters == at else ', the nearest one there is'}"),
            ("pairs", f"{axis.core_pairs} before the first that breaks, {axis.reach_pairs} in all"),
            ("evidence", f"{axis.bits:.1f} bits"),
            ("chance", f"{100 * axis.p:.1f} % of shuffled orders have an axis as good"),
        ),
    )


def _riff(one: HandSet, entry: RiffEntry, view: View) -> HandMeasured:
    passage = view.passage
    span = Span(Fraction(entry.start), Fraction(entry.end))
    riff = riff_by_hand(passage, *attacks_within(view.attacks, span))
    passes = ", ".join(
        f"{passage.place(p.span.start_quarters)} ({len(p.edits)})" for p in riff.reading.passes
    )
    best = min((reading.bits for reading in view.readings), default=riff.plain_bits)
    return HandMeasured(
        set=one,
        span=span,
        sentence=riff.sentence,
        facts=(
            ("riff", f"from {passage.place(span.start_quarters)}, {riff.count} attacks"),
            ("passes (departures)", passes or "none"),
            ("the passage with it", f"{riff.reading.bits:.0f} bits, {riff.plain_bits:.0f} without"),
            ("behind the best riff found", f"{max(riff.reading.bits - best, 0.0):.1f} bits"),
            ("chance", chance_text(riff.most_chance)),
        ),
    )


def chance_text(most_chance: float) -> str:
    """Word the largest chance that something is due to chance."""
    if most_chance >= 1.0:
        return "no better than chance"
    return f"at most 1 in {round(1 / most_chance):,}".replace(",", "\u202f")


def _stretch(one: HandSet, entry: StretchEntry, passage: Passage, seed: int) -> HandMeasured:
    first, last = _bars(entry.bars) or (1, 1)
    study = study_passage(cut(passage, first, last), seed=seed)
    solid = [f for f in study.findings if f.verdict in _SOLID]
    bars = f"Bar {first}" if first == last else f"Bars {first} to {last}"
    count = "nothing" if not solid else "1 thing" if len(solid) == 1 else f"{len(solid)} things"
    return HandMeasured(
        set=one,
        span=Span(passage.bars[first - 1].start_quarters, passage.bars[last - 1].span.end_quarters),
        sentence=f"{bars}, looked at alone: {count} beyond chance.",
        facts=tuple((VERDICT_NAMES[f.verdict], f.finding.sentence) for f in solid),
    )


_SOLID: Final = frozenset({Verdict.FIRM, Verdict.LIKELY, Verdict.SUGGESTIVE})
_TABLES: Final[Mapping[type, HandTable]] = {
    AxisEntry: "axis",
    RiffEntry: "riff",
    StretchEntry: "stretch",
}
_BARS: Final = re.compile(r"(\d{1,5})(?:-(\d{1,5}))?")
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
    bars, most = _bars(text), len(passage.bars)
    if bars is not None and 1 <= bars[0] <= bars[1] <= most:
        return None
    return "bars", Problem(
        what=f'"{text}" names no bars of the passage',
        mend=f'write one bar or two with a dash, from 1 to {most}, as "1-{min(2, most)}"',
    )


def _bars(text: str) -> tuple[int, int] | None:
    match = _BARS.fullmatch(text.strip())
    return (int(match[1]), int(match[2] or match[1])) if match else None
