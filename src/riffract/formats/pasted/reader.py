"""Reading pasted tab: systems, words, bars and signs; and time, as a proposal."""

from collections import Counter
from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise
from typing import Final

from riffract.formats.pasted.attacks import Bar, bar_with_attacks, strokes_in_cells
from riffract.formats.pasted.bars import bars_of, report_trailing, without_bar_lines
from riffract.formats.pasted.cleaning import plain_lines
from riffract.formats.pasted.extents import Extent, technique_at
from riffract.formats.pasted.playing import (
    MOST_BARS,
    MOST_NOTES,
)
from riffract.formats.pasted.proposal import PLAIN_METRE, Grid, Understood, propose
from riffract.formats.pasted.remarks import Around, read_around
from riffract.formats.pasted.report import Place, Report
from riffract.formats.pasted.signs import StringReader
from riffract.formats.pasted.strings import Strings, strings_of
from riffract.formats.pasted.systems import System, find_systems
from riffract.formats.pasted.words import read_words
from riffract.formats.problem import ReadResult
from riffract.formats.tab.reader import MOST_LINES
from riffract.formats.tab.values import reads_as_value
from riffract.music import (
    Metre,
    Passage,
    Tuning,
    pitch_name,
)
from riffract.music.tuning import MOST_FRETS

LARGEST_TEXT: Final = 2_000_000
"""In characters."""

_OWN_KEYS: Final = ("metre", "frets", "scale", "pickup", "passage", "proposed", "length")


def is_pasted_tab(text: str) -> bool:
    r"""Say whether a text holds rows of strings, but neither a `time` row nor our own header.

    A tuning whose strings all have their octave, and a tempo such as `q = 120` behind its key, are
    our own header's; `Tuning: D A D G B E`, `Capo: 2` and `Tempo: 120` are what mails say.

    >>> rows = "e|--0-|\nB|--1-|\nG|--0-|\nD|--2-|\n"
    >>> is_pasted_tab(rows), is_pasted_tab("time  q\n" + rows), is_pasted_tab("Dear Ann,")
    (True, False, False)
    """
    if text.count("\n") > MOST_LINES:
        return False
    lines = list(plain_lines(text[:LARGEST_TEXT]))
    return not any(_is_own(line.text) for line in lines) and bool(find_systems(lines, Report()))


def read_pasted_tab(
    text: str, *, source: str = "", tuning: Tuning | None = None, grid: Grid | None = None
) -> ReadResult:
    """Read tab as it is found in mails; `docs/pasted-tab.md` tells what is understood.

    Args:
        text: the mail.
        source: where it came from, for people to read.
        tuning: the strings, if the caller knows them.
        grid: how long the smallest step lasts, in quarters, or `"bars"`.

    Returns:
        Without a grid no passage, but a problem that says what is understood. With one the passage
        as a proposal. All that is not understood is told once, with its first place. No text makes
        this function raise.

    Raises:
        ValueError: if the grid is not between a 64th of a quarter and 16 quarters.

    >>> mail = '''
    ... e|-----------------|
    ... B|-----------------|
    ... G|-----------------|
    ... D|-----5-------5---|
    ... A|---------5h7-----|
    ... E|-0-------------0-|
    ... '''
    >>> passage = read_pasted_tab(mail, grid=Fraction(1, 2)).passage
    >>> [(n.string, n.fret, str(n.onset_quarters)) for n in passage.notes]
    [(6, 0, '0'), (4, 5, '1'), (5, 5, '2'), (5, 7, '5/2'), (4, 5, '3'), (6, 0, '7/2')]
    """
    if isinstance(grid, Fraction) and not Fraction(1, 64) <= grid <= 16:
        raise ValueError(f"a grid lies between 1/64 and 16 quarters, got {grid}")
    report = Report()
    passage = _read(text, source, tuning, grid, report)
    return ReadResult(passage=None if report.has_errors else passage, problems=report.problems())


def _is_own(line: str) -> bool:
    head, colon, rest = line.partition(":")
    key = head.strip().lower()
    if colon and key in _OWN_KEYS:
        return True
    if colon and key == "tuning":
        names = rest.split()
        return bool(names) and all(name[-1:].isdigit() for name in names)
    if colon and key == "tempo":
        return "=" in rest and reads_as_value(rest.partition("=")[0].strip())
    words = line.replace("|", " ").replace(":", " ").split(maxsplit=2)
    return len(words) > 1 and words[0].lower() == "time" and reads_as_value(words[1])


def _read(
    text: str, source: str, tuning: Tuning | None, grid: Grid | None, report: Report
) -> Passage | None:
    if len(text) > LARGEST_TEXT:
        report.error(
            f"this text has more than {LARGEST_TEXT // 1_000_000} million characters",
            "take out what is no tab",
        )
        return None
    lines = list(plain_lines(text))
    systems = _of_one_size(find_systems(lines, report), report)
    if not systems:
        report.error(
            "no tab is found in this text",
            "write 4 to 12 rows under each other, one for each string, like `e|--0--3--|`",
        )
        return None
    rows = {number for s in systems for row in s.rows for number in (row.line, row.rest_line)}
    words = read_words(line for line in lines if line.number not in rows)
    strings = strings_of(systems, words, tuning, report)
    around = read_around(lines, systems, words.used, report)
    if strings is None:
        return None
    bars = _bars(systems, around, report)
    if bars is None:
        return None
    tuning = _with_frets(strings.tuning, bars, report)
    if tuning is None:
        return None
    strings = Strings(tuning, strings.is_upside_down)
    if grid is None:
        _report_untimed(bars, strings, words.metre or PLAIN_METRE, systems[0], report)
        return None
    return propose(Understood(systems, words, around, strings, bars, source), grid, report)


