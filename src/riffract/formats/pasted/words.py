"""What the words around a tab say about tuning, capo, metre and tempo."""

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Final

from riffract.formats.pasted.cleaning import Line
from riffract.formats.pasted.report import NOWHERE, Place
from riffract.music import Metre
from riffract.music.metre import LARGEST_GROUP_SUM
from riffract.music.tuning import FEWEST_STRINGS, MOST_STRINGS

LONGEST_LINE: Final = 400
_NOTE = "[A-Ha-h][#b♯♭]?"
_STEP_WORDS: Final = {
    "half": 1, "1/2": 1, "½": 1, "semitone": 1,
    "whole": 2, "full": 2, "one": 2, "a": 2, "1": 2,
    "1 1/2": 3, "1½": 3, "one and a half": 3,
    "two": 4, "2": 4,
    "2 1/2": 5, "2½": 5,
    "three": 6, "3": 6,
}  # fmt: skip
_AMOUNT = "(?:one and a half|1 1/2|2 1/2|1½|2½|1/2|½|half|whole|full|one|two|three|[123])"
_NAMED = re.compile(
    r"\btun(?:ing|ed|e)\b[^A-Za-z0-9]{0,4}(?:(?:is|to|in|guitar)\b\W{0,3}){0,2}", re.I
)
_NAMES = re.compile(
    rf"\W{{0,3}}((?:{_NOTE}(?:-?[0-9])?(?:[\s,/-]{{1,3}}|(?=\W|$))){{{FEWEST_STRINGS},{MOST_STRINGS}}})"
)
_JOINED_NAMES = re.compile(
    rf"\W{{0,3}}((?:{_NOTE}){{{FEWEST_STRINGS},{MOST_STRINGS}}})(?![A-Za-z])"
)
_ONE_NAME = re.compile(f"({_NOTE})(-?[0-9])?")
_DROP = re.compile(
    r"\bdrop(?:ped|-)?[\s-]{0,2}([A-H](?:[#b♯♭]|[\s-]?(?:flat|sharp)\b)?)(?![a-z])", re.I
)
_STANDARD = re.compile(r"(?<![A-Za-z])([A-H](?:[#b♯♭]|[\s-]?(?:flat|sharp))?)[\s-]standard\b", re.I)
_PLAIN_STANDARD = re.compile(r"\b(?:standard tuning|tuning\W{1,3}standard|regular tuning)\b", re.I)
_STEPS_DOWN = re.compile(rf"({_AMOUNT})(?:\s+a)?[\s-]steps?\s+(?:down|lower)|"
                         rf"\bdown\s+(?:a\s+|by\s+)?({_AMOUNT})(?:\s+a)?[\s-]steps?\b|"
                         r"\b(semitone)\s+(?:down|lower)", re.I)  # fmt: skip
_CAPO = re.compile(
    r"\bcapo\b[^0-9A-Za-z]{0,4}(?:(?:on|at|in|the|fret)\b\W{0,3}){0,4}([0-9]{1,2})", re.I
)
_NO_CAPO = re.compile(r"\bno capo\b|\bcapo\W{1,3}(?:no|none|0)\b", re.I)
_NUMBER = r"([0-9]{1,4}(?:\.[0-9]{1,3})?)"
_TEMPO = re.compile(
    rf"\b(?:tempo|bpm)\b\W{{0,4}}(?:(?:q|quarter)\s?=\s?)?{_NUMBER}\b|"
    rf"\b{_NUMBER}\s?bpm\b|(?:♩|\bq|\bquarter)\s?=\s?{_NUMBER}\b",
    re.I,
)
_METRE = re.compile(
    r"(?<![\w/.,+-])([0-9]{1,2}(?:\+[0-9]{1,2}){0,15})\s?/\s?(2|4|8|16|32)(?![\w/]|[.,][0-9])"
    r"(?!\s?(?:step|tone|bend|note|of|st|nd|rd|th)\w*\b)"
    r"(?:\s?[=(:,]\s?([0-9]{1,2}(?:\+[0-9]{1,2}){1,15})(?![0-9]))?",
    re.I,
)
_LONGEST_NOTICE: Final = 48
"""A longer line says more than what is looked for, and is told as text that is not used."""
HIGHEST_CAPO: Final = 12
SLOWEST, FASTEST = 5, 1000


