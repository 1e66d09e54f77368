"""Changing `claims.toml` by hand of a program: what the analyst wrote around it stays.

Each function takes the file's text and gives its new text. Claims are counted from 0.
"""

from collections.abc import Mapping, Sequence
from typing import Any, Final

import tomlkit
from tomlkit.items import Array, Table

FIELDS: Final = (
    "title",
    "scene",
    "finding",
    "profile",
    "lines",
    "play",
    "take",
    "line_starts",
)
_EMPTY_IS_NONE: Final = frozenset({"finding", "profile", "take", "line_starts"})


def with_row_added(text: str, row: Mapping[str, Any], *, at: int) -> str:
    """Put a claim in before one of those that are there; behind all of them at their number.

    Args:
        text: of the file; may be empty.
        row: the claim as the file has it, by field.
        at: the number of the claim before which it goes.

    Raises:
        IndexError: if there is no such place.
    """
    document, rows = _read(text)
    if not 0 <= at <= len(rows):
        raise IndexError(f"there are {len(rows)} claims, and none can come before number {at}")
    added = tomlkit.table()
    for key, value in row.items():
        added[key] = _toml(value)
    return _written(document, [*rows[:at], added, *rows[at:]])


def with_claim_moved(text: str, at: int, to: int) -> str:
    """Put a claim in another place; `to` is its number afterwards.

    Raises:
        IndexError: if there is no such claim or place.
    """
    document, rows = _read(text)
    _check(rows, at, to)
    rows.insert(to, rows.pop(at))
    return _written(document, rows)


def without_claim(text: str, at: int) -> str:
    """Take a claim out.

    Raises:
        IndexError: if there is no such claim.
    """
    document, rows = _read(text)
    _check(rows, at)
    del rows[at]
    return _written(document, rows)


def with_claim_field(text: str, at: int, field: str, value: object) -> str:
    """Give a claim another title, scene, finding, lines or excerpts.

    Args:
        text: of the file.
        at: the claim's number.
        field: one of `FIELDS`.
        value: as the file has it; `None`, or an empty finding or take or no profile, takes the
            field out.

    Raises:
        IndexError: if there is no such claim.
        ValueError: if claims have no such field.
    """
    if field not in FIELDS:
        raise ValueError(f"a claim has the fields {', '.join(FIELDS)}, not {field}")
    document, rows = _read(text)
    _check(rows, at)
    if value is None or (field in _EMPTY_IS_NONE and not value):
        rows[at].pop(field, None)
    else:
        rows[at][field] = _toml(value)
    return _written(document, rows)


def _read(text: str) -> tuple[tomlkit.TOMLDocument, list[Table]]:
    document = tomlkit.parse(text)
    return document, list(document.get("claim", []))


def _written(document: tomlkit.TOMLDocument, rows: Sequence[Table]) -> str:
    array = tomlkit.aot()
    for row in rows:
        array.append(row)
    if "claim" in document:
        document.remove("claim")
    if rows:
        document["claim"] = array
    text = tomlkit.dumps(document)
    return text if text.endswith("\n") or not text else f"{text}\n"


def _check(rows: Sequence[object], *numbers: int) -> None:
    for number in numbers:
        if not 0 <= number < len(rows):
            raise IndexError(f"there are {len(rows)} claims, and none has the number {number}")


def _toml(value: object) -> Any:
    """Write lists line by line if they hold several things, and excerpts as inline tables."""
    if isinstance(value, Mapping):
        table = tomlkit.inline_table()
        table.update(value)
        return table
    if isinstance(value, (list, tuple)):
        array: Array = tomlkit.array()
        for one in value:
            array.append(_toml(one))
        return array.multiline(multiline=len(value) > 1)
    return value