def _of_one_size(systems: Sequence[System], report: Report) -> list[System]:
    """Keep the systems with as many rows as most have."""
    if not systems:
        return []
    usual = Counter(len(system.rows) for system in systems).most_common(1)[0][0]
    for system in systems:
        if len(system.rows) != usual:
            report.warn(
                "other size",
                f"this system has {len(system.rows)} strings, most have {usual}; left out",
                "bring each instrument in a text of its own",
                system.rows[0].place(system.rows[0].start),
            )
    return [system for system in systems if len(system.rows) == usual]


def _bars(systems: Sequence[System], around: Around, report: Report) -> list[Bar] | None:
    """Read all bars with their attacks; `None` if there are too many, or none."""
    readers = [StringReader(report) for _ in systems[0].rows]
    bars: list[Bar] = []
    notes = 0
    for index, system in enumerate(systems):
        written = bars_of(system, report)
        report_trailing(system, report)
        by_row = []
        for number, (row, reader) in enumerate(zip(system.rows, readers, strict=True)):
            _report_odd_columns(row.odd_column, row.line, report)
            strokes = reader.read(row, number, without_bar_lines(row), MOST_NOTES - notes)
            notes += len(strokes)
            by_row.append(strokes_in_cells(strokes, written, number))
        if index in around.counts and written:
            last = next((bar for bar in reversed(written) if bar.closes), written[-1])
            last.times = last.times or around.counts[index]
        bars += [
            bar_with_attacks(
                bar, [cells[i] for cells in by_row], system=index, line=system.first_line
            )
            for i, bar in enumerate(written)
        ]
        if notes > MOST_NOTES or len(bars) > MOST_BARS:
            break
        _apply_extents(bars, index, around.extents.get(index, []), report)
    _apply_section_counts(bars, around, report)
    if notes > MOST_NOTES or len(bars) > MOST_BARS:
        report.error(
            f"the tab holds more than {MOST_NOTES:,} notes or {MOST_BARS:,} bars",
            "bring the part that you want to study",
        )
        return None
    if not any(bar.attacks for bar in bars):
        report.error(
            "the rows of the strings hold no notes",
            "write fret numbers in the rows",
            systems[0].rows[0].place(0),
        )
        return None
    return bars


def _apply_section_counts(bars: Sequence[Bar], around: Around, report: Report) -> None:
    """Let a section be played again as a whole, unless there are repeats within it."""
    starts = sorted(around.sections)
    for start, end in pairwise([*starts, bars[-1].system + 1 if bars else 0]):
        if start not in around.section_counts:
            continue
        times, place = around.section_counts[start]
        own = [bar for bar in bars if start <= bar.system < end]
        if not own or any(bar.opens or bar.closes or bar.times for bar in own):
            report.warn(
                "section count",
                f"the section is said to be played {times} times, but has repeats of its own; "
                "only those are played",
                "write repeats as `|:` and `:|`",
                place,
            )
        else:
            own[0].opens = own[-1].closes = True
            own[-1].times = times


def _report_odd_columns(column: int, line: int, report: Report) -> None:
    if column:
        report.warn(
            "odd columns",
            "a long dash or a tab character stands in a row, so its columns may be shifted",
            "write plain hyphens; word processors make one long dash of two",
            Place(line, column),
        )


def _apply_extents(
    bars: Sequence[Bar], system: int, extents: Sequence[Extent], report: Report
) -> None:
    for bar in reversed(bars):
        if bar.system != system:
            break
        for attack in bar.attacks:
            attack.techniques, numbers = technique_at(extents, attack.page_column)
            attack.extents = tuple(number + 1000 * system for number in numbers)
    for extent in extents:
        if not extent.is_used:
            report.warn(
                "unused extent",
                "this sign for palm mute or let ring covers no note",
                "draw it over the notes that it is meant for",
                extent.place,
            )


def _with_frets(tuning: Tuning, bars: Sequence[Bar], report: Report) -> Tuning | None:
    """Give the neck as many frets as are played."""
    highest = max(
        fret
        for bar in bars
        for attack in bar.attacks
        for stroke in attack.strokes
        for fret in (stroke.fret, stroke.other_fret or 0)
    )
    frets = max(tuning.frets, highest + tuning.capo)
    if frets > MOST_FRETS:
        report.error(
            f"fret {highest} lies beyond the neck with a capo on fret {tuning.capo}",
            "correct the capo",
        )
        return None
    return Tuning(
        open_pitches=tuning.open_pitches,
        capo=tuning.capo,
        frets=frets,
        scale_length_mm=tuning.scale_length_mm,
    )


def _report_untimed(
    bars: Sequence[Bar], strings: Strings, metre: Metre, first: System, report: Report
) -> None:
    attacks = sum(len(bar.attacks) for bar in bars)
    opens = " ".join(pitch_name(pitch) for pitch in strings.tuning.open_pitches)
    size = strings.tuning.string_count
    capo = f" with a capo on fret {strings.tuning.capo}" if strings.tuning.capo else ""
    report.error(
        "this tab does not say how long its notes last; understood are "
        f"{_count(attacks, 'attack')} in {_count(len(bars), 'bar')} on {size} strings, "
        f"tuned {opens}{capo}",
        "say `--grid 1/16` if the smallest step is a sixteenth, "
        f"or `--grid bars` to let each bar last {metre.label()}",
        Place(first.first_line, 0),
    )


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}{'' if number == 1 else 's'}"
