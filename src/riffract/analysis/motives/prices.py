"""What it says, in bits, that two stretches of line agree.

Definition: a return is explained note by note from its source, turned, stretched and moved as the
transform has it. A step from one explained note to the next gains log2(k / q) bits: q is how often
such an interval comes anyway, k how often a return goes on in this way (see `MOVES`). An interval
that repeats the one before gains by how often that interval is repeated anyway, so that a run
says little. If the step also takes the time that the transform gives it, it gains
log2((1 - e + e r) / r), r being how often that time comes anyway; if not, it loses log2(e). A step
that leaves out notes, or puts some in, gains by how often the two pitches lie so far apart.

By this, the gain of a chain of steps is the log of a likelihood ratio, and chance gains s bits
from a given pair of notes on with probability 2^-s at most, however long it goes on (Ville's
inequality).

Source: log-odds scores with gap prices (Altschul, J. Mol. Biol. 219 (1991), 555-565, from memory);
steps that join or part notes as in Mongeau & Sankoff, Computers and the Humanities 24 (1990),
161-175, from memory.
"""

from dataclasses import dataclass
from math import log2
from typing import Final

import numpy as np

from riffract.analysis.reordering import Floats, Ids

MOVES: Final = {
    (1, 1): log2(0.85),
    (2, 2): log2(0.05),
    (1, 2): log2(0.03),
    (2, 1): log2(0.03),
    (1, 3): log2(0.01),
    (3, 1): log2(0.01),
}
"""How a return goes on: (notes further in the source, notes further in the return), log2 of how
often. One in twenty notes is changed, and fewer are put in or left out; the shares add up to less
than one, so no return is explained for nothing."""

OTHER_TIME_SHARE: Final = 0.25
"""How many steps of a return may take another time: one in four, since rhythm bends more easily
than pitch, and a return in quite another rhythm is still heard as one."""

TURNED_BITS: Final = {
    (False, False): 0.0,
    (True, False): 1.0,
    (False, True): 1.0,
    (True, True): 2.0,
}
"""Price of (inversion, retrograde): a return that is only moved is the plainest one."""

TURNS: Final = ((False, False), (False, True), (True, False), (True, True))
"""(inversion, retrograde): moved only, backwards, upside down, both."""

DOUBLED_BITS, SCALED_BITS = 2.0, 4.0
"""Price of twice or half the values, and of any other ratio."""

ANY_INTERVAL_SHARE: Final = 0.1
"""How much of the weight of intervals goes to those that the line does not have."""

MOST_TELLING_BITS: Final = 4.5
"""No interval says more: that two rare leaps agree is no more telling than that a line has them."""

_WIDEST: Final = 127
"""The widest interval there is: pitches go from 0 to 127."""
_NEAR_SEMITONES: Final = 4.0
"""Of the intervals that a line does not have, one that is wider by a major third is half as likely:
lines go in steps more than in leaps."""
_REPEATS_ASSUMED: Final = 1.0
"""Intervals assumed to have followed an equal one by chance alone, beside those counted: one, so
that a single repeat in a short line is not taken for its habit."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StepBits:
    """Gains of single steps of one line; intervals are looked up by `interval + 127`.

    Attributes:
        of_interval: of an interval between neighbours. Shape: (255,).
        of_repeat: of one that repeats the interval before it. Shape: (255,).
        of_leap: of an interval between notes that lie two or three apart. Shape: (255,).
        of_value: of the time from each note to the next, if it agrees. Shape: (events,).
    """

    of_interval: Floats
    of_repeat: Floats
    of_leap: Floats
    of_value: Floats

    def of_steps(self, heights: Ids) -> Floats:
        """Give the gain of each step between neighbours. Shape: (…, events) to (…, events - 1)."""
        steps = np.clip(np.diff(heights, axis=-1), -_WIDEST, _WIDEST)
        repeats = np.zeros(steps.shape, dtype=np.bool_)
        repeats[..., 1:] = steps[..., 1:] == steps[..., :-1]
        rows = steps + _WIDEST
        return np.asarray(np.where(repeats, self.of_repeat[rows], self.of_interval[rows]))

    def of_leaps(self, intervals: Ids) -> Floats:
        """Give the gain of intervals over a note or two."""
        return np.asarray(self.of_leap[_rows(intervals)])


def step_bits(heights: Ids, values: Floats, segments: Ids) -> StepBits:
    """Measure how telling each step of a line is.

    Args:
        heights: pitches of the line. Shape: (events,).
        values: time from each note to the next. Shape: (events,).
        segments: numbers of stretches without a gap. Shape: (events,).
    """
    near = _intervals(heights, segments, 1)
    leaps = np.concatenate([_intervals(heights, segments, apart) for apart in (2, 3)])
    shares = _shares(near)
    goes_on = (segments[2:] == segments[:-2]) if len(heights) > 2 else np.zeros(0, dtype=np.bool_)
    steps = np.diff(heights)
    repeated = steps[1:][goes_on & (steps[1:] == steps[:-1])] if len(steps) > 1 else steps[:0]
    followed = np.bincount(_rows(steps[:-1][goes_on]), minlength=2 * _WIDEST + 1)
    again = np.bincount(_rows(repeated), minlength=2 * _WIDEST + 1)
    repeats = np.maximum(
        shares, (again + _REPEATS_ASSUMED * shares) / (followed + _REPEATS_ASSUMED)
    )
    return StepBits(
        of_interval=_bits(shares),
        of_repeat=_bits(repeats),
        of_leap=_bits(_shares(leaps)),
        of_value=_value_bits(values),
    )


def scale_price(log2_scale: Floats) -> Floats:
    """Give the price of stretched or squeezed times, by the log2 of the scale."""
    size = np.abs(log2_scale)
    return np.where(size < 1e-6, 0.0, np.where(np.abs(size - 1) < 1e-6, DOUBLED_BITS, SCALED_BITS))


def _intervals(heights: Ids, segments: Ids, apart: int) -> Ids:
    together = segments[apart:] == segments[:-apart]
    return np.asarray((heights[apart:] - heights[:-apart])[together])


def _rows(intervals: Ids) -> Ids:
    return np.clip(intervals, -_WIDEST, _WIDEST) + _WIDEST


def _bits(shares: Floats) -> Floats:
    return np.minimum(-np.log2(shares), MOST_TELLING_BITS)


def _shares(intervals: Ids) -> Floats:
    """Share of each interval; those that do not come have a little as well, near ones more."""
    anyhow = 2.0 ** (-np.abs(np.arange(-_WIDEST, _WIDEST + 1)) / _NEAR_SEMITONES)
    anyhow /= anyhow.sum()
    if not len(intervals):
        return np.asarray(anyhow)
    found = np.bincount(_rows(intervals), minlength=2 * _WIDEST + 1) / len(intervals)
    return np.asarray((1 - ANY_INTERVAL_SHARE) * found + ANY_INTERVAL_SHARE * anyhow)


def _value_bits(values: Floats) -> Floats:
    """Gain of each time that agrees; equal times throughout gain nothing."""
    if not len(values):
        return values
    _, kind, count = np.unique(np.round(values, 6), return_inverse=True, return_counts=True)
    share = (count / len(values))[kind]
    kept = 1 - OTHER_TIME_SHARE + OTHER_TIME_SHARE * share
    return np.asarray(np.log2(kept / share))
