"""A click that counts the metre by its groups, and counts in before the start."""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum
from fractions import Fraction
from itertools import accumulate
from typing import Final

import numpy as np

from riffract.music import Passage, Span, TimeMap
from riffract.music.passage import Bar
from riffract.sound.sound import RATE_HZ, Samples, Sound, gain_of

CLICK_SECONDS: Final = 0.06
CLICK_RISE_SECONDS: Final = 0.003
CLICK_DECAY_SECONDS: Final = 0.014
"""Ours: a short ping that rises for 3 ms instead of starting with a snap, and is over before the
next one, so that it is plainly heard and never startles."""

FASTEST_UNIT_SECONDS: Final = 0.14
"""Ours: units that follow each other more quickly are left out, since seven a second are a rattle
that nobody counts; groups that do are left out as well."""


class Weight(Enum):
    """How strong a click is: its pitch in hertz and its level in dB below full scale."""

    BAR = (1_760.0, -8.0)
    GROUP = (1_320.0, -12.0)
    UNIT = (880.0, -17.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Click:
    """One click.

    Attributes:
        quarters: where it falls; below the start of the span in a count-in.
        seconds: when, from the start of the track.
        weight: how strong it is.
    """

    quarters: Fraction
    seconds: float
    weight: Weight


def count_in_seconds(
    passage: Passage,
    time_map: TimeMap,
    *,
    bars: int,
    span: Span | None = None,
    speed: float = 1.0,
) -> float:
    """Tell how long a count-in lasts: so much later than the click track does the span start.

    So many full bars of the first bar's metre are counted at its mean tempo. Where the span starts
    within a bar, as after a pick-up's missing beats, the part of that bar before it is counted too.

    Raises:
        ValueError: if `bars` is negative.
    """
    if bars < 0:
        raise ValueError(f"a count-in has 0 bars or more, got {bars}")
    played = passage.span if span is None else span
    bar = passage.bar_at(played.start_quarters)
    return float(_lead_quarters(bar, played, bars)) * _seconds_a_quarter(bar, time_map) / speed


def clicks_of(
    passage: Passage,
    time_map: TimeMap,
    *,
    span: Span | None = None,
    speed: float = 1.0,
    count_in_bars: int = 0,
    goes_on: bool = True,
) -> tuple[Click, ...]:
    """List the clicks of a span, by time.

    The start of a bar is strong and the start of each group of its metre weaker; other units are
    weak, and left out where they follow each other faster than `FASTEST_UNIT_SECONDS`. A bar whose
    groups nobody stated is counted by its beats: 6/8 in threes, 4/4 in quarters. A free bar has
    no beat, and only its start is marked.

    Args:
        passage: whose bars are counted.
        time_map: when they sound.
        span: what is counted; `None` for the whole.
        speed: of playing.
        count_in_bars: how many bars are counted before it.
        goes_on: whether the click goes on when the span starts.
    """
    played = passage.span if span is None else span
    lead = count_in_seconds(passage, time_map, bars=count_in_bars, span=span, speed=speed)
    first = passage.bar_at(played.start_quarters)
    a_quarter = _seconds_a_quarter(first, time_map) / speed
    counted = [
        Click(quarters=at, seconds=lead + float(at - played.start_quarters) * a_quarter, weight=w)
        for at, w in _count_in(first, played, count_in_bars, a_quarter)
    ]
    if goes_on:
        start = time_map.seconds_at(played.start_quarters)
        counted += [
            Click(
                quarters=at, seconds=lead + (time_map.seconds_at(at) - start) / speed, weight=weight
            )
            for bar in passage.bars
            for at, weight in _units(bar, _seconds_a_quarter(bar, time_map) / speed)
            if played.holds(at)
        ]
    return tuple(counted)


def click_track(
    passage: Passage,
    time_map: TimeMap,
    *,
    span: Span | None = None,
    speed: float = 1.0,
    count_in_bars: int = 0,
    goes_on: bool = True,
    rate_hz: int = RATE_HZ,
) -> Sound:
    """Sound the clicks of a span, a count-in ahead of it.

    Args:
        passage: whose bars are counted.
        time_map: when they sound.
        span: what is counted; `None` for the whole.
        speed: of playing.
        count_in_bars: how many bars are counted before it.
        goes_on: whether the click goes on when the span starts.
        rate_hz: samples a second.

    Returns:
        As long as count-in and span, to the sample; the span starts `count_in_seconds` after its
        beginning. At a fixed level, below what music is brought to.

    Raises:
        ValueError: if the count-in has less than 0 bars.
    """
    played = passage.span if span is None else span
    lead = count_in_seconds(passage, time_map, bars=count_in_bars, span=span, speed=speed)
    seconds = time_map.seconds_at(played.end_quarters) - time_map.seconds_at(played.start_quarters)
    # As a rendering is counted, so that a track laid under it ends with it.
    length = round(lead * rate_hz) + round(seconds / speed * rate_hz)
    track = np.zeros(length, dtype=np.float32)
    pings = {weight: _ping(weight, rate_hz) for weight in Weight}
    for click in clicks_of(
        passage, time_map, span=span, speed=speed, count_in_bars=count_in_bars, goes_on=goes_on
    ):
        at = round(click.seconds * rate_hz)
        room = track[at : at + len(pings[click.weight])]
        room += pings[click.weight][: len(room)]
    return Sound(samples=np.stack([track, track]), rate_hz=rate_hz)


def _lead_quarters(bar: Bar, played: Span, bars: int) -> Fraction:
    """Tell how much is counted: full bars, and what of a bar lies before the start."""
    if not bars:
        return Fraction(0)
    within = played.start_quarters - bar.start_quarters + _missing(bar)
    return bars * _full_quarters(bar) + within


def _count_in(
    bar: Bar, played: Span, bars: int, seconds_a_quarter: float
) -> Iterator[tuple[Fraction, Weight]]:
    lead, full = _lead_quarters(bar, played, bars), _full_quarters(bar)
    pattern = _pattern(bar, seconds_a_quarter)
    for number in range(bars + 1):
        for place, weight in pattern:
            since = number * full + place
            if since < lead:
                yield played.start_quarters - lead + since, weight


def _units(bar: Bar, seconds_a_quarter: float) -> Iterator[tuple[Fraction, Weight]]:
    """List the clicks of one bar: those of its metre from where a pick-up comes in."""
    missing = _missing(bar)
    for place, weight in _pattern(bar, seconds_a_quarter):
        if missing <= place < missing + bar.length_quarters:
            yield bar.start_quarters + place - missing, weight


def _pattern(bar: Bar, seconds_a_quarter: float) -> list[tuple[Fraction, Weight]]:
    """Give places within a full bar and their weights, as dense as can be counted."""
    unit, groups = bar.metre.unit_quarters, bar.metre.beats
    if bar.is_free:
        return [(Fraction(0), Weight.BAR)]
    starts = [Fraction(0), *accumulate(size * unit for size in groups[:-1])]
    units = [step * unit for step in range(sum(groups))]
    is_grouped = any(size > 1 for size in groups)
    every = float(unit) * seconds_a_quarter
    if every < FASTEST_UNIT_SECONDS:
        units = starts if is_grouped and every * min(groups) >= FASTEST_UNIT_SECONDS else []
    return [(Fraction(0), Weight.BAR)] + [
        (at, Weight.GROUP if is_grouped and at in starts else Weight.UNIT) for at in units if at
    ]


def _missing(bar: Bar) -> Fraction:
    """Tell how much of a full bar a pick-up leaves out at its start."""
    if bar.number != 1 or bar.is_free:
        return Fraction(0)
    return max(bar.metre.length_quarters - bar.length_quarters, Fraction(0))


def _full_quarters(bar: Bar) -> Fraction:
    return bar.length_quarters if bar.is_free else bar.metre.length_quarters


def _seconds_a_quarter(bar: Bar, time_map: TimeMap) -> float:
    seconds = time_map.seconds_at(bar.span.end_quarters) - time_map.seconds_at(bar.start_quarters)
    return seconds / float(bar.length_quarters)


def _ping(weight: Weight, rate_hz: int) -> Samples:
    hz, level_db = weight.value
    seconds = np.arange(int(CLICK_SECONDS * rate_hz)) / rate_hz
    rise = 0.5 - 0.5 * np.cos(np.pi * np.clip(seconds / CLICK_RISE_SECONDS, 0.0, 1.0))
    fall = np.exp(-np.maximum(seconds - CLICK_RISE_SECONDS, 0.0) / CLICK_DECAY_SECONDS)
    last = np.clip((CLICK_SECONDS - seconds) / 0.005, 0.0, 1.0)
    ping = gain_of(level_db) * rise * fall * last * np.sin(2.0 * np.pi * hz * seconds)
    return np.asarray(ping, dtype=np.float32)
