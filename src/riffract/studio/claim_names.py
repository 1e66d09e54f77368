"""Which claim is which while claims are reworded, moved and taken out.

`claims.toml` tells claims apart by their order alone, and a page that is a moment behind may mean
another one by the same number. So each claim is given a name that goes along with it.
"""

import tomllib
from collections.abc import Callable, Hashable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, TypeAlias

from riffract.studio.problems import RefusedError

Row: TypeAlias = Mapping[str, Any]


@dataclass(slots=True)
class ClaimNames:
    """The names of an essay's claims; a name is given once and never to another claim.

    Attributes:
        folder: of the essay.
        rows: the claims as they were last seen.
        names: of each of them.
        given: how many names there have been.
    """

    folder: Path | None = None
    rows: tuple[Row, ...] = ()
    names: tuple[str, ...] = ()
    given: int = 0

    def of(self, folder: Path, text: str) -> tuple[str, ...]:
        """Name the claims of a text, those that were there before as they were named then."""
        if folder != self.folder:
            self.folder, self.rows, self.names = folder, (), ()
        rows = _rows(text)
        if rows != self.rows:
            known = carried_on(self.rows, self.names, rows)
            self.rows, self.names = rows, tuple(name or self._new() for name in known)
        return self.names

    def goes_on(self, text: str, order: Sequence[int | None]) -> tuple[str, ...]:
        """Name the claims after a change of which it is known where each of them went.

        Args:
            text: after it.
            order: for each claim after it, its number before; `None` for a new one.
        """
        before = self.names
        self.rows = _rows(text)
        self.names = tuple(self._new() if number is None else before[number] for number in order)
        return self.names

    def _new(self) -> str:
        self.given += 1
        return f"c{self.given}"


def number_of(names: Sequence[str], name: str) -> int:
    """Tell the number of a claim, from 0.

    Raises:
        RefusedError: if it is not there any more.
    """
    if name not in names:
        raise RefusedError(
            "this claim has been taken out elsewhere meanwhile", mend="look at the claims again"
        )
    return names.index(name)


def carried_on(
    old: tuple[Row, ...], names: tuple[str, ...], new: tuple[Row, ...]
) -> tuple[str | None, ...]:
    """Give each new row the name of the old one that it is; `None` if it is none of them.

    What is the same all through is the same claim, best in the same place; then what is about the
    same finding under the same title, then about the same finding, then under the same title. What
    is left is another wording in its old place.

    >>> up, down = {"title": "Up."}, {"title": "Down."}
    >>> carried_on((up, down), ("a", "b"), (down, {"title": "Up, slowly."}))
    ('b', None)
    >>> carried_on((up, down), ("a", "b"), ({"title": "Up, slowly."}, down))
    ('a', 'b')
    """
    found: dict[int, str] = {}
    left = dict(enumerate(old))
    for key in _ALIKE:
        for number, row in enumerate(new):
            wanted = key(number, row)
            if number in found or wanted is None:
                continue
            same = next((i for i, one in left.items() if key(i, one) == wanted), None)
            if same is not None:
                found[number] = names[same]
                del left[same]
    return tuple(found.get(number) for number in range(len(new)))


_ALIKE: Final[tuple[Callable[[int, Row], Hashable | None], ...]] = (
    lambda number, row: (number, repr(row)),
    lambda _number, row: repr(row),
    lambda _number, row: (row.get("title"), row["finding"]) if row.get("finding") else None,
    lambda _number, row: row.get("finding") or None,
    lambda _number, row: row.get("title") or None,
    lambda number, _row: number,
)


def _rows(text: str) -> tuple[Row, ...]:
    try:
        rows = tomllib.loads(text).get("claim", [])
    except tomllib.TOMLDecodeError:
        return ()
    return tuple(row for row in rows if isinstance(row, dict)) if isinstance(rows, list) else ()
