"""Time signatures, and metres for bars that have none."""

import re
from fractions import Fraction
from typing import Final

from lxml.etree import _Element as Element

from riffract.formats.musicxml.numbers import whole_number
from riffract.formats.musicxml.report import Report, Spot
from riffract.music import Metre
from riffract.music.metre import LARGEST_DENOMINATOR, LARGEST_GROUP_SUM

_BEATS: Final = re.compile(r"[0-9]{1,3}(?:\s*\+\s*[0-9]{1,3})*")
_UNITS: Final = (1, 2, 4, 8, 16, 32, LARGEST_DENOMINATOR)


def metre_of(time: Element, report: Report, spot: Spot) -> Metre | None:
    """Read a time signature; `None` if bars are to be measured by their notes instead.

    Beats such as `3+3+2` are the grouping. Several signatures in a row, as 3/8 + 2/4, are one metre
    in their finest unit: 7/8 = 3+4.
    """
    if time.find("interchangeable") is not None:
        report.warn(
            "interchangeable",
            "of two interchangeable time signatures the first is read",
            "write the other one where it takes over",
            spot,
        )
    pairs = [_pair(beats) for beats in time.iterfind("beats")]
    metre = _joined([pair for pair in pairs if pair is not None])
    if metre is None or None in pairs:
        shown = " + ".join(_shown(beats) for beats in time.iterfind("beats")) or "none"
        report.warn(
            "time",
            f"the time signature {shown[:40]} is not understood; each bar gets the metre that its "
            "notes fill",
            "write beats such as 11 or 3+3+3+2, and a beat type of 1, 2, 4, 8, 16, 32 or 64",
            spot,
        )
        return None
    return metre


def _shown(beats: Element) -> str:
    return f"{(beats.text or '').strip()}/{_beat_type_text(beats)}"


def _beat_type_text(beats: Element) -> str:
    follower = beats.getnext()
    if follower is None or follower.tag != "beat-type":
        return ""
    return (follower.text or "").strip()


def _pair(beats: Element) -> tuple[tuple[int, ...], int] | None:
    text = (beats.text or "").strip()
    unit = whole_number(_beat_type_text(beats), 1, LARGEST_DENOMINATOR)
    if not _BEATS.fullmatch(text) or unit not in _UNITS:
        return None
    groups = tuple(int(group) for group in text.split("+"))
    return (groups, unit) if min(groups) > 0 else None


def _joined(pairs: list[tuple[tuple[int, ...], int]]) -> Metre | None:
    if not pairs:
        return None
    unit = max(unit for _, unit in pairs)
    groups = tuple(group * (unit // own) for own_groups, own in pairs for group in own_groups)
    return Metre(groups=groups, unit=unit) if sum(groups) <= LARGEST_GROUP_SUM else None


def metre_that_fills(length_quarters: Fraction) -> Metre | None:
    """Give the metre of a bar that is as long as its notes; `None` if none is.

    The unit is a quarter if that goes up, else the coarsest finer one that does.

    >>> metre_that_fills(Fraction(7, 2)).label(), metre_that_fills(Fraction(1, 3))
    ('7/8', None)
    """
    for unit in _UNITS[_UNITS.index(4) :]:
        units = length_quarters * unit / 4
        if units.denominator == 1 and 1 <= units <= LARGEST_GROUP_SUM:
            return Metre(groups=(int(units),), unit=unit)
    return None