@dataclass(slots=True)
class Words:
    """What was found in the words; each thing where it was said first.

    Attributes:
        names: names of open strings as listed, with octave or `None`.
        dropped: the name after `drop`.
        standard: the name before `standard`; `E` for standard tuning.
        semitones_down: how far all strings are tuned down.
        tuning_text, tuning_place: what the tuning was read from.
        capo: the fret it stops, 0 without.
        metre: `None` if none is given; of several the first.
        quarters_per_minute: 0 if no tempo is given.
        used: lines that said something.
    """

    names: tuple[tuple[str, int | None], ...] = ()
    dropped: str = ""
    standard: str = ""
    semitones_down: int = 0
    tuning_text: str = ""
    tuning_place: Place = NOWHERE
    capo: int = 0
    metre: Metre | None = None
    quarters_per_minute: float = 0.0
    used: set[int] = field(default_factory=set)

    @property
    def tells_tuning(self) -> bool:
        """Whether anything was said about how the strings are tuned."""
        return bool(self.names or self.dropped or self.standard or self.semitones_down)


def read_words(lines: Iterable[Line]) -> Words:
    """Look for tuning, capo, metre and tempo in the lines around the tab.

    >>> words = read_words([Line(1, "Drop D, half step down"), Line(2, "Capo: 2nd fret, 96 bpm")])
    >>> words.dropped, words.semitones_down, words.capo, words.quarters_per_minute
    ('D', 1, 2, 96.0)
    >>> read_words([Line(1, "main riff, 7/8 (2+2+3)")]).metre.label_with_groups()
    '7/8 = 2+2+3'
    """
    words = Words()
    for line in lines:
        if len(line.text) > LONGEST_LINE or line.is_blank:
            continue
        found = [
            look(line.text, words)
            for look in (_look_for_tuning, _look_for_capo, _look_for_metre, _look_for_tempo)
        ]
        if found[0] and not words.tuning_text:
            words.tuning_text = line.text.strip()
            words.tuning_place = Place(line.number, line.first_column)
        if any(found) and len(line.text.strip()) <= _LONGEST_NOTICE:
            words.used.add(line.number)
    return words


def _look_for_tuning(text: str, words: Words) -> bool:
    names = _named_strings(text)
    dropped, standard, down = _DROP.search(text), _STANDARD.search(text), _STEPS_DOWN.search(text)
    if names and not words.names:
        words.names = names
    if dropped and not words.dropped:
        words.dropped = _plain_name(dropped[1])
    if standard and not words.standard:
        words.standard = _plain_name(standard[1])
    if _PLAIN_STANDARD.search(text) and not words.standard:
        words.standard = "E"
    if down and not words.semitones_down:
        amount = " ".join((down[1] or down[2] or down[3]).lower().split())
        words.semitones_down = _STEP_WORDS[amount]
    return bool(names or dropped or standard or down or _PLAIN_STANDARD.search(text))


def _named_strings(text: str) -> tuple[tuple[str, int | None], ...]:
    """Read `D A D G B E`, `DADGBE` or `D2 A2 …` behind the word tuning."""
    named = _NAMED.search(text)
    if named is None:
        return ()
    match = _NAMES.match(text, named.end()) or _JOINED_NAMES.match(text, named.end())
    if match is None:
        return ()
    found = _ONE_NAME.findall(match[1])
    return tuple((name, int(octave) if octave else None) for name, octave in found)


def _plain_name(name: str) -> str:
    lower = name.lower()
    accidental = "b" if lower.endswith(("flat", "b", "♭")) and len(name) > 1 else ""
    accidental = "#" if lower.endswith(("sharp", "#", "♯")) else accidental
    return name[0].upper() + accidental


def _look_for_capo(text: str, words: Words) -> bool:
    match = _CAPO.search(text)
    if match is None:
        return _NO_CAPO.search(text) is not None
    fret = int(match[1])
    if not words.capo and fret <= HIGHEST_CAPO:
        words.capo = fret
    return fret <= HIGHEST_CAPO


def _look_for_metre(text: str, words: Words) -> bool:
    """Read `7/8`, `7/8 (2+2+3)` or `2+2+3/8`; `1/4` is more likely a part of something."""
    match = _METRE.search(text)
    if match is None:
        return False
    groups = tuple(int(group) for group in match[1].split("+"))
    if min(groups) < 1 or not 2 <= sum(groups) <= LARGEST_GROUP_SUM:
        return False
    if match[3]:
        stated = tuple(int(group) for group in match[3].split("+"))
        groups = stated if len(groups) == 1 and sum(stated) == groups[0] else groups
    words.metre = words.metre or Metre(groups=groups, unit=int(match[2]))
    return True


def _look_for_tempo(text: str, words: Words) -> bool:
    match = _TEMPO.search(text)
    if match is None:
        return False
    tempo = Fraction(match[1] or match[2] or match[3])
    if not SLOWEST <= tempo <= FASTEST:
        return False
    words.quarters_per_minute = words.quarters_per_minute or float(tempo)
    return True
