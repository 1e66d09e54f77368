"""A time for what has none: every step of a grid, or every bar, lasts what is said."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final, Literal

from riffract.formats.pasted.attacks import Bar
from riffract.formats.pasted.divisions import divided
from riffract.formats.pasted.playing import (
    MOST_BARS,
    MOST_NOTES,
    Player,
    TimedBar,
    metre_of,
    order_of_bars,
)
from riffract.formats.pasted.remarks import Around
from riffract.formats.pasted.report import Place, Report
from riffract.formats.pasted.steps import Pace, StepsInBar, in_steps, of_length
from riffract.formats.pasted.strings import Strings
from riffract.formats.pasted.systems import System
from riffract.formats.pasted.words import Words
from riffract.music import Metre, Passage, Proposed, Section, Span, TempoMark, bars_in_row

PLAIN_TEMPO: Final = 120.0
PLAIN_METRE: Final = Metre(groups=(4,), unit=4)

Grid = Fraction | Literal["bars"]
"""How long the smallest step lasts, in quarters; or that each bar fills its metre."""


@dataclass(frozen=True, slots=True)
class Understood:
    """All that is understood of a text but its time.

    Attributes:
        systems: the rows, in order.
        words: what the text says about tuning, metre and tempo.
        around: what stands around the systems.
        strings: the tuning.
        bars: as written, with their attacks.
        source: where the text came from.
    """

    systems: Sequence[System]
    words: Words
    around: Around
    strings: Strings
    bars: Sequence[Bar]
    source: str


def propose(text: Understood, grid: Grid, report: Report) -> Passage | None:
    """Give all attacks a time; `None` if there are too many with all repeats played."""
    first_line = text.systems[0].first_line
    if grid == "bars":
        timed = _timed_by_bars(text.bars, text.words.metre or PLAIN_METRE, first_line, report)
    else:
        timed = _timed_by_steps(text.bars, grid, text.words.metre, first_line, report)
    order = order_of_bars(text.bars, report)
    if _is_too_long(text, order):
        report.error(
            f"with its repeats the tab holds more than {MOST_NOTES:,} notes or {MOST_BARS:,} bars",
            "let the repeats be played less often",
            Place(first_line, 0),
        )
        return None
    metres = [_metre_of(bar, text.words.metre) for bar in timed]
    bars = bars_in_row((*metres[i], i + 1) for i in order)
    if not text.words.quarters_per_minute:
        report.warn(
            "tempo",
            f"no tempo is given; {PLAIN_TEMPO:g} quarters a minute are taken",
            "write one above, like `Tempo: 96`",
            Place(first_line, 0),
        )
    player = Player(
        tuning=text.strings.tuning,
        rows=[system.rows for system in text.systems],
        is_upside_down=text.strings.is_upside_down,
    )
    starts = [(bar.start_quarters, i) for bar, i in zip(bars, order, strict=True)]
    return Passage(
        title="",
        tuning=text.strings.tuning,
        bars=bars,
        tempos=(
            TempoMark(
                at_quarters=Fraction(0),
                quarters_per_minute=text.words.quarters_per_minute or PLAIN_TEMPO,
            ),
        ),
        sections=_sections(text, starts, bars[-1].span.end_quarters),
        notes=player.play(timed, order),
        source=text.source,
        proposed=(Proposed.TIME,),
    )


def _is_too_long(text: Understood, order: Sequence[int]) -> bool:
    times = Counter(order)
    notes = sum(
        times[i] * len(attack.strokes) for i, bar in enumerate(text.bars) for attack in bar.attacks
    )
    return len(order) > MOST_BARS or notes > MOST_NOTES


def _metre_of(bar: TimedBar, said: Metre | None) -> tuple[Metre, Fraction | None]:
    if said is not None and said.length_quarters == bar.length_quarters:
        return said, None
    return metre_of(bar.length_quarters)


def _timed_by_steps(
    bars: Sequence[Bar], grid: Fraction, said: Metre | None, first_line: int, report: Report
) -> list[TimedBar]:
    placed, paces = in_steps(bars, grid)
    if said is not None:
        placed = of_length(placed, said.length_quarters / grid)
        _report_other_lengths(placed, said, grid, first_line, report)
    moved = [columns for bar in placed for columns in bar.moved_columns if columns]
    report.warn(
        "proposal",
        f"time is proposed: each step of {_paces_text(paces)} lasts {_value_text(grid)}; "
        f"{_moved_text(moved)}",
        "listen whether it fits, then correct the values",
        Place(first_line, 0),
    )
    return [
        TimedBar(bar, tuple(step * grid for step in steps.at), steps.length * grid)
        for bar, steps in zip(bars, placed, strict=True)
    ]


def _report_other_lengths(
    placed: Sequence[StepsInBar], said: Metre, grid: Fraction, first_line: int, report: Report
) -> None:
    others = [bar.length for bar in placed if bar.length * grid != said.length_quarters]
    if others:
        bars = "1 bar lasts" if len(others) == 1 else f"{len(others)} bars last"
        label = metre_of(others[0] * grid)[0].label()
        report.warn(
            "metre",
            f"the text says {said.label()}, but {bars} longer or shorter, the first {label}",
            "say another `--grid`, or `--grid bars` to let each bar fill its metre",
            Place(first_line, 0),
        )


def _timed_by_bars(
    bars: Sequence[Bar], metre: Metre, first_line: int, report: Report
) -> list[TimedBar]:
    placed = divided(bars, metre.units)
    moved = [columns for bar in placed for columns in bar.moved_columns if columns]
    report.warn(
        "proposal",
        f"time is proposed: each bar lasts {metre.label()}; {_moved_text(moved)}",
        "listen whether it fits, then correct the values",
        Place(first_line, 0),
    )
    return [
        TimedBar(
            bar,
            tuple(metre.length_quarters * part / parts.division for part in parts.at),
            metre.length_quarters,
        )
        for bar, parts in zip(bars, placed, strict=True)
    ]


def _paces_text(paces: Sequence[Pace]) -> str:
    widths = sorted({pace.step_columns for pace in paces})
    low, high = float(widths[0]), float(widths[-1])
    columns = f"{low:g}" if low == high else f"{low:g} to {high:g}"
    return f"{columns} column{'' if low == high == 1 else 's'}"


def _value_text(quarters: Fraction) -> str:
    return f"{quarters / 4}"


def _moved_text(moved: Sequence[Fraction]) -> str:
    if not moved:
        return "all attacks stand where they fall"
    attacks = "1 attack is" if len(moved) == 1 else f"{len(moved)} attacks are"
    furthest = float(max(moved))
    return f"{attacks} moved, by up to {furthest:.2g} column{'' if furthest == 1 else 's'}"


def _sections(
    text: Understood, starts: Sequence[tuple[Fraction, int]], end: Fraction
) -> tuple[Section, ...]:
    """Let each name hold from the first time its system is played to the next one."""
    first_bars: dict[int, int] = {}
    for index, bar in enumerate(text.bars):
        first_bars.setdefault(bar.system, index)
    name_of = {first_bars[system]: name for system, name in text.around.sections.items()}
    found: list[tuple[Fraction, str]] = []
    seen: set[int] = set()
    for start, index in starts:
        if index in name_of and index not in seen:
            found.append((start, name_of[index]))
            seen.add(index)
    bounds = [*(start for start, _ in found[1:]), end]
    if not found:
        return ()
    return tuple(
        Section(label=name, span=Span(start, stop))
        for (start, name), stop in zip(found, bounds, strict=True)
    )
