"""Reading a plain-text tab: sheet, header, bars, playing, passage."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Final

from riffract.formats.problem import Problem, ReadResult
from riffract.formats.tab.doubts import report_doubts
from riffract.formats.tab.faults import Fault, Report, Spot
from riffract.formats.tab.header import (
    PLAIN_TEMPO,
    Heading,
    guessed_tuning,
    read_heading,
    report_twice,
    spot_of,
    with_known_key,
)
from riffract.formats.tab.lines import HEADER_KEYS, Directive
from riffract.formats.tab.parts import Part, chosen_part, parts_of
from riffract.formats.tab.playing import graces_of, note_table, play
from riffract.formats.tab.repeats import PlayedBar, written_out
from riffract.formats.tab.rows import Grid, Rows
from riffract.formats.tab.sheet import Item, System, read_sheet
from riffract.formats.tab.systems import SystemReader, rows_of
from riffract.formats.tab.written import PlacedBar
from riffract.music import Bar, Passage, Section, Span, TempoMark, Tuning

LARGEST_TEXT: Final = 8_000_000
"""In characters; a passage of 100,000 notes on twelve strings needs fewer."""

MOST_LINES: Final = 200_000

MOST_UNKNOWN_KEYS: Final = 50
"""A file with more of them is no tab, and looking for near names takes its time."""

NO_SECTION: Final = "-"
"""`section: -` says that from here on there is none."""


def read_tab(text: str, *, source: str = "", part: str | None = None) -> ReadResult:
    """Read a plain-text tab; `docs/tab-format.md` has its grammar.

    Args:
        text: the file.
        source: where it came from, for people to read.
        part: the name of the passage to read, if the file holds several; the first if not given.

    Returns:
        The passage, all problems by line and column, and the names of all passages if there are
        several. Warnings do not prevent a passage, errors do. No text makes this function raise.

    >>> result = read_tab('''
    ... tuning: E1 A1 D2 G2
    ... metre: 3/4
    ... tempo: q = 96
    ...
    ... time  q  e  q.
    ... G   |----------|
    ... D   |-------4--|
    ... A   |----0-----|
    ... E   |-3--------|
    ... ''')
    >>> [(note.string, note.fret, str(note.duration_quarters)) for note in result.passage.notes]
    [(4, 3, '1'), (3, 0, '1/2'), (2, 4, '3/2')]
    """
    report = Report()
    parts: list[Part] = []
    passage = None
    if len(text) > LARGEST_TEXT or text.count("\n") > MOST_LINES:
        what = (
            f"this file has more than {LARGEST_TEXT // 1_000_000} million characters "
            f"or {MOST_LINES:,} lines"
        )
        report.error(Fault(what=what, mend="is it a tab? divide it if it is"), Spot(0))
    else:
        parts = parts_of(_with_known_keys(read_sheet(text, report), report), report)
        chosen = chosen_part(parts, part, report)
        read = None if chosen is None else _read(chosen.items, text, source, report)
        passage = None if read is None else read.passage
    return ReadResult(
        passage=None if report.has_errors else passage,
        problems=report.problems(),
        parts=tuple(part.name for part in parts) if len(parts) > 1 else (),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class LenientRead:
    """What was made of a tab whose bars need not fill.

    Attributes:
        passage: `None` if anything but the length of bars is wrong.
        bars: those that are written, as they stand in the file; empty without a passage.
        problems: by line and column.
    """

    passage: Passage | None
    bars: tuple[PlacedBar, ...]
    problems: tuple[Problem, ...]


def read_tab_leniently(text: str, *, source: str = "") -> LenientRead:
    r"""Read a tab that is being worked on: bars that do not fill are told, but kept as they are.

    Such a bar lasts as long as its values; an empty one as long as it must. Only a tab with one
    passage can be read so. No text makes this function raise.

    >>> rows = ["time  q  e  ", "G   |------|", "D   |------|", "A   |----0-|", "E   |-3----|"]
    >>> head = ["tuning: E1 A1 D2 G2", "metre: 3/4", "tempo: q = 96", ""]
    >>> read = read_tab_leniently("\n".join(head + rows))
    >>> str(read.passage.length_quarters), read.problems[0].what
    ('3/2', 'the bar holds 1.5 quarters, its metre 3/4 holds 3')
    """
    report = Report()
    read = None
    if len(text) > LARGEST_TEXT or text.count("\n") > MOST_LINES:
        report.error(Fault(what="this file is too long to be worked on", mend="divide it"), Spot(0))
    else:
        parts = parts_of(_with_known_keys(read_sheet(text, report), report), report)
        if len(parts) > 1:
            what = f"this file holds {len(parts)} passages"
            mend = "work on its text, or give each passage a file of its own"
            report.error(Fault(what=what, mend=mend), Spot(0))
        else:
            chosen = chosen_part(parts, None, report)
            items = () if chosen is None else chosen.items
            read = _read(items, text, source, report, keeps_misfilled=True)
    if read is None:
        return LenientRead(passage=None, bars=(), problems=report.problems())
    return LenientRead(passage=read.passage, bars=tuple(read.bars), problems=report.problems())


@dataclass(frozen=True, slots=True)
class _Read:
    """A passage, and its bars as written."""

    passage: Passage
    bars: Sequence[PlacedBar]


def _read(
    items: Sequence[Item],
    text: str,
    source: str,
    report: Report,
    *,
    keeps_misfilled: bool = False,
) -> _Read | None:
    systems = [item for item in items if isinstance(item, System)]
    heading = _heading(items, report)
    if not systems:
        if heading.tuning_fault is not None:
            report.error(*heading.tuning_fault)
        report.error(_no_music(text), Spot(0))
        return None
    tuning = _tuning(heading, systems[0], report)
    if tuning is None:
        return None
    grid = Grid()
    if heading.pickup_quarters is not None and not grid.takes_in(heading.pickup_quarters):
        heading.pickup_quarters = None
    rows = _rows_above(systems, tuning, grid, report)
    reader = SystemReader(
        report=report,
        tuning=tuning,
        heading=heading,
        rows=rows,
        is_timed=any(above.time_line for above in rows.values()),
        grid=grid,
        keeps_misfilled=keeps_misfilled,
    )
    for item in items:
        reader.take(item)
    told = report.error_count
    reader.finish()
    are_kept = keeps_misfilled and not any(placed.bar.is_broken for placed in reader.bars)
    allowed = report.error_count - told if are_kept else 0
    played = written_out(reader.bars, report)
    notes = play(played, report)
    if report.error_count > allowed:
        return None
    table = note_table(notes, grid.resolution)
    report_doubts(table, tuning, played, report)
    bars = tuple(_bars(played, grid))
    passage = Passage(
        title=heading.title,
        tuning=tuning,
        bars=bars,
        tempos=_tempos(played, grid, systems[0], report),
        sections=_sections(played, grid, bars[-1].span.end_quarters),
        notes=table,
        graces=graces_of(played, grid.resolution),
        fermatas=_fermatas(played, grid),
        source=source,
        proposed=heading.proposed,
    )
    return _Read(passage, reader.bars)


def _tuning(heading: Heading, first: System, report: Report) -> Tuning | None:
    said = heading.tuning()
    if said is not None:
        return said
    return guessed_tuning(heading, first.strings, first.first_line, report)


def _bars(played: Sequence[PlayedBar], grid: Grid) -> Iterator[Bar]:
    lengths: dict[int, Fraction] = {}
    for number, p in enumerate(played, start=1):
        bar = p.bar
        length = lengths.get(bar.length_ticks)
        if length is None:
            length = lengths[bar.length_ticks] = Fraction(bar.length_ticks, grid.resolution)
        yield Bar(
            number=number,
            written_number=p.number,
            start_quarters=Fraction(p.start_ticks, grid.resolution),
            length_quarters=length,
            metre=bar.metre,
            is_free=bar.is_free,
        )


def _rows_above(
    systems: Sequence[System], tuning: Tuning, grid: Grid, report: Report
) -> dict[int, Rows]:
    """Read the rows above all systems, so that the grid takes in all values.

    A system that stands there again, without any fault, is left out: it is read like the first.
    """
    found: dict[int, Rows] = {}
    faultless: set[tuple[str, ...]] = set()
    for system in systems:
        key = tuple(system.lines)
        if key in faultless:
            continue
        told = report.count
        found[system.first_line] = rows_of(system, tuning, grid, report)
        if report.count == told:
            faultless.add(key)
    return found


def _with_known_keys(items: Sequence[Item], report: Report) -> list[Item]:
    known: list[Item] = []
    unknown = 0
    for item in items:
        if isinstance(item, System):
            known.append(item)
            continue
        directive = with_known_key(item, report)
        if directive is not None:
            known.append(directive)
        unknown += directive is not item
        if unknown > MOST_UNKNOWN_KEYS:
            fault = Fault(what="these lines have no keys of a tab", mend="is this a tab?")
            report.error(fault, spot_of(item))
            break
    return known


def _heading(items: Sequence[Item], report: Report) -> Heading:
    first = next((i for i, item in enumerate(items) if isinstance(item, System)), len(items))
    said = {item.key: item for item in reversed(items[:first]) if isinstance(item, Directive)}
    for item in items[first:]:
        if isinstance(item, Directive) and item.key in HEADER_KEYS:
            if item.key in said and said[item.key].value == item.value:
                report_twice(item, said[item.key], report)
                continue
            what = f"`{item.key}` stands behind the beginning of the music"
            report.error(Fault(what=what, mend="move it to the top of the file"), spot_of(item))
    return read_heading([item for item in items[:first] if isinstance(item, Directive)], report)


def _no_music(text: str) -> Fault:
    what = (
        "the file is empty" if not text.strip("\ufeff \n\r\t") else "there is no music in this file"
    )
    return Fault(what=what, mend="write one row for each string, like `e|-0---3---|`")


def _tempos(
    played: Sequence[PlayedBar], grid: Grid, first_system: System, report: Report
) -> tuple[TempoMark, ...]:
    """Gather the marks; one at the start of a bar that comes again and changes nothing is none."""
    marks: list[TempoMark] = []
    for p in played:
        for offset, tempo in p.bar.tempos:
            in_force = marks[-1].quarters_per_minute if marks else float(PLAIN_TEMPO)
            speed = tempo.quarters_per_minute
            mark = TempoMark(
                at_quarters=Fraction(p.start_ticks + offset, grid.resolution),
                quarters_per_minute=in_force if speed is None else float(speed),
                is_ramp=tempo.is_ramp,
            )
            is_old = bool(marks) and _is_same_tempo(marks[-1], mark)
            if not (p.is_again and offset == 0 and is_old):
                marks.append(mark)
    if not marks or marks[0].at_quarters > 0:
        mend = "write one at the top, like `tempo: q = 120`"
        fault = Fault(what=f"no tempo is given; q = {PLAIN_TEMPO} is taken", mend=mend)
        report.warn(fault, Spot(first_system.first_line))
        plain = TempoMark(at_quarters=Fraction(0), quarters_per_minute=float(PLAIN_TEMPO))
        marks.insert(0, plain)
    return tuple(marks)


def _is_same_tempo(one: TempoMark, other: TempoMark) -> bool:
    return (one.quarters_per_minute, one.is_ramp) == (other.quarters_per_minute, other.is_ramp)


def _sections(
    played: Sequence[PlayedBar], grid: Grid, end_quarters: Fraction
) -> tuple[Section, ...]:
    """Stretch each label to the next.

    One at the start of a bar that comes again and changes nothing goes on as one stretch.
    """
    starts: list[tuple[Fraction, str]] = []
    for p in played:
        for offset, label in p.bar.sections:
            is_old = bool(starts) and starts[-1][1] == label
            if not (p.is_again and offset == 0 and is_old):
                starts.append((Fraction(p.start_ticks + offset, grid.resolution), label))
    bounds = [*starts, (end_quarters, NO_SECTION)]
    return tuple(
        Section(label=label, span=Span(start, end))
        for (start, label), (end, _) in pairwise(bounds)
        if label != NO_SECTION
    )


def _fermatas(played: Sequence[PlayedBar], grid: Grid) -> tuple[Fraction, ...]:
    moments = (
        Fraction(p.start_ticks + at, grid.resolution) for p in played for at in p.bar.fermatas
    )
    return tuple(sorted(set(moments)))
