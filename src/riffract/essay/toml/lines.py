"""Where the keys of a TOML text stand, so that a wrong value can be pointed at."""

import re
from collections import deque
from collections.abc import Mapping
from typing import Final, TypeAlias

KeyPath: TypeAlias = tuple[str | int, ...]
"""The way to a value: names of keys, and places in lists from 0."""

_Token: TypeAlias = tuple[str, int]

_TOKEN: Final = re.compile(
    r'"""(?:\\.|[^\\])*?"{3,5}'
    r"|'''.*?'{3,5}"
    r'|"(?:\\.|[^"\\\n])*"'
    r"|'[^'\n]*'"
    r"|#[^\n]*"
    r"|\n|[\[\]{}=,.]|[^\s\[\]{}=,.#\"']+",
    re.DOTALL,
)


def key_lines(text: str) -> dict[KeyPath, int]:
    r"""Give the line of each key, part and list item, from 1.

    Args:
        text: valid TOML; of other text the answer means nothing.

    >>> key_lines("[[claim]]\nlines = ['a',\n 'b']")[("claim", 0, "lines", 1)]
    3
    """
    tokens = _tokens(text)
    lines: dict[KeyPath, int] = {}
    counts: dict[KeyPath, int] = {}
    part: KeyPath = ()
    while tokens:
        sign, line = tokens[0]
        if sign == "\n":
            tokens.popleft()
        elif sign == "[":
            part = _head(tokens, counts)
            for length in range(1, len(part) + 1):
                lines.setdefault(part[:length], line)
        else:
            _pair(tokens, part, lines)
    return lines


def line_of(lines: Mapping[KeyPath, int], path: KeyPath) -> int:
    """Give the line of a value, else of the nearest part around it; 0 if none of them stands."""
    while path and path not in lines:
        path = path[:-1]
    return lines.get(path, 0)


def _tokens(text: str) -> deque[_Token]:
    tokens: deque[_Token] = deque()
    line, seen = 1, 0
    for match in _TOKEN.finditer(text):
        line += text.count("\n", seen, match.start())
        seen = match.start()
        if not match[0].startswith("#"):
            tokens.append((match[0], line))
    return tokens


def _head(tokens: deque[_Token], counts: dict[KeyPath, int]) -> KeyPath:
    """Read `[part]` or `[[part]]`; the latter is the next item of a list."""
    tokens.popleft()
    is_item = tokens[0][0] == "["
    if is_item:
        tokens.popleft()
    names = _names(tokens, "]")
    path: KeyPath = ()
    for name in names[:-1]:
        path = (*path, name)
        if path in counts:
            path = (*path, counts[path])
    path = (*path, names[-1])
    if is_item:
        tokens.popleft()
        counts[path] = counts.get(path, -1) + 1
        path = (*path, counts[path])
    return path


def _pair(tokens: deque[_Token], part: KeyPath, lines: dict[KeyPath, int]) -> None:
    line = tokens[0][1]
    path = part
    for name in _names(tokens, "="):
        path = (*path, name)
        lines.setdefault(path, line)
    _value(tokens, path, lines)


def _names(tokens: deque[_Token], end: str) -> list[str]:
    """Take the names of a dotted key and the sign that ends it."""
    names = []
    while tokens:
        sign, _ = tokens.popleft()
        if sign == end:
            break
        if sign != ".":
            names.append(sign.strip("\"'"))
    return names


def _value(tokens: deque[_Token], path: KeyPath, lines: dict[KeyPath, int]) -> None:
    sign = tokens[0][0] if tokens else "\n"
    if sign == "[":
        _list(tokens, path, lines)
    elif sign == "{":
        _inline_part(tokens, path, lines)
    else:
        while tokens and tokens[0][0] not in {",", "]", "}", "\n"}:
            tokens.popleft()


def _list(tokens: deque[_Token], path: KeyPath, lines: dict[KeyPath, int]) -> None:
    tokens.popleft()
    count = 0
    while tokens:
        sign, line = tokens[0]
        if sign in {"\n", ",", "]"}:
            tokens.popleft()
            if sign == "]":
                return
            continue
        lines[(*path, count)] = line
        _value(tokens, (*path, count), lines)
        count += 1


def _inline_part(tokens: deque[_Token], path: KeyPath, lines: dict[KeyPath, int]) -> None:
    tokens.popleft()
    while tokens:
        sign = tokens[0][0]
        if sign in {"\n", ",", "}"}:
            tokens.popleft()
            if sign == "}":
                return
            continue
        _pair(tokens, path, lines)
