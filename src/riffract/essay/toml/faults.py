"""What is wrong with a text that is to be TOML, in words and with its place."""

import re
import tomllib
from typing import Any, Final

from riffract.formats.problem import Problem

_PLACE: Final = re.compile(r" \(at line (\d+), column (\d+)\)$")
_CURLY_QUOTES: Final = "“”„‘’«»"

_SAYINGS: Final = (
    (
        r"Expected newline",
        "{word} stands where the line should end",
        "give each key a line of its own, and put text in quotes",
    ),
    (r"Expected '='", "an equals sign is missing after a key", 'write key = "value"'),
    (r"Expected '\]", "the name of a part is not closed", "write [film] or [[claim]]"),
    (r"Unclosed array", "a list is not closed", "end it with ], and put commas between its items"),
    (
        r"Unclosed inline|Invalid initial",
        "a key is missing here, or braces are not closed",
        'write {{bars = "1-2", speed = 0.5}} on one line',
    ),
    (r"Unterminated|Expected \"|Expected '", "a text is not closed", "end it with a quote"),
    (
        r"Unescaped",
        "a backslash stands in a text",
        "write it twice, or put the text between single quotes",
    ),
    (
        r"Cannot|Duplicate",
        "a key or part of this name is there already",
        "keep one of them; several claims each start with [[claim]]",
    ),
    (r"Invalid statement", "{word} is no key", 'write key = "value", [part] or # remark'),
)


def parsed_toml(text: str) -> dict[str, Any] | Problem:
    r"""Read TOML, or say what is wrong with the first thing that is none.

    >>> found = parsed_toml("[film]\nlook = paper")
    >>> print(found.text("essay.toml"))
    essay.toml:2:8: paper is not a value
      mend: put text in quotes: "paper"
    """
    try:
        return tomllib.loads(text)
    except RecursionError:
        return Problem(what="brackets stand in brackets too deep", mend="close them earlier")
    except ValueError as error:  # Also of numbers with more digits than Python reads.
        return _fault(text, str(error))


def _fault(text: str, message: str) -> Problem:
    """Say it in words.

    Args:
        text: the file's.
        message: the parser's, which ends with the place; without one it is the text's end.
    """
    lines = text.split("\n")
    place = _PLACE.search(message)
    at_end = (len(lines), len(lines[-1]) + 1)
    line, column = (int(place[1]), int(place[2])) if place else at_end
    rest = lines[line - 1][column - 1 :] if line <= len(lines) else ""
    what, mend = _words(message, rest)
    return Problem(what=what, mend=mend, line=line, column=column)


def _words(message: str, rest: str) -> tuple[str, str]:
    word = re.split(r"[\s,\]}]", rest.lstrip(), maxsplit=1)[0][:40]
    if message.startswith("Illegal character"):
        return _of_a_sign(rest)
    if message.startswith("Invalid value"):
        return _of_a_value(word)
    for start, what, mend in _SAYINGS:
        if re.match(start, message):
            return what.format(word=word or "nothing"), mend.format()
    return "this is not TOML", "check quotes, brackets and equals signs on this line"


def _of_a_value(word: str) -> tuple[str, str]:
    if not word:
        return (
            "the line ends where a value should stand",
            'write one after the equals sign, as "text", 30 or ["one", "two"]',
        )
    if word[0] in _CURLY_QUOTES:
        return f"{word[0]} is not a quote that TOML knows", 'use the straight quote "'
    return f"{word} is not a value", f'put text in quotes: "{word}"'


def _of_a_sign(rest: str) -> tuple[str, str]:
    if not rest:
        return (
            "the line ends within a text",
            'end the text with a quote; several lines stand between """ and """',
        )
    return (
        f"a sign that cannot be seen stands here, U+{ord(rest[0]):04X}",
        "delete it and write the text anew",
    )
