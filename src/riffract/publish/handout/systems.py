"""Plain-text tab set in systems that fit a page: long rows are broken at bar lines."""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from itertools import groupby, pairwise
from textwrap import wrap


def systems(tab_text: str, *, most_columns: int) -> tuple[str, ...]:
    """Break a plain-text tab into systems of rows no wider than a page.

    A stretch of lines between empty ones is a system. One that is too wide is broken at bar lines
    that all its strings share, and each part repeats the names in front; a bar that is still too
    wide is broken where no string has a sign. Lines without bar lines are wrapped like prose.

    Args:
        tab_text: rows of one system above each other, columns aligned.
        most_columns: how many signs fit in a row; 20 or more.

    Returns:
        The systems in order, each as lines of text.
    """
    if most_columns < 20:
        raise ValueError(f"a system needs at least 20 columns, got {most_columns}")
    lines = [line.expandtabs(4).rstrip() for line in tab_text.splitlines()]
    stretches = (list(group) for is_text, group in groupby(lines, key=bool) if is_text)
    return tuple(part for stretch in stretches for part in _parts(stretch, most_columns))


def _parts(rows: Sequence[str], most: int) -> Iterator[str]:
    if max(map(len, rows)) <= most:
        yield "\n".join(rows)
        return
    strings = [row for row in rows if _is_string(row)]
    if not strings:
        yield "\n".join(line for row in rows for line in wrap(row, most, subsequent_indent="  "))
        return
    name_width = min(row.index("|") for row in strings)
    for start, end in pairwise(_cuts(strings, name_width, most)):
        yield "\n".join(
            f"{row[:name_width]:{name_width}}{row[start : end + 1]}".rstrip()
            for row in rows
            if _is_string(row) or row[start : end + 1].strip("| ")
        )


def _is_string(row: str) -> bool:
    """A string's row has a bar line behind its name, and dashes."""
    return 0 <= row.find("|") <= 12 and "-" in row[row.find("|") :]


def _cuts(strings: Sequence[str], name_width: int, most: int) -> list[int]:
    """Choose the columns to break at: the fewest parts, whole bars, parts of like length.

    Both neighbours of a cut show what stands there.
    """
    width = max(map(len, strings))
    bar_lines = [c for c in range(name_width, width) if all(_sign(s, c) == "|" for s in strings)]
    # of a double bar line only the last stroke is a place to break
    bar_lines = [c for c in bar_lines if c + 1 not in bar_lines]
    gaps = [c for c in range(name_width, width) if all(_sign(s, c) in "-| " for s in strings)]
    rooms = range((most - name_width) // 2, most - name_width)
    filled = [_filled(name_width, width - 1, room, bar_lines, gaps) for room in rooms]
    return min(filled, key=lambda cuts: (len(cuts), len(set(cuts[1:-1]).difference(bar_lines))))


def _filled(
    start: int, end: int, room: int, bar_lines: Sequence[int], gaps: Sequence[int]
) -> list[int]:
    """Fill part after part as far as each goes."""
    cuts = [start]
    while end - cuts[-1] > room:
        furthest = cuts[-1] + room
        last_ones = [_last_up_to(furthest, columns) for columns in (bar_lines, gaps)]
        cuts.append(next((c for c in last_ones if c > cuts[-1]), furthest))
    return [*cuts, end]


def _last_up_to(column: int, columns: Sequence[int]) -> int:
    """Give the last of some rising columns that is not beyond one; -1 if there is none."""
    index = bisect_right(columns, column)
    return columns[index - 1] if index else -1


def _sign(row: str, column: int) -> str:
    return row[column] if column < len(row) else " "
