"""What the lines between the systems are: extents, counts, names of sections, other text."""

import re
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

from riffract.formats.pasted.cleaning import Line
from riffract.formats.pasted.extents import Extent, read_extents
from riffract.formats.pasted.report import Place, Report, quoted
from riffract.formats.pasted.rows import string_row
from riffract.formats.pasted.systems import System

_IN_BRACKETS = re.compile(r"\s*\[\s*([^\[\]|]{1,40}?)\s*\][\s:]*")
_SECTION_WORD = (
    r"(?:pre[\s-]?|post[\s-]?)?(?:intro|verse|chorus|bridge|solo|outro|riff|interlude|break|coda|lead"
    r"|refrain|hook|theme|part|section|middle|ending|breakdown|fill|lick)(?:duction)?s?"
)
_NAMED_SECTION = re.compile(
    rf"\s*((?:(?:main|final|last|first|second|guitar)\s)?{_SECTION_WORD}(?:\s?[A-Z0-9]{{1,3}})?)\s?[:.]?\s*",
    re.IGNORECASE,
)
_COUNT_WORDS = (
    r"[\[(]?\s?(?:play(?:ed)?|repeat)?\s?(?:x\s?([0-9]{1,4})|([0-9]{1,4})\s?(?:x|times))\s?[\])]?"
)
_COUNT = re.compile(_COUNT_WORDS, re.IGNORECASE)
_COUNT_BEHIND = re.compile(rf"[\s,]{{1,3}}{_COUNT_WORDS}\s?\W?$", re.IGNORECASE)
_COUNT_INSIDE = re.compile(rf"[\s,]{{1,3}}{_COUNT_WORDS}(?=\s?\])", re.IGNORECASE)
_RULE = re.compile(r"[-=_*~#+.|\s/\\]*")
_CHORD = (
    r"\(?(?:[A-H][#b♯♭]?(?:maj|min|dim|aug|sus|add|omit|no|m|M|[-+°ø]|[#b]?[0-9]{1,2}|\([#b0-9]+\))*"
    r"(?:/[A-H][#b♯♭]?)?|N\.?C\.?)\)?"
)
_CHORDS = re.compile(rf"\s*{_CHORD}(?:[\s|]+{_CHORD})*[\s|]*")
_TRADE_WORD = re.compile(
    r"hammer|pull|slide|bend|bent|release|vibrato|mute|dead|ghost|harmonic|trill|tap|let ring"
    r"|repeat|slap|pop|bar\b|tie|pick|strum|accent",
    re.IGNORECASE,
)
_LEGEND = re.compile(r"[\s|*]*(?:['\"(\[]?\S{1,6}['\")\]]?)(?:\s?[=:]|\s-|\s\s|\s)")
_LEGEND_TITLE = re.compile(
    r"\W*(?:tab(?:lature)?\s)?(?:legend|key|symbols|notation)\W*", re.IGNORECASE
)
_LETTERS: Final = frozenset(
    {
        *("h", "p", "b", "r", "s", "t", "v", "w", "x", "o", "d", "u"),
        *("hp", "ho", "po", "sl", "br", "rb", "pb", "tr", "tp", "gh", "pm", "nh", "ah", "ph"),
        *("p.m", "p.m.", "n.h", "n.h.", "a.h", "a.h.", "p.h", "p.h."),
    }
)
"""What is said to mean something in legends; a line that begins with a word says more."""
_LONGEST_LEGEND: Final = 100


@dataclass(slots=True)
class Around:
    """What stands around the systems, by index of the system.

    Attributes:
        extents: rows above and below a system.
        counts: how often a system is said to be played.
        sections: names of what begins with a system.
        section_counts: how often such a section is said to be played, with its place.
    """

    extents: dict[int, list[Extent]] = field(default_factory=dict)
    counts: dict[int, int] = field(default_factory=dict)
    sections: dict[int, str] = field(default_factory=dict)
    section_counts: dict[int, tuple[int, Place]] = field(default_factory=dict)


