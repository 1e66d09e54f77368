"""The windows of one length in an index, looked through once from end to end.

They are read some at a time, so that only a part of them is held in memory, however large the
corpus is.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from riffract.essay.corpus.index import only_row
from riffract.music.notes import Ints
from riffract.weighing.comparing.likeness import Scales, distances
from riffract.weighing.comparing.measure import Values
from riffract.weighing.comparing.measures_of import MEASURES
from riffract.weighing.comparing.profile import Profile

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection as Connection

MOST_ALIKE: Final = 5

CHUNK_ROWS: Final = 200_000
"""So many rows are looked through at a time: 35 MB of measures at most."""

NAMES: Final = ", ".join(measure.name for measure in MEASURES)
"""The columns of the measures, in their order."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """The windows of one length, without those of some files."""

    connection: "Connection"
    attacks: int
    left_out: tuple[int, ...]

    @property
    def rows(self) -> str:
        """Name them in a query; numbers of ours only, so nothing can be slipped in."""
        gone = f" AND file_id NOT IN ({', '.join(map(str, self.left_out))})"
        where = f"window_attacks = {self.attacks}{gone if self.left_out else ''}"
        return f"(SELECT * FROM passages WHERE {where})"  # noqa: S608


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Scan:
    """What one pass over the windows tells; every piece counts as one.

    Attributes:
        pieces, passages: how many there are.
        below_share, equal_share: of each measure, against the passage. Shape: (measures,).
        nearer_share: how much lies nearer to the middle of the corpus than the passage does.
        nearest: the windows nearest to the passage, one a piece.
    """

    pieces: int
    passages: int
    below_share: Values
    equal_share: Values
    nearer_share: float
    nearest: list[int]

    @classmethod
    def over(cls, chosen: Chosen, profile: Profile, scales: Scales, distance: float) -> "Scan":
        """Read all windows, some at a time."""
        value = profile.values.astype(np.float32)
        below, equal = np.zeros(len(MEASURES)), np.zeros(len(MEASURES))
        nearer, passages = 0.0, 0
        nearest: list[tuple[float, int, int]] = []
        weight_of = _weights(chosen)
        for ids, files, values in _chunks(chosen):
            weights = weight_of[files]
            # As numbers, since a product with truth values is ten times slower.
            below += weights @ (values < value).astype(np.float64)
            equal += weights @ (values == value).astype(np.float64)
            from_middle = distances(values, scales.middle, scales)
            nearer += float(weights[from_middle < distance - 1e-9].sum())
            apart = distances(values, profile.values, scales)
            nearest = _one_a_piece([*nearest, *_candidates(apart, ids, files)])
            passages += len(ids)
        pieces = int(np.count_nonzero(weight_of))
        count = max(pieces, 1)
        return cls(
            pieces=pieces,
            passages=passages,
            below_share=below / count,
            equal_share=equal / count,
            nearer_share=nearer / count,
            nearest=[passage_id for _, passage_id, _ in nearest],
        )


def _weights(chosen: Chosen) -> Values:
    """Give one by the number of windows of each file, by its id; 0 where it has none."""
    counts = chosen.connection.execute(
        f"SELECT file_id, count(*) FROM {chosen.rows} GROUP BY file_id"  # noqa: S608
    ).fetchall()
    weights = np.zeros(max((file_id for file_id, _ in counts), default=0) + 1)
    for file_id, count in counts:
        weights[file_id] = 1.0 / count
    return weights


def _chunks(chosen: Chosen) -> Iterator[tuple[Ints, Ints, Values]]:
    """Read ids, files and values of the windows, some at a time."""
    (last,) = only_row(chosen.connection, "SELECT coalesce(max(passage_id), 0) FROM passages")
    for first in range(0, last + 1, CHUNK_ROWS):
        found = chosen.connection.execute(
            f"SELECT passage_id, file_id, {NAMES} FROM {chosen.rows} "  # noqa: S608
            "WHERE passage_id >= ? AND passage_id < ? ORDER BY passage_id",
            [first, first + CHUNK_ROWS],
        ).fetchnumpy()
        values = np.stack([np.asarray(found[m.name]) for m in MEASURES]).T
        yield np.asarray(found["passage_id"]), np.asarray(found["file_id"]), values


def _candidates(apart: Values, ids: Ints, files: Ints) -> Iterator[tuple[float, int, int]]:
    """Give the nearest windows until enough pieces are among them."""
    rounded = np.round(apart, 9)
    pieces: set[int] = set()
    for place in np.argsort(rounded, kind="stable").tolist():
        yield float(rounded[place]), int(ids[place]), int(files[place])
        pieces.add(int(files[place]))
        if len(pieces) == MOST_ALIKE:
            return


def _one_a_piece(found: list[tuple[float, int, int]]) -> list[tuple[float, int, int]]:
    """Keep the nearest few, each of another file."""
    best: dict[int, tuple[float, int, int]] = {}
    for one in sorted(found):
        best.setdefault(one[2], one)
    return list(best.values())[:MOST_ALIKE]
