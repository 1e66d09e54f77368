"""Each attack to the millisecond: what begins near where it is expected, under a steady hand."""

from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.sound.mono import Mono, cut_out, rms_of
from riffract.sound.sound import Reals, Samples

Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

WINDOW: Final = 256
HOP: Final = 32
"""11.6 ms and 1.5 ms: a pick's attack takes a few milliseconds."""

LAG: Final = 4
"""In hops, 6 ms: longer ones blur the beginning, shorter ones see only part of it."""

BAND_EDGES: Final = (0, 4, 8, 16, 32, 64, 110)
"""In bins of 86 Hz: octaves from 340 Hz to 9.5 kHz, and what lies below. A pick is heard first in
the middle ones; a driven amplifier fills the highest; hum and drums fill the lowest."""

BAND_WEIGHTS: Final = (1.0, 1.5, 1.5, 1.0, 1.0, 0.7)
"""A choice between voices: slow ones begin in the second and third band, the most driven ones show
it only in the last two. Even weights move no voice's median by more than 6 ms."""

REACH_SECONDS: Final = 0.12
"""How far from the expected moment an attack is looked for: four frames of the path and more."""

HAND_SECONDS: Final = (0.045, 0.025, 0.015)
"""How far a hand strays from its own pace, round after round: the path errs by two frames, a
player by 10 to 20 ms."""

FOOT_SHARE: Final = 0.3
"""Of the curve's height: where it rises through this, the attack begins, be it quick or slow."""

SLOWEST_RISE: Final = 14
"""In hops, 20 ms: what rises longer is not an attack, but two."""

HEARD_STRENGTH: Final = 0.25
"""Against the upper quartile of a passage's attacks: weaker ones follow from their neighbours."""

NEIGHBOURS: Final = 6
"""Attacks to each side that tell a hand's pace."""

EVENNESS: Final = 0.03
"""How much a hand keeps its tempo rather than its change of tempo, against one neighbour's word:
0.01 to 0.1 do equally well where it is even, and more loses it in a rubato of 15 %."""

LATE_SECONDS: Final = -0.0025
"""How long after the moment that a note reaches a tenth of its peak the curve rises through its
foot. Windows hear an attack before their middle does: by 4 ms with quick attacks; slow ones are
heard up to 15 ms late (docs/alignment.md)."""

BEFORE_HOPS: Final = (-45, -8)
"""From 65 to 12 ms before an attack: what begins there belongs to no attack, unless it is slow."""

SWELL_REACH_HOPS: Final = 25
"""36 ms: what begins earlier is another attack, or a grace."""

SWELL_CALM_HOPS: Final = (-45, -29)
"""From 65 to 42 ms before an attack: what the recording always murmurs."""

SWELL_SHARE: Final = 0.1
"""Of an attack's height, above the murmur, in the median of all attacks: a slow voice's beginning
reaches 0.1 to 0.35, chance less than 0.05."""

SWELL_GAP_HOPS: Final = 6
"""9 ms: a faint click and the swell after it are one attack."""

SWELL_SMOOTHING: Final = np.ones(3) / 3.0
"""Attacks are aligned no better than to a hop or two."""

QUICK_HOPS: Final = 4
"""6 ms: so early the windows hear a quick attack begin (3 to 6 ms, all quick voices)."""

