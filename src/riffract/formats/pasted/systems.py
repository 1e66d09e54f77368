"""Which rows belong together: systems of 4 to 12 strings."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

from riffract.formats.pasted.cleaning import Line
from riffract.formats.pasted.report import Report
from riffract.formats.pasted.rows import Row, string_row
from riffract.music.tuning import FEWEST_STRINGS, MOST_STRINGS

_USUAL_SIZES: Final = (6, 7, 4, 8, 5, 9, 10, 11, 12)


@dataclass(frozen=True, slots=True)
class System:
    """The rows of all strings, in the order of the file."""

    rows: tuple[Row, ...]

    @property
    def first_line(self) -> int:
        """The line of its topmost row."""
        return self.rows[0].line

    @property
    def last_line(self) -> int:
        """The line of its lowest row."""
        return self.rows[-1].rest_line or self.rows[-1].line

    @property
    def labels(self) -> tuple[str, ...]:
        """The names of its rows from the top, as written."""
        return tuple(row.label for row in self.rows)


def find_systems(lines: Sequence[Line], report: Report) -> list[System]:
    """Find all systems of a text; rows that make none are reported.

    Rows stand one under the other, or all with one empty line between them. Where the names come
    again, a new system begins.
    """
    blank = {line.number for line in lines if line.is_blank}
    runs = list(_runs([row for line in lines if (row := string_row(line)) is not None], blank))
    sizes = Counter(len(run) for run in runs if FEWEST_STRINGS <= len(run) <= 7)
    usual = sizes.most_common(1)[0][0] if sizes else 0
    systems: list[System] = []
    for run in runs:
        size = _size(run, usual)
        if not size:
            _report_run(run, report)
            continue
        systems += [
            System(tuple(_with_numbers_read(run[i : i + size]))) for i in range(0, len(run), size)
        ]
    return systems


def _runs(rows: Sequence[Row], blank: set[int]) -> Iterator[list[Row]]:
    """Gather rows that follow each other without a gap, or all with one blank line between."""
    groups: list[list[Row]] = []
    for row in rows:
        if groups and row.line == groups[-1][-1].line + 1:
            groups[-1].append(row)
        else:
            groups.append([row])
    run: list[Row] = []
    for before, group in pairwise([[], *groups]):
        is_double_spaced = (
            len(group) == 1
            and len(before) == 1
            and group[0].line == before[0].line + 2
            and before[0].line + 1 in blank
        )
        if run and not is_double_spaced:
            yield _joined(_trimmed(run))
            run = []
        run += group
    if run:
        yield _joined(_trimmed(run))


def _trimmed(run: list[Row]) -> list[Row]:
    """Take off ruled lines above and below rows that have names."""
    if sum(bool(row.label) for row in run) < FEWEST_STRINGS:
        return run
    kept = [i for i, row in enumerate(run) if row.label or row.has_music]
    return run[kept[0] : kept[-1] + 1]


def _joined(run: list[Row]) -> list[Row]:
    """Mend rows that a mail program broke in two, so that every other one has no name."""
    heads, rests = run[::2], run[1::2]
    is_broken = (
        len(heads) == len(rests) >= FEWEST_STRINGS
        and all(row.label for row in heads)
        and not any(row.label for row in rests)
    )
    if not is_broken:
        return run
    return [_with_rest(head, rest) for head, rest in zip(heads, rests, strict=True)]


def _with_rest(head: Row, rest: Row) -> Row:
    text = head.text + rest.text[rest.start :]
    return replace(
        head,
        text=text,
        end=len(head.text) + rest.end - rest.start,
        broken_at=len(head.text),
        rest_line=rest.line,
        rest_column=rest.start + 1,
    )


def _size(run: Sequence[Row], usual: int) -> int:
    """Tell how many rows of a run make a system; 0 if none do."""
    count = len(run)
    labels = [row.label for row in run]
    if all(labels):
        for size in range(FEWEST_STRINGS, MOST_STRINGS + 1):
            if count % size == 0 and labels == labels[:size] * (count // size):
                return size
    if usual and count > usual and count % usual == 0 and not all(labels):
        return usual
    if FEWEST_STRINGS <= count < MOST_STRINGS or (count == MOST_STRINGS and all(labels)):
        return count
    return next((n for n in _USUAL_SIZES if count and count % n == 0 and not any(labels)), 0)


def _with_numbers_read(rows: Sequence[Row]) -> Sequence[Row]:
    """Tell strings that are numbered from frets in front of a bar line."""
    if not any(row.label.isdigit() for row in rows):
        return rows
    numbers = [row.label for row in rows]
    rising = [str(n) for n in range(1, len(rows) + 1)]
    if numbers in (rising, rising[::-1]):
        return rows
    return [
        replace(row, label="", start=row.text.index(row.label)) if row.label.isdigit() else row
        for row in rows
    ]


def _report_run(run: Sequence[Row], report: Report) -> None:
    rows = "row" if len(run) == 1 else "rows"
    report.warn(
        "rows",
        f"{len(run)} {rows} of dashes or bar lines make no system; left out",
        f"write {FEWEST_STRINGS} to {MOST_STRINGS} rows under each other, one for each string",
        run[0].place(run[0].start),
    )
