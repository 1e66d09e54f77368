"""The index of a corpus: one DuckDB file that can be deleted and made again.

    about      key, value: what this file is, made by which version, over which folder
    files      one row a file: name, size, time of change, fingerprint, how it was read
    problems   why files or parts of them could not be read
    passages   one row a window: file, part, bars, and every measure under its name
    turns      the turns of phrase of each window's line
    scales     the middle and the spread of each measure, for windows of each length

Rows are written in transactions of whole files, so an interrupted build goes on where it stopped.
"""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from riffract import __version__
from riffract.essay.beside import beside
from riffract.formats.problem import Problem
from riffract.weighing.comparing.measures_of import MEASURES, MEASURES_VERSION

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection as Connection

SCHEMA: Final = 1
"""Raised whenever the tables change."""

KIND: Final = "riffract corpus index"
INDEX_NAME: Final = "corpus.duckdb"

SETTINGS: Final[dict[str, str | bool | int | float | list[str]]] = {
    "threads": 2,
    "memory_limit": "1GB",
    # An index may come from a stranger: it reads no other file and fetches nothing.
    "enable_external_access": False,
    "autoinstall_known_extensions": False,
    "autoload_known_extensions": False,
    "lock_configuration": True,
}

_COLUMNS: Final = {
    "about": ("key VARCHAR PRIMARY KEY", "value VARCHAR"),
    "files": (
        *("file_id INTEGER PRIMARY KEY", "name VARCHAR UNIQUE", "size_bytes BIGINT"),
        *("changed_ns BIGINT", "sha256 VARCHAR", "grid VARCHAR", "status VARCHAR"),
        *("parts INTEGER", "for_strings BOOLEAN"),
    ),
    "problems": (
        *("file_id INTEGER", "part VARCHAR", "what VARCHAR", "mend VARCHAR"),
        *("line INTEGER", "column_number INTEGER", "place VARCHAR"),
    ),
    "passages": (
        *("passage_id INTEGER", "file_id INTEGER", "part VARCHAR", "title VARCHAR"),
        *("window_attacks INTEGER", "first_bar INTEGER", "last_bar INTEGER"),
        *(f"{measure.name} FLOAT" for measure in MEASURES),
    ),
    "turns": ("passage_id INTEGER", "turn INTEGER"),
    "scales": (
        *("window_attacks INTEGER", "measure VARCHAR"),
        *("middle DOUBLE", "spread DOUBLE"),
    ),
}


class CorpusError(Exception):
    """An index that cannot be used; `problem` says why, and how to mend it."""

    def __init__(self, path: Path, problem: Problem) -> None:
        """Keep which file it is about, and what is wrong."""
        super().__init__(problem.what)
        self.path = path
        self.problem = problem


def index_at(path: Path) -> Path:
    """Give the index that a path means: the file itself, or the one in a folder."""
    return path / INDEX_NAME if path.is_dir() else path


@contextmanager
def index_to_read(path: Path) -> Iterator["Connection"]:
    """Open an index that is finished and of this version; nothing of it is changed.

    Raises:
        CorpusError: if there is none, or it is damaged, half-made, in use, or of another version.
    """
    if not path.is_file():
        raise CorpusError(
            path,
            Problem(
                what="there is no index of a corpus here",
                mend="make one with: riffract corpus build FOLDER",
            ),
        )
    with _opened(path, read_only=True) as connection:
        _check(path, connection)
        if about(connection).get("is_finished") != "yes":
            raise CorpusError(
                path,
                Problem(
                    what="this index was left half-made",
                    mend="run `riffract corpus build` again; it goes on where it stopped",
                ),
            )
        yield connection


@contextmanager
def index_to_write(path: Path) -> Iterator["Connection"]:
    """Open an index to add to it, or start a new one where nothing is yet.

    Raises:
        CorpusError: if something else is there, or an index that cannot be added to.
    """
    if not path.exists():
        _start(path)
    elif not path.is_file() or not path.stat().st_size:
        raise CorpusError(path, _SOMETHING_ELSE)
    with _opened(path, read_only=False) as connection:
        _check(path, connection)
        yield connection


def delete_index(path: Path) -> None:
    """Take an index away, so that it can be made anew; nothing happens where there is none.

    Raises:
        CorpusError: if what is there is not known to be an index of a corpus.
    """
    if not path.exists():
        return
    if not path.is_file():
        raise CorpusError(path, _SOMETHING_ELSE)
    with _opened(path, read_only=True) as connection:
        if _kind(connection) != KIND:
            raise CorpusError(path, _SOMETHING_ELSE)
    path.unlink()
    path.with_name(f"{path.name}.wal").unlink(missing_ok=True)