FEWEST_ATTACKS: Final = 8
"""Fewer have no median worth its name."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Refined:
    """Attacks as they were found.

    Attributes:
        seconds: shape (attacks,), strictly rising.
        strength: of what begins there, against the upper quartile.
        strays_seconds: distance from the hand's pace.
        murmurs: how much begins shortly before, against what begins there: high where a sound is
            never at rest, and where attacks are slow.
        is_heard: whether anything begins there.
        swell_seconds: how much earlier than by its clearest part each attack of this recording
            begins, in the median; 0 where attacks are quick.
    """

    seconds: Reals
    strength: Reals
    strays_seconds: Reals
    murmurs: Reals
    is_heard: Flags
    swell_seconds: float = 0.0


def refined(
    recording: Mono, quarters: Reals, expected_seconds: Reals, *, fixed: dict[int, float]
) -> Refined:
    """Move attacks to where something begins.

    Definition: three rounds. Each puts every attack where log(strength) − (distance from the
    hand's pace)² / 2σ² is highest, σ falling; the pace is the parabola through the neighbours'
    moments over the score, near ones counting more, outliers less, bent as little as may be. What
    nothing shows lies on the pace. At last all are moved to where the recording's attacks
    begin in the median (`_Curves.swell`).

    Args:
        recording: at 22,050 Hz.
        quarters: where the attacks are written, rising.
        expected_seconds: where the path puts them.
        fixed: moments that were given, by attack.
    """
    curves = _Curves(recording, expected_seconds)
    now = _with_fixed(expected_seconds, fixed)
    pace, heard, strength = now, np.ones(len(now), dtype=np.bool_), np.ones(len(now))
    for hand in HAND_SECONDS:
        pace = _pace(quarters, now, np.where(heard, 1.0, 0.05), hand)
        found, strength = curves.best(pace, hand)
        heard = strength > HEARD_STRENGTH
        now = _with_fixed(np.where(heard, found, pace), fixed)
    for index in fixed:
        heard[index] = True
    strays = np.abs(now - pace)
    begun = curves.beginnings(now)
    swell = curves.swell(now, heard)
    return Refined(
        seconds=_rising(_with_fixed(begun - swell, fixed), fixed),
        strength=strength,
        strays_seconds=strays,
        murmurs=curves.murmurs(now),
        is_heard=heard,
        swell_seconds=swell,
    )


class _Curves:
    """How much begins at each moment near each attack."""

    def __init__(self, recording: Mono, expected_seconds: Reals) -> None:
        self._rate = recording.rate_hz
        reach = round(REACH_SECONDS * self._rate)
        middles = np.round(expected_seconds * self._rate).astype(np.int64)
        self._times = np.arange(-reach, reach + 1, HOP)
        floor = 1e-2 * WINDOW * max(rms_of(recording.samples), 1e-9)
        self._seconds = (middles[:, None] + self._times) / self._rate
        bands = np.array([self._growth(recording.samples, int(m), floor) for m in middles])
        self._curves = _joined(bands)

    def _growth(self, samples: Samples, middle: int, floor: float) -> Reals:
        """Give the growth of the logarithmic spectrum over the lag, in bands."""
        first = middle + int(self._times[0]) - WINDOW // 2 - LAG * HOP // 2
        count = len(self._times) + LAG
        piece = cut_out(samples, first, (count - 1) * HOP + WINDOW)
        windows = np.lib.stride_tricks.sliding_window_view(piece, WINDOW)[::HOP]
        logs = np.log1p(np.abs(np.fft.rfft(windows * np.hanning(WINDOW), axis=1)) / floor)
        growth = np.maximum(logs[LAG:] - logs[:-LAG], 0.0)[:, : BAND_EDGES[-1]]
        return np.add.reduceat(growth, BAND_EDGES[:-1], axis=1)

    def best(self, pace: Reals, hand_seconds: float) -> tuple[Reals, Reals]:
        """Give for each attack the best moment, and how strongly something begins there."""
        strays = (self._seconds - pace[:, None]) / hand_seconds
        worth = np.log(self._curves + 1e-2) - 0.5 * strays**2
        at = np.argmax(worth, axis=1)
        rows = np.arange(len(pace))
        return self._seconds[rows, at], self._curves[rows, at]

    def beginnings(self, seconds: Reals) -> Reals:
        """Go from where most begins to where it begins to."""
        rows = np.arange(len(seconds))
        at = np.argmin(np.abs(self._seconds - seconds[:, None]), axis=1)
        foot = self._foot(at, FOOT_SHARE * self._curves[rows, at])
        return np.asarray(seconds - (at - foot) * HOP / self._rate - LATE_SECONDS)

    def murmurs(self, seconds: Reals) -> Reals:
        """Set what begins shortly before each attack, where it is strongest, against the attack."""
        at = np.argmin(np.abs(self._seconds - seconds[:, None]), axis=1)
        before = np.maximum(at[:, None] + np.arange(*BEFORE_HOPS), 0)
        own = self._curves[np.arange(len(at)), at]
        top = np.take_along_axis(self._curves, before, axis=1).max(axis=1)
        return np.asarray(np.minimum(top / np.maximum(own, 1e-9), 1.0))

    def swell(self, seconds: Reals, is_heard: Flags) -> float:
        """Tell how long before its clearest part an attack of this recording begins.

        One attack's faint beginning drowns in what murmurs before it; the median over all attacks
        keeps what they share, and that is their shape.
        """
        if is_heard.sum() < FEWEST_ATTACKS:
            return 0.0
        at = np.argmin(np.abs(self._seconds - seconds[:, None]), axis=1)[is_heard]
        rows = np.flatnonzero(is_heard)[:, None]
        first = SWELL_CALM_HOPS[0]
        around = np.clip(at[:, None] + np.arange(first, 2), 0, self._curves.shape[1] - 1)
        shapes = self._curves[rows, around]
        shapes = np.minimum(shapes / np.maximum(shapes[:, -2:-1], 1e-9), 1.0)
        smooth = [np.convolve(shape, SWELL_SMOOTHING, "same") for shape in shapes]
        shape = np.median(smooth, axis=0)
        calm = float(np.median(shape[: SWELL_CALM_HOPS[1] - first]))
        begins = _reach(shape[:-2][::-1] - calm >= SWELL_SHARE)
        return max(begins - QUICK_HOPS, 0) * HOP / self._rate

    def _foot(self, at: Ints, level: Reals) -> Ints:
        """Go down from a peak towards the past until the curve lies under a level."""
        columns = np.arange(self._curves.shape[1])
        is_low = (self._curves < level[:, None]) & (columns < at[:, None])
        last_low = np.where(is_low, columns, -1).max(axis=1)
        return np.asarray(np.maximum(last_low + 1, at - SLOWEST_RISE))


def _reach(is_high: Flags) -> int:
    """Tell how many hops back from a peak its shape reaches, over short gaps."""
    reached = 0
    for hops in range(1, SWELL_REACH_HOPS + 1):
        if is_high[hops - 1]:
            reached = hops
        elif hops - reached > SWELL_GAP_HOPS:
            break
    return reached


def _joined(bands: Reals) -> Reals:
    """Add up the bands, each by how far it stands out from what it always does.

    One loud, restless band would otherwise hide what begins in a quiet one.
    """
    usual = np.median(bands, axis=(0, 1))
    spread = np.abs(bands - usual).mean(axis=(0, 1))
    clear = np.maximum(bands - usual, 0.0) / np.maximum(spread, 1e-9)
    joined = clear @ np.array(BAND_WEIGHTS)
    joined = np.maximum(joined - np.median(joined), 0.0)
    return np.asarray(joined / max(float(np.quantile(joined.max(axis=1), 0.75)), 1e-9))


def _pace(quarters: Reals, seconds: Reals, trust: Reals, hand_seconds: float) -> Reals:
    """Put every attack on the curve through its neighbours, itself left out."""
    out = seconds.copy()
    for i in range(len(seconds)):
        first, past = max(0, i - NEIGHBOURS), min(len(seconds), i + NEIGHBOURS + 1)
        near = np.array([k for k in range(first, past) if k != i])
        if len(near) >= 2:
            away = quarters[near] - quarters[i]
            out[i] = _on_curve(away, seconds[near], trust[near], hand_seconds)
    return out


def _on_curve(away: Reals, seconds: Reals, trust: Reals, hand_seconds: float) -> float:
    """Fit a parabola, outliers counting less in a second round; give its value at 0.

    Its bend costs something, so that a few neighbours, or those of one side, make a line.
    """
    scaled = away / max(float(np.abs(away).mean()), 1e-9)
    powers = np.stack([np.ones_like(scaled), scaled, np.square(scaled)], axis=1)
    near = trust / (1.0 + np.square(scaled))
    mean = float(seconds.mean())
    weights, value = near, 0.0
    for _ in range(2):
        weighted = powers * weights[:, None]
        # The first two costs only keep what two neighbours leave open from being infinite.
        cost = np.diag([1e-9, 1e-9, EVENNESS]) * weights.sum()
        fit = np.linalg.solve(powers.T @ weighted + cost, weighted.T @ (seconds - mean))
        value = mean + float(fit[0])
        errors = seconds - mean - powers @ fit
        weights = near / (1.0 + np.square(errors / hand_seconds))
    return value


def _with_fixed(seconds: Reals, fixed: dict[int, float]) -> Reals:
    out = seconds.copy()
    for index, moment in fixed.items():
        out[index] = moment
    return out


def _rising(seconds: Reals, fixed: dict[int, float]) -> Reals:
    """Make moments rise strictly, by as little as that takes; given ones stay."""
    least = 1e-3
    out = seconds.copy()
    steps = np.arange(len(out)) * least
    for low, high in _between(sorted(fixed), len(out)):
        part = slice(low, high)
        out[part] = np.maximum.accumulate(out[part] - steps[part]) + steps[part]
    for index in sorted(fixed, reverse=True):
        for k in range(index - 1, -1, -1):
            if out[k] <= out[k + 1] - least:
                break
            out[k] = out[k + 1] - least
    return out


def _between(fixed: list[int], count: int) -> list[tuple[int, int]]:
    """Give the runs that begin at a fixed attack, or at 0, and end before the next."""
    edges = sorted({0, *fixed, count})
    return list(pairwise(edges))
