"""Tempos and sections, from where they are written to where they are played."""

from bisect import bisect_left
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final, Generic, NamedTuple, TypeVar

from riffract.formats.musicxml.grid import Grid
from riffract.formats.musicxml.report import NOWHERE, Report, Spot
from riffract.formats.musicxml.written import BarTime, Marks, Ramp
from riffract.music import Bar, Section, Span, TempoMark

_Value = TypeVar("_Value")

USUAL_TEMPO: Final = 120.0


class _Tempo(NamedTuple):
    quarters_per_minute: float
    ramp: Ramp | None


def played_tempos(
    marks: Marks, bars: Sequence[Bar], grid: Grid, report: Report
) -> tuple[TempoMark, ...]:
    """Lay the tempo marks; where the music jumps, the tempo written at the goal holds again.

    A tempo that changes steadily does so up to the next mark; without one it stays as it is.
    """
    tempos = marks.tempos
    if not tempos or min(tempos) > (bars[0].written_number - 1, 0):
        report.warn(
            "tempo",
            f"the music starts without a tempo; {USUAL_TEMPO:g} quarters a minute is taken",
            "write a metronome mark or a `sound` with a `tempo` at the start",
            Spot(bar=0) if tempos else NOWHERE,
        )
    written = _tempos_with_ramps(marks)
    laid = _laid_marks(written, bars, _Tempo(USUAL_TEMPO, None), grid)
    rows = {mark.at_quarters: mark for mark in laid}
    return tuple(_tempo_marks([mark for _, mark in sorted(rows.items())], report))


def _tempos_with_ramps(marks: Marks) -> dict[BarTime, _Tempo]:
    """Join tempos and ramps: where a ramp starts, the tempo in force is named again."""
    found: dict[BarTime, _Tempo] = {}
    tempo = USUAL_TEMPO
    for at in sorted({*marks.tempos, *marks.ramps}):
        tempo = marks.tempos.get(at, tempo)
        found[at] = _Tempo(tempo, marks.ramps.get(at))
    return found


def _tempo_marks(rows: Sequence["_LaidMark[_Tempo]"], report: Report) -> Iterator[TempoMark]:
    """Drop what changes nothing; see which ramps have a tempo to go to.

    A tempo that is stated behind a ramp always changes something: the ramp ends there.
    """
    changes: list[tuple[Fraction, _Tempo]] = []
    for mark in rows:
        before = changes[-1][1] if changes else None
        ends_ramp = mark.is_stated and before is not None and before.ramp is not None
        if before is None or ends_ramp or _said(mark.value) != _said(before):
            changes.append((mark.at_quarters, mark.value))
    goals = [*(tempo for _, tempo in changes[1:]), None]
    for (at, (now, ramp)), goal in zip(changes, goals, strict=True):
        yield TempoMark(
            at_quarters=at,
            quarters_per_minute=now,
            is_ramp=ramp is not None and _has_goal(ramp, now, goal, report),
        )


def _said(tempo: _Tempo) -> tuple[float, bool]:
    return tempo.quarters_per_minute, tempo.ramp is not None


def _has_goal(ramp: Ramp, now: float, goal: _Tempo | None, report: Report) -> bool:
    """Say whether a ramp may go on to the next tempo; one that need not end anywhere is told."""
    step = 0.0 if goal is None else goal.quarters_per_minute - now
    if (step > 0) if ramp.is_faster else (step < 0):
        return True
    report.warn(
        "ramp",
        "a tempo that changes by and by does not say where it leads; it stays as it is",
        "write the tempo that it reaches as a metronome mark, or as the `tempo` of a `sound`",
        ramp.spot,
    )
    return step == 0


def played_sections(
    labels: Mapping[BarTime, str], bars: Sequence[Bar], grid: Grid
) -> tuple[Section, ...]:
    """Lay the sections: each from its label to the next one, or to where the music jumps away.

    A label that only comes again with a repeat goes on as one section.
    """
    starts: dict[Fraction, str] = {}
    current = ""
    for mark in _laid_marks(labels, bars, "", grid):
        if mark.is_new or mark.value != current:
            starts[mark.at_quarters] = mark.value
        current = mark.value
    rows = sorted(starts.items())
    ends = [*(at for at, _ in rows), bars[-1].span.end_quarters][1:]
    return tuple(
        Section(label=label, span=Span(at, end))
        for (at, label), end in zip(rows, ends, strict=True)
        if label and end > at
    )


@dataclass(frozen=True, slots=True)
class _LaidMark(Generic[_Value]):
    at_quarters: Fraction
    value: _Value
    is_new: bool
    is_stated: bool


def _laid_marks(
    marks: Mapping[BarTime, _Value], bars: Sequence[Bar], before: _Value, grid: Grid
) -> Iterator[_LaidMark[_Value]]:
    """Yield for each bar as played what holds at its start, then the marks within it.

    A mark is new where its bar is played for the first time. It is stated unless it only holds on,
    or comes again with the start of its bar.
    """
    times = sorted(marks)
    played: set[int] = set()
    for bar in bars:
        index = bar.written_number - 1
        is_new = index not in played
        played.add(index)
        first = bisect_left(times, (index, 0))
        in_force = marks[times[first - 1]] if first else before
        yield _LaidMark(bar.start_quarters, in_force, is_new=False, is_stated=False)
        for at in times[first : bisect_left(times, (index + 1, 0))]:
            position = min(grid.quarters(at[1]), bar.length_quarters)
            yield _LaidMark(
                bar.start_quarters + position, marks[at], is_new, is_stated=is_new or position > 0
            )