def read_around(
    lines: Sequence[Line], systems: Sequence[System], used: set[int], report: Report
) -> Around:
    """Sort all lines that are no rows of strings; what has no use is told.

    Args:
        lines: the whole text.
        systems: in order.
        used: numbers of lines that have said something already.
        report: where the rest is told.
    """
    around = Around()
    rows = {number for s in systems for row in s.rows for number in (row.line, row.rest_line)}
    neighbours = _neighbours(lines, systems, rows)
    firsts = [system.first_line for system in systems]
    for line in lines:
        if line.number in rows or line.is_blank or line.number in used:
            continue
        beside = neighbours.get(line.number)
        extents = read_extents(line) if beside is not None else []
        count = count_in(line.text) if beside is not None else 0
        section, times = section_name(line.text)
        following = bisect_left(firsts, line.number)
        if extents and beside is not None:
            around.extents.setdefault(beside, []).extend(extents)
        elif count and beside is not None:
            around.counts[beside] = count
        elif section and following < len(systems):
            around.sections[following] = section
            if times:
                place = Place(line.number, line.first_column)
                around.section_counts[following] = (times, place)
        elif not is_quiet(line.text) and string_row(line) is None:
            _report_text(line, report)
    return around


def _neighbours(lines: Sequence[Line], systems: Sequence[System], rows: set[int]) -> dict[int, int]:
    """Tell for lines that touch a system which one it is; the one below comes first."""
    beside: dict[int, int] = {}
    taken = {line.number for line in lines if line.is_blank} | rows
    for index, system in enumerate(systems):
        number = system.last_line + 1
        while number not in taken and number <= len(lines):
            beside[number] = index
            number += 1
    for index, system in enumerate(systems):
        number = system.first_line - 1
        while number not in taken and number >= 1:
            beside[number] = index
            number -= 1
    return beside


def count_in(text: str) -> int:
    """Read `x4`, `(3x)`, `play 2 times`; 0 if the text says no such thing.

    >>> count_in(" (x4)"), count_in("repeat 3 times"), count_in("4 bars")
    (4, 3, 0)
    """
    match = _COUNT.fullmatch(text.strip())
    return int(match[1] or match[2]) if match else 0


def section_name(text: str) -> tuple[str, int]:
    """Read `[Verse 2]` or `Intro x2:`, and how often it is played; empty if it is no such name.

    >>> section_name("[Main riff]"), section_name("Chorus 2 (play 4 times):")
    (('Main riff', 0), ('Chorus 2', 4))
    >>> section_name("Intro is played once")
    ('', 0)
    """
    if len(text) > _LONGEST_LEGEND:
        return "", 0
    times = 0
    plain = text
    for pattern in (_COUNT_INSIDE, _COUNT_BEHIND):
        count = pattern.search(plain)
        if count is not None:
            times = int(count[1] or count[2])
            plain = plain[: count.start()] + plain[count.end() :]
            break
    match = _IN_BRACKETS.fullmatch(plain) or _NAMED_SECTION.fullmatch(plain)
    name = " ".join(match[1].split()) if match else ""
    if not any(sign.isalpha() for sign in name) or _CHORDS.fullmatch(name):
        return "", 0
    return name, times


def is_quiet(text: str) -> bool:
    """Say whether a line may be passed over: a legend of signs, a ruled line.

    >>> is_quiet("h = hammer on"), is_quiet("=====" ), is_quiet("play it loud")
    (True, True, False)
    """
    if _RULE.fullmatch(text) or _LEGEND_TITLE.fullmatch(text):
        return True
    is_short = len(text) <= _LONGEST_LEGEND
    return is_short and bool(_LEGEND.match(text)) and _says_what_a_sign_means(text)


def _says_what_a_sign_means(text: str) -> bool:
    head = text.strip(" |*").split(maxsplit=1)[0].strip("'\"()[]=:-").lower()
    is_sign = head in _LETTERS or not any(sign.isalpha() for sign in head) or "=" in text
    return is_sign and _TRADE_WORD.search(text) is not None


def _report_text(line: Line, report: Report) -> None:
    place = Place(line.number, line.first_column)
    if len(line.text) <= _LONGEST_LEGEND * 2 and _CHORDS.fullmatch(line.text):
        report.warn(
            "chord names",
            f"names of chords are not used: {quoted(line.text)}",
            "nothing, if all that is played stands in the rows",
            place,
        )
        return
    report.warn(
        "text",
        f"text is not used: {quoted(line.text)}",
        "nothing, if it says no more than the rows; time can be written in a `time` row",
        place,
    )
