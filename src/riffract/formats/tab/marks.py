"""Metres and tempos as text: `11/8 = 3+3+3+2`, `q. = 88`."""

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from riffract.formats.tab.faults import Fault, shortened
from riffract.formats.tab.values import read_value
from riffract.music import Metre
from riffract.music.metre import LARGEST_GROUP_SUM

SLOWEST, FASTEST = 5, 1000
"""In quarters a minute, as `TempoMark` allows."""

_METRE = re.compile(r"([0-9]{1,4})\s?/\s?([0-9]{1,4})(?:\s?=\s?([0-9+ ]{1,200}))?")
_SUM_AS_NUMERATOR = re.compile(r"([0-9]{1,2}(?:\+[0-9]{1,2})+)\s?/\s?([0-9]{1,2})")
_TEMPO = re.compile(r"([^=\s]{1,20})\s?=\s?([0-9]{1,4}(?:\.[0-9]{1,20})?)")
_PLAIN_TEMPO = re.compile(r"(?:=\s?)?([0-9]{2,3}(?:\.[0-9]+)?)\s?(?:bpm)?", re.IGNORECASE)
_RAMP = re.compile(
    r"(?P<tempo>.*?)\s?(?:->|(?:rit|rall|accel|ritardando|rallentando|accelerando)\.?)",
    re.IGNORECASE,
)
_UNITS: Final = (1, 2, 4, 8, 16, 32, 64)
_METRE_HOW: Final = "write it like `7/8` or `7/8 = 2+2+3`"
_TEMPO_HOW: Final = "write it like `q = 132`, `q. = 88` or `e = 200`"


def read_metre(text: str) -> Metre | Fault:
    """Read a metre with its grouping.

    >>> read_metre("11/8 = 3+3+3+2")
    Metre(groups=(3, 3, 3, 2), unit=8)
    """
    match = _METRE.fullmatch(text)
    if match is None:
        return Fault(what=f"`{shortened(text)}` is not a metre", mend=_mend_metre(text))
    units, unit = int(match[1]), int(match[2])
    if unit not in _UNITS:
        mend = "the lower number is 1, 2, 4, 8, 16, 32 or 64"
        return Fault(what=f"a metre cannot count in units of 1/{unit}", mend=mend)
    if not 1 <= units <= LARGEST_GROUP_SUM:
        mend = f"the upper number is 1 to {LARGEST_GROUP_SUM}"
        return Fault(what=f"a bar cannot hold {units} units", mend=mend)
    if match[3] is None:
        return Metre(groups=(units,), unit=unit)
    return _grouped(units, unit, match[3])


@dataclass(frozen=True, slots=True)
class Tempo:
    """A tempo as written.

    Attributes:
        quarters_per_minute: exact; `None` if it starts from the tempo in force.
        is_ramp: it changes steadily up to the next one.
    """

    quarters_per_minute: Fraction | None
    is_ramp: bool = False


def read_tempo_mark(text: str) -> Tempo | Fault:
    """Read a tempo that may lead to the next one: `q = 90 ->`, `rit.`, `q = 90 accel.`.

    >>> read_tempo_mark("q = 90 ->"), read_tempo_mark("rit.")
    (Tempo(quarters_per_minute=Fraction(90, 1), is_ramp=True), \
Tempo(quarters_per_minute=None, is_ramp=True))
    """
    ramp = _RAMP.fullmatch(text)
    if ramp is not None and not ramp["tempo"]:
        return Tempo(None, is_ramp=True)
    tempo = read_tempo(text if ramp is None else ramp["tempo"])
    return tempo if isinstance(tempo, Fault) else Tempo(tempo, is_ramp=ramp is not None)


def read_tempo(text: str) -> Fraction | Fault:
    """Read a tempo in any unit.

    Returns:
        Quarter notes a minute, exact, or what is wrong.

    >>> read_tempo("q = 132"), read_tempo("q. = 88"), read_tempo("e = 200")
    (Fraction(132, 1), Fraction(132, 1), Fraction(100, 1))
    """
    match = _TEMPO.fullmatch(text)
    if match is None:
        plain = _PLAIN_TEMPO.fullmatch(text)
        mend = _TEMPO_HOW if plain is None else f"say which value beats: `q = {plain[1]}`"
        return Fault(what=f"`{shortened(text)}` is not a tempo", mend=mend)
    value = read_value(match[1])
    if isinstance(value, Fault):
        return Fault(what=value.what, mend=_TEMPO_HOW)
    tempo = value * Fraction(match[2])
    if not SLOWEST <= tempo <= FASTEST:
        mend = f"a tempo lies between {SLOWEST} and {FASTEST} quarters a minute"
        return Fault(what=f"{float(tempo):g} quarters a minute cannot be played", mend=mend)
    return tempo


def write_metre(metre: Metre, *, is_tight: bool = False) -> str:
    """Write a metre with its grouping; tight where columns count.

    >>> write_metre(Metre(groups=(2, 2, 3), unit=8), is_tight=True)
    '7/8=2+2+3'
    """
    text = metre.label_with_groups()
    return text.replace(" ", "") if is_tight else text


def write_tempo(
    quarters_per_minute: float, *, is_tight: bool = False, is_ramp: bool = False
) -> str:
    """Write a tempo in quarters, to the last digit that a float holds.

    >>> write_tempo(132.0, is_ramp=True), write_tempo(87.5, is_tight=True)
    ('q = 132 ->', 'q=87.5')
    """
    digits = f"{quarters_per_minute!r}".removesuffix(".0")
    text = f"q = {digits}{' ->' if is_ramp else ''}"
    return text.replace(" ", "") if is_tight else text


def _mend_metre(text: str) -> str:
    match = _SUM_AS_NUMERATOR.fullmatch(text)
    if match is None:
        return _METRE_HOW
    return (
        f"put the grouping behind: `{sum(map(int, match[1].split('+')))}/{match[2]} = {match[1]}`"
    )


def _grouped(units: int, unit: int, text: str) -> Metre | Fault:
    sizes = text.replace(" ", "").split("+")
    if not all(size.isdecimal() and len(size) <= 2 for size in sizes):
        return Fault(what=f"`{shortened(text)}` is not a grouping", mend=_METRE_HOW)
    groups = tuple(int(size) for size in sizes)
    found = sum(groups)
    if found != units:
        what = f"the groups {'+'.join(sizes)} make {found}, the metre {units}/{unit} has {units}"
        return Fault(what=what, mend=_mend_groups(groups, units, unit))
    if min(groups) < 1:
        return Fault(what="a group holds 1 unit or more, not 0", mend=_METRE_HOW)
    return Metre(groups=groups, unit=unit)


def _mend_groups(groups: tuple[int, ...], units: int, unit: int) -> str:
    missing = units - sum(groups)
    mended = f"{units}/{unit} = {'+'.join(map(str, (*groups, missing)))}"
    right_sum = f"{sum(groups)}/{unit}"
    if missing > 0:
        return f"add the missing group, `{mended}`, or write {right_sum}"
    return f"write groups that add up to {units}, or write {right_sum}"