def about(connection: "Connection") -> dict[str, str]:
    """Read what an index says about itself."""
    return dict(connection.execute("SELECT key, value FROM about").fetchall())


def only_row(
    connection: "Connection", query: str, values: Sequence[object] = ()
) -> tuple[Any, ...]:
    """Ask for one row, and leave nothing of the answer behind."""
    rows: list[tuple[Any, ...]] = connection.execute(query, list(values)).fetchall()
    return rows[0]


def set_about(connection: "Connection", **values: str) -> None:
    """Write what an index says about itself."""
    for key, value in values.items():
        connection.execute("INSERT OR REPLACE INTO about VALUES (?, ?)", [key, value])


@contextmanager
def transaction(connection: "Connection") -> Iterator[None]:
    """Write all that is inside, or, if anything goes wrong, nothing of it."""
    connection.begin()
    try:
        yield
    except BaseException:
        connection.rollback()
        raise
    connection.commit()


_SOMETHING_ELSE: Final = Problem(
    what="there is something else here, and nothing is ever overwritten",
    mend="name another file with --into",
)


_INTERRUPTED: Final = "Query interrupted"
"""How the database tells Ctrl+C that came while it worked."""


@contextmanager
def _opened(path: Path, *, read_only: bool) -> Iterator["Connection"]:
    import duckdb

    connection = None
    try:
        connection = duckdb.connect(path, read_only=read_only, config=SETTINGS)
        yield connection
    except duckdb.Error as error:
        if not _is_about_the_file(error):
            raise
        raise CorpusError(path, _problem_of(str(error))) from error
    except RuntimeError as error:
        if str(error) != _INTERRUPTED:
            raise
        raise KeyboardInterrupt from error
    finally:
        if connection is not None:
            connection.close()


def _is_about_the_file(error: Exception) -> bool:
    """Tell what is wrong with a file from what is wrong with us.

    Damage found by a checksum has no class of its own.
    """
    import duckdb

    classes = (duckdb.IOException, duckdb.CatalogException, duckdb.FatalException)
    more = (duckdb.SerializationException, duckdb.InternalException)
    return type(error) is duckdb.Error or isinstance(error, classes + more)


def _problem_of(message: str) -> Problem:
    """Put what the database says into words."""
    first_line = message.splitlines()[0]
    if "Could not set lock" in message:
        return Problem(
            what="another program is working on this index", mend="wait until it is done"
        )
    if "not a valid DuckDB database" in message:
        return _SOMETHING_ELSE
    if "Permission denied" in message or "No such file" in message or "read-only" in message:
        return Problem(
            what=f"the index cannot be opened: {first_line}",
            mend="check the folder and its rights, or name another place with --into",
        )
    return Problem(
        what=f"the index is damaged, or was made by a newer program: {first_line}",
        mend="delete the file and run `riffract corpus build` again",
    )


def _start(path: Path) -> None:
    """Make an empty index, whole or not at all."""
    try:
        with beside(path) as draft, _opened(draft, read_only=False) as connection:
            with transaction(connection):
                for table, columns in _COLUMNS.items():
                    all_set = ", ".join(f"{column} NOT NULL" for column in columns)
                    connection.execute(f"CREATE TABLE {table} ({all_set})")
                set_about(
                    connection,
                    kind=KIND,
                    schema=str(SCHEMA),
                    measures=str(MEASURES_VERSION),
                    riffract=__version__,
                    is_finished="no",
                )
            connection.close()
    except CorpusError as error:
        raise CorpusError(path, error.problem) from error


def _kind(connection: "Connection") -> str | None:
    import duckdb

    try:
        return about(connection).get("kind")
    except duckdb.CatalogException:
        return None


def _check(path: Path, connection: "Connection") -> None:
    if _kind(connection) != KIND:
        raise CorpusError(path, _SOMETHING_ELSE)
    said = about(connection)
    if (said.get("schema"), said.get("measures")) != (str(SCHEMA), str(MEASURES_VERSION)):
        made_by = said.get("riffract", "?")
        raise CorpusError(
            path,
            Problem(
                what=f"Riffract {made_by} made this index, and measures otherwise than this one "
                f"({__version__})",
                mend="make it anew with: riffract corpus build FOLDER --again",
            ),
        )
