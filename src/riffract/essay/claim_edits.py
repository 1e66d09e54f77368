"""Changing `claims.toml` by hand of a program: what the analyst wrote around it stays.

Each function takes the file's text and gives its new text. Claims are counted from 0. A claim goes
with the comment right above it, unless that opens the file.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Final

import tomlkit
from tomlkit.items import AoT, Array

from riffract.essay.toml.lines import key_lines

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
    parts = _parts_of(text)
    if not 0 <= at <= len(parts.claims):
        raise IndexError(
            f"there are {len(parts.claims)} claims, and none can come before number {at}"
        )
    return _written(parts, [*parts.claims[:at], _claim_text(row), *parts.claims[at:]])


def with_claim_moved(text: str, at: int, to: int) -> str:
    """Put a claim in another place; `to` is its number afterwards.

    Raises:
        IndexError: if there is no such claim or place.
    """
    parts = _parts_of(text)
    _check(parts, at, to)
    claims = list(parts.claims)
    claims.insert(to, claims.pop(at))
    return _written(parts, claims)


def without_claim(text: str, at: int) -> str:
    """Take a claim out.

    Raises:
        IndexError: if there is no such claim.
    """
    parts = _parts_of(text)
    _check(parts, at)
    return _written(parts, [*parts.claims[:at], *parts.claims[at + 1 :]])


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
    parts = _parts_of(text)
    _check(parts, at)
    document = tomlkit.parse(parts.claims[at])
    (row,) = document["claim"]
    if value is None or (field in _EMPTY_IS_NONE and not value):
        row.pop(field, None)
    else:
        row[field] = _toml(value)
    changed = tomlkit.dumps(document)
    return _written(parts, [*parts.claims[:at], changed, *parts.claims[at + 1 :]])


@dataclass(frozen=True, slots=True, kw_only=True)
class _Parts:
    """The file cut up: what stands before the claims, each of them, and what stands among them."""

    head: str
    claims: tuple[str, ...]
    others: tuple[str, ...]


def _parts_of(text: str) -> _Parts:
    text = _with_heads(text)
    lines = text.split("\n")
    is_claim = {
        line - 1: path[0] == "claim"
        for path, line in key_lines(text).items()
        if (path[0] != "claim" or len(path) == 2) and lines[line - 1].lstrip().startswith("[")
    }
    first = min((at for at, is_one in is_claim.items() if is_one), default=len(lines))
    heads = sorted(at for at in is_claim if at >= first)
    cuts = [*(_lead_of(lines, at) for at in heads), len(lines)]
    pieces = {at: "\n".join(lines[a:b]) for at, (a, b) in zip(heads, pairwise(cuts), strict=True)}
    return _Parts(
        head="\n".join(lines[: cuts[0]]),
        claims=tuple(piece for at, piece in pieces.items() if is_claim[at]),
        others=tuple(piece for at, piece in pieces.items() if not is_claim[at]),
    )


def _with_heads(text: str) -> str:
    """Write claims that stand in one list under heads of their own."""
    document = tomlkit.parse(text)
    rows = document.get("claim")
    if rows is None or isinstance(rows, AoT):
        return text
    document.remove("claim")
    return "\n\n".join([tomlkit.dumps(document), *map(_claim_text, rows)])


def _lead_of(lines: Sequence[str], at: int) -> int:
    """Find where the comment right above a line begins."""
    start = at
    while start > 0 and lines[start - 1].lstrip().startswith("#"):
        start -= 1
    return start or at


def _claim_text(row: Mapping[str, Any]) -> str:
    table = tomlkit.table()
    for key, value in row.items():
        table[key] = _toml(value)
    claims = tomlkit.aot()
    claims.append(table)
    return tomlkit.dumps({"claim": claims})


def _written(parts: _Parts, claims: Sequence[str]) -> str:
    pieces = [piece.strip("\r\n") for piece in (parts.head, *claims, *parts.others)]
    text = "\n\n".join(piece for piece in pieces if piece)
    return f"{text}\n" if text else ""


def _check(parts: _Parts, *numbers: int) -> None:
    count = len(parts.claims)
    for number in numbers:
        if not 0 <= number < count:
            raise IndexError(f"there are {count} claims, and none has the number {number}")


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
