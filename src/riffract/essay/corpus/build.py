"""Building the index of a folder of music: reading only what is new or has changed."""

from contextlib import closing
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Final, Literal

from riffract.essay.corpus.files import MeasuredFile, MusicFile, music_files
from riffract.essay.corpus.index import (
    CorpusError,
    about,
    delete_index,
    index_to_write,
    only_row,
    set_about,
    transaction,
)
from riffract.essay.corpus.reading import AS_USUAL, Reading, Task, measured_files
from riffract.essay.corpus.rows import (
    Known,
    Status,
    add_files,
    drop_files,
    drop_lone_copies,
    finish,
    known_files,
    touch_files,
)
from riffract.essay.folder import FileProblem
from riffract.formats.problem import Problem
from riffract.formats.reading import BARS, SUFFIXES

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection as Connection

BATCH_FILES: Final = 50
"""So many files are written at a time: what an interruption can cost at most."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Built:
    """What a build did.

    Attributes:
        index: where the index is.
        title, provenance: what the corpus says about itself.
        found: files of music in the folder.
        fresh: files read now; all others were known.
        removed: files that the index held and the folder no longer does.
        read, too_short, copies, broken: what became of all files found.
        passages: windows in the index, by length.
        for_strings: files that say on which strings they are played.
        problems: what is wrong with the broken ones, with parts of others, and with folders.
    """

    index: Path
    title: str
    provenance: str
    found: int
    fresh: int
    removed: int
    read: int
    too_short: int
    copies: int
    broken: int
    passages: dict[int, int]
    for_strings: int
    problems: tuple[FileProblem, ...]


def build_corpus(
    folder: Path,
    index: Path,
    *,
    title: str | None = None,
    provenance: str | None = None,
    reading: Reading = AS_USUAL,
    is_anew: bool = False,
) -> Built:
    """Bring the index of a folder up to date.

    Args:
        folder: where the music is.
        index: where the index is, or will be.
        title: what the corpus is called; as before, or as the folder, if it is not given.
        provenance: where it comes from; as before if it is not given.
        reading: how files are read.
        is_anew: whether an index that is there is thrown away first.

    Raises:
        CorpusError: if there is no music, or the index cannot be made or added to.
        KeyboardInterrupt: if it is stopped; files read until then are in the index.
    """
    closed: list[OSError] = []
    files = list(music_files(folder, closed))
    if not files:
        raise CorpusError(folder, _NO_MUSIC)
    if is_anew:
        delete_index(index)
    with index_to_write(index) as connection:
        known = known_files(connection)
        _check_folder(folder, index, known, files)
        reading = _remembered(connection, reading)
        removed = _drop_gone(connection, known, {f.name for f in files})
        _note(connection, folder, title, provenance)
        fresh = _read_fresh(connection, files, reading)
        if fresh or removed or about(connection)["is_finished"] != "yes":
            finish(connection)
        built = _built(connection, index, fresh=fresh, removed=removed)
        return replace(built, problems=(*map(_closed, closed), *built.problems))


def _closed(error: OSError) -> FileProblem:
    problem = Problem(
        what=f"this folder cannot be looked into: {error.strerror}", mend="check its rights"
    )
    return FileProblem(file=str(error.filename), problem=problem)


_NO_MUSIC: Final = Problem(
    what="there are no files of music in this folder, nor in those below it",
    mend=f"name a folder with files that end in {', '.join(SUFFIXES)}",
)


def _read_fresh(connection: "Connection", files: list[MusicFile], reading: Reading) -> int:
    """Read what is new or has changed; give how many files that were.

    When a file has changed whose copy had been passed over, the copy's turn comes.
    """
    fresh = 0
    while True:
        known = known_files(connection)
        tasks = [
            (f, _sha(known.get(f.name), reading.grid))
            for f in files
            if not _is_fresh(known.get(f.name), f, reading.grid)
        ]
        if not tasks:
            return fresh
        set_about(connection, is_finished="no")
        _read_all(connection, tasks, reading)
        drop_lone_copies(connection)
        fresh += len(tasks)


def _check_folder(
    folder: Path, index: Path, known: dict[str, Known], files: list[MusicFile]
) -> None:
    """Refuse to turn the index of one folder into that of another."""
    if known and not any(file.name in known for file in files):
        raise CorpusError(
            index,
            Problem(
                what=f"this index holds {len(known)} files, and none of them is in {folder}",
                mend="name another file with --into, or make it anew with --again",
            ),
        )


def _drop_gone(connection: "Connection", known: dict[str, Known], there: set[str]) -> int:
    """Take files out that are no longer there; give how many."""
    gone = [one.file_id for name, one in known.items() if name not in there]
    if gone:
        with transaction(connection):
            drop_files(connection, gone)
            set_about(connection, is_finished="no")
        drop_lone_copies(connection)
    return len(gone)


def _is_fresh(known: Known | None, file: MusicFile, grid: str) -> bool:
    return known is not None and (known.size_bytes, known.changed_ns, known.grid) == (
        file.size_bytes,
        file.changed_ns,
        grid,
    )


def _sha(known: Known | None, grid: str) -> str:
    """Give the fingerprint under which a file need not be measured again."""
    return known.sha256 if known is not None and known.grid == grid else ""


def _remembered(connection: "Connection", reading: Reading) -> Reading:
    """Choose the grid of the build before, if none is given; remember the one that is chosen."""
    if reading.grid:
        set_about(connection, grid=reading.grid)
        return reading
    known = about(connection).get("grid", "")
    if not known:
        return reading
    grid: Fraction | Literal["bars"] = "bars" if known == BARS else Fraction(known)
    return replace(reading, choices=replace(reading.choices, grid=grid))


def _note(
    connection: "Connection", folder: Path, title: str | None, provenance: str | None
) -> None:
    said = about(connection)
    set_about(
        connection,
        title=said.get("title", folder.resolve().name) if title is None else title,
        provenance=said.get("provenance", "") if provenance is None else provenance,
    )


def _read_all(connection: "Connection", tasks: list[Task], reading: Reading) -> None:
    """Read files and write them batch by batch; what is read when it is stopped is kept."""
    batch: list[MeasuredFile] = []
    try:
        with closing(measured_files(tasks, reading)) as results:
            for done, one in enumerate(results, start=1):
                batch.append(one)
                if len(batch) >= BATCH_FILES:
                    _write(connection, batch, reading.grid)
                    batch = []
                reading.progress(done, len(tasks))
    finally:
        _write(connection, batch, reading.grid)


def _write(connection: "Connection", batch: list[MeasuredFile], grid: str) -> None:
    changed = [one for one in batch if not one.is_as_before]
    if changed:
        add_files(connection, changed, grid=grid)
    touch_files(connection, [one for one in batch if one.is_as_before])


def _built(connection: "Connection", index: Path, *, fresh: int, removed: int) -> Built:
    said = about(connection)
    counts = dict(
        connection.execute("SELECT status, count(*) FROM files GROUP BY status").fetchall()
    )
    passages = connection.execute(
        "SELECT window_attacks, count(*) FROM passages GROUP BY ALL ORDER BY ALL"
    ).fetchall()
    (for_strings,) = only_row(
        connection,
        "SELECT count(*) FROM files WHERE for_strings AND status = ?",
        [Status.READ.value],
    )
    return Built(
        index=index,
        title=said["title"],
        provenance=said["provenance"],
        found=sum(counts.values()),
        fresh=fresh,
        removed=removed,
        read=counts.get(Status.READ.value, 0),
        too_short=counts.get(Status.TOO_SHORT.value, 0),
        copies=counts.get(Status.COPY.value, 0),
        broken=counts.get(Status.BROKEN.value, 0),
        passages=dict(passages),
        for_strings=for_strings,
        problems=_problems(connection),
    )


def _problems(connection: "Connection") -> tuple[FileProblem, ...]:
    rows = connection.execute(
        "SELECT name, part, what, mend, line, column_number, place FROM problems "
        "JOIN files USING (file_id) ORDER BY name, part, line, column_number"
    ).fetchall()
    return tuple(
        FileProblem(
            file=f"{name} [{part}]" if part else name,
            problem=Problem(what=what, mend=mend, line=line, column=column, place=place),
        )
        for name, part, what, mend, line, column, place in rows
    )
