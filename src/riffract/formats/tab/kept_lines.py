"""Lines of a tab that are not music: remarks, and keys that no tab has."""

from collections.abc import Iterator

from riffract.formats.tab.faults import Report
from riffract.formats.tab.header import with_known_key
from riffract.formats.tab.lines import Directive, classify


def lines_beside(text: str) -> Iterator[tuple[int, str]]:
    r"""Give the lines that reading leaves out, each with its number from 1, in order.

    >>> list(lines_beside("title: A\n# by ear\nyear: 2026\n"))
    [(2, '# by ear'), (3, 'year: 2026')]
    """
    unified = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    for number, line in enumerate(unified.split("\n"), start=1):
        stripped = line.strip()
        if stripped.startswith("#") or (":" in stripped and _is_unknown_key(line, number)):
            yield number, stripped


def _is_unknown_key(line: str, number: int) -> bool:
    if "|" in line:
        return False
    found, fault = classify(line, number)
    if fault is not None or not isinstance(found, Directive):
        return False
    return with_known_key(found, Report()) is None
