"""Writing a passage as a plain-text tab."""

from collections.abc import Container, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Final

from riffract.formats.folding import fold, written_out
from riffract.formats.tab.columns import columns_of
from riffract.formats.tab.extents import Run
from riffract.formats.tab.header import write_heading
from riffract.formats.tab.labels import row_labels
from riffract.formats.tab.layout import LaidBar, ending_text, lay_out, packed, words_above
from riffract.formats.tab.lines import PASSAGE_KEY
from riffract.formats.tab.placing import FERMATA
from riffract.formats.tab.sheet import on_one_line
from riffract.formats.tab.values import write_value
from riffract.formats.tab.wishes import ENTERS, Line, RowAbove
from riffract.formats.tab.writable import UnwritableError, unwritable
from riffract.music import Note, Passage

NARROWEST: Final = 20


@dataclass(frozen=True, slots=True, kw_only=True)
class Beside:
    """What stands in a tab beside its passage; bars by their number as written.

    Attributes:
        lengths: bars whose length is said otherwise than it is, as while they are being worked on:
            what their `length` says, or `None` to say nothing.
        lines: what stands before the line of music that begins with a bar, which begins a line for
            it; 0 for the top of the file, one more than there are bars for its end.
    """

    lengths: Mapping[int, Fraction | None] = field(default_factory=dict)
    lines: Mapping[int, Sequence[str]] = field(default_factory=dict)


NOTHING_BESIDE: Final = Beside()
_WORDS: Final = ("ending", "section", "metre", "length", "tempo", "fermata")


def write_tab(
    passage: Passage,
    *,
    width: int = 100,
    folded: bool = True,
    beside: Beside = NOTHING_BESIDE,
    is_checked: bool = False,
) -> str:
    """Write a passage as a plain-text tab, aligned and wrapped at bar lines.

    Reading the text gives the same passage, to the note; only bars as written are numbered anew.
    Writing that again gives the same text.

    Args:
        passage: what to write.
        width: signs in a line; a bar that needs more has a line of its own.
        folded: write bars that come again once, with repeat signs and endings, where they can be.
        beside: lines around the music, and lengths of bars that do not fill.
        is_checked: the caller knows that nothing is `unwritable`, as for a passage that was read.

    Raises:
        ValueError: if the width is below 20.
        UnwritableError: if the passage holds something that a tab cannot say; it lists what.
    """
    if not is_checked:
        _check(passage)
    blocks = _blocks(passage, width=width, folded=folded, is_alone=True, beside=beside)
    return "\n\n".join(blocks) + "\n"


def write_tabs(passages: Mapping[str, Passage], *, width: int = 100, folded: bool = True) -> str:
    """Write several passages into one file, each under its name.

    Reading the text with one of the names gives that passage. A passage without a title gets its
    name for one.

    Args:
        passages: by name, in order.
        width: as in `write_tab`.
        folded: as in `write_tab`.

    Raises:
        ValueError: if there is no passage, or a name says nothing or stands for two on one line.
        UnwritableError: as in `write_tab`.
    """
    names = [on_one_line(name) for name in passages]
    if not names or "" in names or len(set(names)) < len(names):
        raise ValueError(f"passages need names that differ, got {list(passages)}")
    blocks: list[str] = []
    for name, passage in zip(names, passages.values(), strict=True):
        titled = passage if on_one_line(passage.title) else replace(passage, title=name)
        _check(titled)
        own = _blocks(titled, width=width, folded=folded, is_alone=False)
        blocks += [f"{PASSAGE_KEY}: {name}\n{own[0]}", *own[1:]]
    return "\n\n".join(blocks) + "\n"


def _check(passage: Passage) -> None:
    problems = unwritable(passage, list(passage.notes))
    if problems:
        raise UnwritableError(problems)


