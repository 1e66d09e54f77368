"""Writing what was measured into the index, and taking it out again."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from riffract.essay.corpus.files import MeasuredFile
from riffract.essay.corpus.index import only_row, set_about, transaction
from riffract.weighing.comparing.likeness import Scales, distances, spread_of
from riffract.weighing.comparing.measured_part import MeasuredPart
from riffract.weighing.comparing.measures_of import MEASURES
from riffract.weighing.comparing.windows import WINDOW_ATTACKS

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection as Connection

USUAL_SAMPLE: Final = 200
"""So many windows tell how far apart two of them usually are; more change the second digit."""


class Status(StrEnum):
    """What became of a file."""

    READ = "read"
    TOO_SHORT = "too short"
    BROKEN = "broken"
    COPY = "copy"


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """A file that the index holds already."""

    file_id: int
    size_bytes: int
    changed_ns: int
    sha256: str
    grid: str
    status: Status


def known_files(connection: "Connection") -> dict[str, Known]:
    """List the files that the index holds, by name."""
    rows = connection.execute(
        "SELECT name, file_id, size_bytes, changed_ns, sha256, grid, status FROM files"
    ).fetchall()
    return {
        name: Known(
            file_id=file_id,
            size_bytes=size,
            changed_ns=changed,
            sha256=sha256,
            grid=grid,
            status=Status(status),
        )
        for name, file_id, size, changed, sha256, grid, status in rows
    }


def drop_files(connection: "Connection", file_ids: Sequence[int]) -> None:
    """Take files out of the index, with all that was measured of them."""
    chosen = [list(file_ids)]
    passages = "SELECT passage_id FROM passages WHERE file_id IN (SELECT unnest(?))"
    connection.execute(f"DELETE FROM turns WHERE passage_id IN ({passages})", chosen)  # noqa: S608
    for table in ("passages", "problems", "files"):
        connection.execute(
            f"DELETE FROM {table} WHERE file_id IN (SELECT unnest(?))",  # noqa: S608
            chosen,
        )


def drop_lone_copies(connection: "Connection") -> None:
    """Forget copies of what the index no longer holds, so that they are read in its place."""
    rows = connection.execute(
        "SELECT file_id FROM files WHERE status = ? AND sha256 NOT IN "
        "(SELECT sha256 FROM files WHERE status != ?)",
        [Status.COPY.value, Status.COPY.value],
    ).fetchall()
    if rows:
        with transaction(connection):
            drop_files(connection, [file_id for (file_id,) in rows])


def add_files(connection: "Connection", measured: Sequence[MeasuredFile], *, grid: str) -> None:
    """Write files in one transaction, in place of what the index held of them.

    A file with the bytes of another one is noted as its copy, so that no music counts twice.
    """
    with transaction(connection):
        names = [m.file.name for m in measured]
        old = connection.execute(
            "SELECT file_id FROM files WHERE name IN (SELECT unnest(?))", [names]
        ).fetchall()
        drop_files(connection, [file_id for (file_id,) in old])
        known = {sha for (sha,) in connection.execute("SELECT sha256 FROM files").fetchall()}
        next_file = _next(connection, "files", "file_id")
        music: list[tuple[int, MeasuredPart]] = []
        for file_id, one in enumerate(measured, start=next_file):
            status = _status(one, is_copy=bool(one.sha256) and one.sha256 in known)
            known.add(one.sha256)
            _add_file(connection, file_id, one, status, grid)
            if status is Status.READ:
                music += ((file_id, part) for part in one.parts)
        _add_windows(connection, music)


def touch_files(connection: "Connection", measured: Sequence[MeasuredFile]) -> None:
    """Note that the bytes of files are as before, though their time is not."""
    with transaction(connection):
        for one in measured:
            connection.execute(
                "UPDATE files SET size_bytes = ?, changed_ns = ? WHERE name = ?",
                [one.file.size_bytes, one.file.changed_ns, one.file.name],
            )


def finish(connection: "Connection") -> None:
    """Find the middle and the spread of every measure, and mark the index as finished."""
    with transaction(connection):
        connection.execute("DELETE FROM scales")
        for attacks in WINDOW_ATTACKS:
            scales = _scales(connection, attacks)
            if scales is not None:
                _add_scales(connection, attacks, scales)
                usual = _usual_distance(connection, attacks, scales)
                set_about(connection, **{f"usual_distance_{attacks}": usual})
        set_about(connection, is_finished="yes")


def insert(connection: "Connection", table: str, columns: dict[str, Any]) -> None:
    """Append columns of equal length to a table."""
    connection.register("fresh", columns)
    connection.execute(f"INSERT INTO {table} BY NAME SELECT * FROM fresh")  # noqa: S608
    connection.unregister("fresh")


def _next(connection: "Connection", table: str, column: str) -> int:
    (number,) = only_row(connection, f"SELECT coalesce(max({column}), 0) + 1 FROM {table}")  # noqa: S608
    return int(number)


def _status(one: MeasuredFile, *, is_copy: bool) -> Status:
    if is_copy:
        return Status.COPY
    if not one.parts:
        return Status.BROKEN
    return Status.TOO_SHORT if all(p.is_too_short for p in one.parts) else Status.READ


def _add_file(
    connection: "Connection", file_id: int, one: MeasuredFile, status: Status, grid: str
) -> None:
    file = one.file
    connection.execute(
        "INSERT INTO files VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
        [
            *(file_id, file.name, file.size_bytes, file.changed_ns, one.sha256, grid),
            *(status.value, len(one.parts), any(p.is_for_strings for p in one.parts)),
        ],
    )
    for said in one.problems:
        p = said.problem
        connection.execute(
            "INSERT INTO problems VALUES (?, ?, ?, ?, ?, ?, ?)",
            [file_id, said.part, p.what, p.mend, p.line, p.column, p.place],
        )


def _add_windows(connection: "Connection", music: Sequence[tuple[int, MeasuredPart]]) -> None:
    """Write the windows of parts, all at once: the database is slow to start and quick to go on."""
    rows = [(file_id, part, windows) for file_id, part in music for windows in part.windows]
    if not rows:
        return
    sizes = [len(windows) for _, _, windows in rows]
    values = np.concatenate([windows.values for _, _, windows in rows])
    first = _next(connection, "passages", "passage_id")
    ids = np.arange(first, first + len(values), dtype=np.int32)

    def spread(numbers: Sequence[int]) -> Any:
        return np.repeat(np.array(numbers, dtype=np.int32), sizes)

    columns = {
        "passage_id": ids,
        "file_id": spread([file_id for file_id, _, _ in rows]),
        "part": np.repeat(_texts(part.name for _, part, _ in rows), sizes),
        "title": np.repeat(_texts(part.title for _, part, _ in rows), sizes),
        "window_attacks": spread([windows.attacks for _, _, windows in rows]),
        "first_bar": np.concatenate([w.first_bar for _, _, w in rows]).astype(np.int32),
        "last_bar": np.concatenate([w.last_bar for _, _, w in rows]).astype(np.int32),
    }
    measures = {m.name: np.ascontiguousarray(values[:, k]) for k, m in enumerate(MEASURES)}
    insert(connection, "passages", columns | measures)
    turns = [turns for _, _, windows in rows for turns in windows.turns]
    counts = [len(t) for t in turns]
    if sum(counts):
        numbers = np.concatenate(turns).astype(np.int32)
        insert(connection, "turns", {"passage_id": np.repeat(ids, counts), "turn": numbers})


def _texts(texts: Iterable[str]) -> Any:
    shown = [text.encode("utf-8", "backslashreplace").decode() for text in texts]
    return np.array(shown, dtype=object)


def _scales(connection: "Connection", attacks: int) -> Scales | None:
    """Find the scales of the windows of one length; `None` if there are none.

    The database does it, column by column, so that a large index need not fit into memory.
    """
    asked = ", ".join(
        f"median({m.name}), mad({m.name}), stddev_pop({m.name}::DOUBLE)" for m in MEASURES
    )
    count, *found = only_row(
        connection,
        f"SELECT count(*), {asked} FROM passages WHERE window_attacks = ?",  # noqa: S608
        [attacks],
    )
    if not count:
        return None
    middle, mad, deviation = np.array(found, dtype=np.float64).reshape(-1, 3).T
    return Scales(middle=middle, spread=spread_of(mad, np.round(deviation, 9)))


def _add_scales(connection: "Connection", attacks: int, scales: Scales) -> None:
    insert(
        connection,
        "scales",
        {
            "window_attacks": np.full(len(MEASURES), attacks, dtype=np.int32),
            "measure": _texts([m.name for m in MEASURES]),
            "middle": scales.middle.astype(np.float64),
            "spread": scales.spread.astype(np.float64),
        },
    )


def _usual_distance(connection: "Connection", attacks: int, scales: Scales) -> str:
    """Give the median distance of windows of different pieces; empty if there is but one piece."""
    names = ", ".join(m.name for m in MEASURES)
    rows = connection.execute(
        f"SELECT file_id, {names} FROM passages WHERE window_attacks = ? "  # noqa: S608
        "ORDER BY hash(passage_id), passage_id LIMIT ?",
        [attacks, USUAL_SAMPLE],
    ).fetchnumpy()
    files = np.asarray(rows.pop("file_id"))
    values = np.stack([np.asarray(rows[m.name], dtype=np.float64) for m in MEASURES], axis=1)
    apart = [
        distances(values[k + 1 :][files[k + 1 :] != files[k]], values[k], scales)
        for k in range(len(files))
    ]
    found = np.concatenate(apart)
    return f"{float(np.median(found)):.4f}" if len(found) else ""
