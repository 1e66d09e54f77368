"""Bars as they are written: repeats and endings found again in a passage as it is played.

A passage holds its bars as played, and each says which written bar it is. Where the written bars
come back in an order that repeat signs and endings can say, and every time with the same music,
the passage can be written with signs. Everything else (da capo, a bar that changes, a note that
sounds on through a jump) is left written out: what is written must read as what was played.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

from riffract.formats.copies import comes_back_alike
from riffract.formats.first_copies import as_written
from riffract.music import Passage


@dataclass(frozen=True, slots=True, kw_only=True)
class RepeatSigns:
    """The signs on one written bar.

    Attributes:
        opens: a repeat opens in front of it.
        times: one more than how often the music goes back from behind it, so that without endings
            it is how often the stretch is played; 0 if no repeat closes there.
        endings: in which passes it is played, if it stands under an ending; else empty.
        ends_ending: its ending's bracket closes behind it.
    """

    opens: bool = False
    times: int = 0
    endings: tuple[int, ...] = ()
    ends_ending: bool = False


NO_SIGNS: Final = RepeatSigns()


@dataclass(frozen=True, slots=True, kw_only=True)
class Folded:
    """A passage with each written bar once, and the signs that play it out.

    Attributes:
        passage: its bars as written, its times counted from the first of them on.
        signs: one for each bar.
    """

    passage: Passage
    signs: tuple[RepeatSigns, ...]


def written_out(passage: Passage) -> Folded:
    """Take all bars as played, without signs."""
    return Folded(passage=passage, signs=(NO_SIGNS,) * len(passage.bars))


def fold(passage: Passage) -> Folded:
    """Find repeats and endings again; without any, the passage comes back as it is.

    >>> from fractions import Fraction
    >>> from riffract.music import (
    ...     Metre, NoteTableBuilder, TempoMark, Tuning, bars_in_row)
    >>> four = Metre(groups=(4,), unit=4)
    >>> played = Passage(
    ...     title="", tuning=Tuning(open_pitches=(28, 33, 38, 43)),
    ...     bars=bars_in_row((four, None, number) for number in (1, 2, 1, 3)),
    ...     tempos=(TempoMark(at_quarters=Fraction(0), quarters_per_minute=90.0),),
    ...     notes=NoteTableBuilder().build(),
    ... )
    >>> [(signs.opens, signs.times, signs.endings) for signs in fold(played).signs]
    [(True, 0, ()), (False, 2, (1,)), (False, 0, (2,))]
    """
    order = [bar.written_number for bar in passage.bars]
    if all(after > before for before, after in pairwise(order)):
        return written_out(passage)
    signs = _signs_of(order)
    if signs is None or not comes_back_alike(passage):
        return written_out(passage)
    return Folded(passage=as_written(passage), signs=tuple(signs))


def _signs_of(order: Sequence[int]) -> list[RepeatSigns] | None:
    """Say by which signs the written bars are played in this order; `None` if signs cannot."""
    signs = [NO_SIGNS] * len(set(order))
    if set(order) != set(range(order[0], order[0] + len(signs))):
        return None
    at, next_new = 0, order[0]
    while at < len(order):
        if order[at] != next_new:
            return None
        end = at + _run_length(order, at)
        if end == len(order):
            break
        # The music jumps behind this run, back to a bar within it, from where a repeat begins.
        start = order[end]
        if not order[at] <= start <= order[end - 1]:
            return None
        at += start - order[at]
        block = _block(order[at:], start)
        if block is None:
            return None
        played, bars = block
        for bar, sign in bars.items():
            signs[bar - order[0]] = sign
        at += played
        next_new = start + len(bars)
    return signs


def _run_length(order: Sequence[int], at: int) -> int:
    end = at + 1
    while end < len(order) and order[end] == order[end - 1] + 1:
        end += 1
    return end - at


def _block(order: Sequence[int], start: int) -> tuple[int, dict[int, RepeatSigns]] | None:
    """Read one repeated stretch, which begins the order.

    Returns:
        How many bars of the order it takes, and its signs by bar; `None` if it is none.
    """
    passes = _passes(order, start)
    first = passes[0]
    if all(one == first for one in passes[:-1]) and passes[-1][: len(first)] == first:
        last = start + len(first) - 1
        signs = dict.fromkeys(first, NO_SIGNS)
        signs[start] = RepeatSigns(opens=True)
        signs[last] = replace(signs[last], times=len(passes))
        return len(passes) * len(first), signs
    return _block_with_endings(passes, start)


def _passes(order: Sequence[int], start: int) -> list[list[int]]:
    """Split the order wherever it returns to the start; the last pass goes on to the end."""
    starts = [i for i, bar in enumerate(order) if bar == start]
    return [list(order[a:b]) for a, b in pairwise([*starts, len(order)])]


def _block_with_endings(
    passes: Sequence[Sequence[int]], start: int
) -> tuple[int, dict[int, RepeatSigns]] | None:
    shared = min(_run_length(one, 0) for one in passes[1:])
    head = list(range(start, start + shared))
    tails = [tuple(one[shared:]) for one in passes]
    if any(list(one[:shared]) != head for one in passes):
        return None
    signs = dict.fromkeys(head, NO_SIGNS)
    signs[start] = RepeatSigns(opens=True)
    next_bar = start + shared
    told: list[tuple[int, ...]] = []
    for tail in tails[:-1]:
        if tail in told:
            continue
        if tail != tuple(range(next_bar, next_bar + len(tail))) or not tail:
            return None
        told.append(tail)
        numbers = tuple(n for n, other in enumerate(tails[:-1], start=1) if other == tail)
        for bar in tail:
            signs[bar] = RepeatSigns(endings=numbers)
        signs[tail[-1]] = RepeatSigns(endings=numbers, times=len(numbers) + 1, ends_ending=True)
        next_bar += len(tail)
    if tails[-1][:1] != (next_bar,):
        return None
    signs[next_bar] = RepeatSigns(endings=(len(passes),), ends_ending=True)
    played = sum(len(one) for one in passes[:-1]) + shared + 1
    return played, signs