def _blocks(
    passage: Passage,
    *,
    width: int,
    folded: bool,
    is_alone: bool,
    beside: Beside = NOTHING_BESIDE,
) -> list[str]:
    """Write the header and the systems; one of several passages says all in its header."""
    if width < NARROWEST:
        raise ValueError(f"a tab needs a width of {NARROWEST} signs or more, got {width}")
    last_waits = passage.length_quarters in passage.fermatas
    written = fold(passage) if folded and _can_be_folded(passage) else written_out(passage)
    passage, signs = written.passage, written.signs
    notes = list(passage.notes)
    bars: list[LaidBar] = []
    columns_by_bar = columns_of(passage, notes, beside.lengths)
    for columns, sign in zip(columns_by_bar, signs, strict=True):
        bars.append(lay_out(columns, sign, bars[-1].count if bars else ""))
    strings = row_labels(passage.tuning)
    label_width = max(len(label) for label in ("time", *strings))
    systems, margin = _systems(bars, notes, width, label_width, frozenset(beside.lines))
    has_pickup = passage.bars[0].written_number not in beside.lengths
    heading = write_heading(passage, is_whole=not is_alone, has_pickup=has_pickup)
    blocks = ["\n".join((*beside.lines.get(0, ()), *heading))]
    number = 1
    for system in systems:
        waits = last_waits and system is systems[-1]
        lines = _lines(system, strings, margin, ends_in_fermata=waits)
        if number in beside.lines:
            blocks.append("\n".join(beside.lines[number]))
        blocks.append("\n".join(lines))
        number += len(system.bars)
    if number in beside.lines:
        blocks.append("\n".join(beside.lines[number]))
    return blocks


def _can_be_folded(passage: Passage) -> bool:
    """Whether a fermata at the very end would not come again with a repeat."""
    last = max(bar.written_number for bar in passage.bars)
    is_once = sum(bar.written_number == last for bar in passage.bars) == 1
    return is_once or passage.length_quarters not in passage.fermatas


@dataclass(frozen=True, slots=True, kw_only=True)
class _System:
    """The bars of one line and the rows above them."""

    bars: Sequence[LaidBar]
    rows: Sequence[RowAbove]


def _systems(
    bars: Sequence[LaidBar],
    notes: Sequence[Note],
    width: int,
    label_width: int,
    beginning: Container[int],
) -> tuple[list[_System], int]:
    """Share the bars among lines.

    Which rows a line needs is known once its bars are, and long labels leave less room for bars;
    so the margin grows until all labels fit.

    Returns:
        The lines, and how far the opening bar line stands from the left.
    """
    next_onsets = _next_onsets(notes)
    while True:
        margin = label_width + 1
        systems: list[_System] = []
        last: dict[int, Note] = {}
        for line in packed(bars, width - margin, beginning):
            systems.append(_System(bars=line, rows=_rows_above(line, last, next_onsets)))
            _remember(line, last)
        longest = max((len(row.label) for s in systems for row in s.rows), default=0)
        if longest <= label_width:
            return systems, margin
        label_width = longest


def _next_onsets(notes: Sequence[Note]) -> dict[int, Fraction]:
    onsets: dict[int, Fraction] = {}
    later: dict[int, Fraction] = {}
    for note in reversed(notes):
        if note.string in later:
            onsets[note.index] = later[note.string]
        later[note.string] = note.onset_quarters
    return onsets


def _rows_above(
    bars: Sequence[LaidBar], ringing: Mapping[int, Note], next_onsets: Mapping[int, Fraction]
) -> list[RowAbove]:
    columns = [column for bar in bars for column in bar.columns]
    end = columns[-1].at_quarters + columns[-1].length_quarters
    line = Line(columns=columns, end_quarters=end, ringing=ringing, next_onsets=next_onsets)
    return line.rows_above()


def _remember(bars: Sequence[LaidBar], last: dict[int, Note]) -> None:
    for bar in bars:
        for column in bar.columns:
            last.update({piece.note.string: piece.note for piece in column.pieces})


def _lines(
    system: _System, strings: Sequence[str], margin: int, *, ends_in_fermata: bool
) -> Iterator[str]:
    """Write a system line by line."""
    if system.bars[0].section:
        yield f"section: {system.bars[0].section}"
    openings, places = _places(system, margin)
    words = _words_by_row(system, places)
    if ends_in_fermata:
        words.setdefault("fermata", []).append((openings[-1], FERMATA))
    words["ending"] = list(_endings(system.bars, openings, places))
    for label in _WORDS:
        if words.get(label):
            yield _placed(label, words[label])
    for row in system.rows:
        yield _placed(row.label, _drawn(row, openings, places))
    yield _placed("time", words["time"])
    for string, label in enumerate(strings, start=1):
        yield _string_row(system, string, label, openings, places)


