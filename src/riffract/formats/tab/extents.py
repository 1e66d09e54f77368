"""Which runs of dashes say what a passage says, in as few rows as can be.

A run covers what starts under it. So it must cover what it is meant for, must not cover what it
is not meant for, and must end where its notes end, unless the next note on their string cuts them.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar

_Sign = TypeVar("_Sign")
_Row = TypeVar("_Row")

Run = tuple[int, int]
"""First column, and the column in front of which it ends; columns by their index in a system."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """What one start on one string asks of the runs of its row; columns by index.

    Attributes:
        start: where it starts.
        end: where it must end if a run covers it.
        cut: where the next start on its string ends it in any case, not before `end`.
        must: a run must cover it.
        may: a run may cover it.
    """

    start: int
    end: int
    cut: int
    must: bool
    may: bool


@dataclass(slots=True)
class _OpenRun:
    """A run whose end is still looked for: at `least` or later, or exactly there if `is_exact`."""

    start: int
    least: int
    is_exact: bool

    def takes_in(self, wish: Wish) -> bool:
        """Cover a wish as well, if the end can be right for all."""
        is_free = wish.end == wish.cut
        if self.is_exact:
            return wish.end <= self.least if is_free else wish.end == self.least
        if not is_free and wish.end < self.least:
            return False
        self.least = max(self.least, wish.end)
        self.is_exact = not is_free
        return True


def runs_for(wishes: Iterable[Wish]) -> list[Run] | None:
    """Find runs that fulfil all wishes in one row.

    Returns:
        Runs from left to right, none of them overlapping; `None` if one row cannot say it.

    >>> runs_for([Wish(start=0, end=3, cut=9, must=True, may=True),
    ...           Wish(start=1, end=3, cut=3, must=True, may=True)])
    [(0, 3)]
    >>> runs_for([Wish(start=0, end=3, cut=9, must=True, may=True),
    ...           Wish(start=1, end=2, cut=2, must=False, may=False)]) is None
    True
    """
    runs: list[Run] = []
    run: _OpenRun | None = None
    for wish in sorted(wishes, key=lambda wish: (wish.start, not wish.must, not wish.may)):
        if run is not None and run.least <= wish.start and (run.is_exact or not wish.must):
            runs.append((run.start, run.least))
            run = None
        if run is not None and not (wish.may and run.takes_in(wish)):
            if run.is_exact or run.least > wish.start:
                return None
            runs.append((run.start, run.least))
            run = None
        if run is None and wish.must:
            run = _OpenRun(wish.start, wish.end, is_exact=wish.end != wish.cut)
    if run is not None:
        runs.append((run.start, run.least))
    return runs


def columns_for(signs: Iterable[tuple[int, str]]) -> list[tuple[int, str]] | None:
    """Find the columns that need a sign, and which; `None` if what starts together disagrees.

    >>> columns_for([(0, ">"), (0, ">"), (2, ""), (4, ">")])
    [(0, '>'), (4, '>')]
    >>> columns_for([(0, ">"), (0, "")]) is None
    True
    """
    signed: dict[int, str] = {}
    for column, sign in signs:
        if signed.setdefault(column, sign) != sign:
            return None
    return sorted((column, sign) for column, sign in signed.items() if sign)


def in_few_rows(
    wishes: Mapping[int, Sequence[_Sign]],
    needed: Sequence[int],
    fit: Callable[[Iterable[_Sign]], _Row | None],
) -> list[tuple[tuple[int, ...], _Row]]:
    """Share rows among strings.

    Args:
        wishes: what each string asks for.
        needed: the strings that need a row at all.
        fit: makes one row for the wishes of some strings, or nothing if one cannot do.

    Returns:
        Strings and their row; no strings means that the row is right for all of them.
    """
    groups: list[list[int]] = []
    for string in needed:
        for group in groups:
            if fit(_of([*group, string], wishes)) is not None:
                group.append(string)
                break
        else:
            groups.append([string])
    whole = fit(_of(wishes, wishes)) if len(groups) == 1 else None
    if whole is not None:
        return [((), whole)]
    found = ((tuple(group), fit(_of(group, wishes))) for group in groups)
    return [(group, row) for group, row in found if row is not None]


def _of(strings: Iterable[int], wishes: Mapping[int, Sequence[_Sign]]) -> list[_Sign]:
    return [wish for string in strings for wish in wishes.get(string, ())]