def _places(system: _System, margin: int) -> tuple[list[int], list[list[int]]]:
    """Give the bar lines of a system, and the columns of each bar, as places in the line."""
    openings = [margin]
    places: list[list[int]] = []
    for bar in system.bars:
        places.append([openings[-1] + place for place in bar.places])
        openings.append(openings[-1] + bar.width)
    return openings, places


def _words_by_row(
    system: _System, places: Sequence[Sequence[int]]
) -> dict[str, list[tuple[int, str]]]:
    """Put values and words at their places, by label of their row."""
    words: dict[str, list[tuple[int, str]]] = {"time": []}
    for bar, starts in zip(system.bars, places, strict=True):
        for i, (column, place) in enumerate(zip(bar.columns, starts, strict=True)):
            words["time"].append((place, write_value(column.length_quarters)))
            for label, text in words_above(column, is_first=i == 0).items():
                words.setdefault(label, []).append((place, text))
    return words


def _endings(
    bars: Sequence[LaidBar], openings: Sequence[int], places: Sequence[Sequence[int]]
) -> Iterator[tuple[int, str]]:
    """Draw the brackets of endings; one that goes on in the next line is numbered again there."""
    first: int | None = None
    for i, bar in enumerate(bars):
        if not bar.signs.endings:
            continue
        first = places[i][0] if first is None else first
        is_last = i + 1 == len(bars)
        if is_last or bar.signs.ends_ending or bars[i + 1].signs.endings != bar.signs.endings:
            text = ending_text(bar.signs.endings)
            yield first, text.ljust(openings[i + 1] - first, "-")
            first = None


def _placed(label: str, words: Sequence[tuple[int, str]]) -> str:
    line = label
    for place, text in words:
        line = line.ljust(place) + text
    return line


def _drawn(
    row: RowAbove, openings: Sequence[int], places: Sequence[Sequence[int]]
) -> list[tuple[int, str]]:
    """Draw runs: up to just before the column in front of which they end, or the bar line."""
    columns = [place for bar in places for place in bar]
    bar_line_before = {bar[0]: opening for bar, opening in zip(places, openings, strict=False)}

    def last_place(run: Run) -> int:
        start, end = run
        if start == end:
            return columns[start]
        if end >= len(columns):
            return openings[-1] - (1 if end == len(columns) else 0)
        bar_line = bar_line_before.get(columns[end])
        return columns[end] - 2 if bar_line is None else bar_line - 1

    drawn: list[tuple[int, str]] = []
    for run, sign in zip(row.runs, row.signs, strict=True):
        first = openings[0] if run[0] == ENTERS else columns[run[0]]
        drawn.append((first, sign * (last_place(run) - first + 1)))
    return drawn


def _string_row(
    system: _System,
    string: int,
    label: str,
    openings: Sequence[int],
    places: Sequence[Sequence[int]],
) -> str:
    row = label.ljust(openings[0])
    count = ""
    for bar, opening, starts in zip(system.bars, openings, places, strict=False):
        row = row.ljust(opening, "-") + "|" + (count if string == 1 else "")
        if bar.signs.opens and not (count and string == 1):
            row += ":"
        for column, graces, place in zip(bar.columns, bar.grace_places, starts, strict=True):
            for group, start in zip(column.graces, graces, strict=True):
                for grace in group:
                    if grace.string == string:
                        row = row.ljust(opening + start - len(grace.lead), "-")
                        row += grace.lead + grace.body
            for piece in column.pieces:
                if piece.note.string == string:
                    row = row.ljust(place - len(piece.lead), "-") + piece.lead + piece.body
        if bar.signs.times:
            row = row.ljust(opening + bar.width - 1, "-") + ":"
        count = bar.count
    return row.ljust(openings[-1], "-") + "|" + (count if string == 1 else "")
