"""A pitch that the analyst sets as an axis: which stretch comes back upside down about it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.analysis.attacks import attacks_of
from riffract.analysis.mirrors.palindrome import MISS_BITS, Evidence, of_each
from riffract.analysis.mirrors.rows import Item, pitches_of, voice_items
from riffract.analysis.mirrors.upside_down import LONGEST_LAG, MOST_MISSES, SHORTEST_LAG
from riffract.analysis.reordering import Floats, Ids
from riffract.essay.by_hand.axis import DRAWS
from riffract.music import Span
from riffract.weighing.view import View

FEWEST_NOTES: Final = SHORTEST_LAG + 2
"""A stretch and its image start so far apart; two notes of each are the fewest that can answer."""

MOST_NOTES: Final = 20_000
"""Longer lines are not asked for their axes by hand: the random orders of 20,000 notes take some
six seconds, and what is set by hand is to answer while one looks."""

_SAME_BITS: Final = 1e-3
"""Sums that differ by less count as equal."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HandPitchAxis:
    """A pitch that can be set as an axis, measured.

    Attributes:
        pitch_sum: twice the pitch: what a note and its answer add up to.
        bits: evidence for the best stretch that comes back about it; 0 if none does.
        fitting: how many of its notes are answered.
        notes: how many notes it has.
        source, answer: where it is, and where it comes back; `None` if nothing does.
        p: how often the best axis of the same notes in another order is as good; never 0.
    """

    pitch_sum: int
    bits: float
    fitting: int
    notes: int
    source: Span | None
    answer: Span | None
    p: float

    @property
    def axis_pitch(self) -> Fraction:
        """The pitch that stays where it is; a half one lies between two."""
        return Fraction(self.pitch_sum, 2)


def pitch_axes_by_hand(view: View) -> tuple[HandPitchAxis, ...]:
    """Measure every pitch that can be set as an axis of inversion.

    Definition: about the pitch s / 2, a stretch of the moving voice comes back upside down at lag g
    where x_k + x_k+g = s for its notes, as in `riffract.analysis.mirrors.upside_down`. The first
    proves nothing; each further one that fits adds what it is worth, each that does not costs
    `MISS_BITS`, and no more than `MOST_MISSES` in a row may fail. It is held against the best axis
    of each of `DRAWS` random orders of all notes; their repeats are not kept, which makes it look
    rarer than the chance of a finding does.

    Returns:
        The axes from the lowest note of the voice to its highest, a half tone apart each; none if
        there are fewer than `FEWEST_NOTES` notes, or more than `MOST_NOTES`.
    """
    voice = voice_items(view.passage, attacks_of(view.passage), view.lead)
    if not FEWEST_NOTES <= len(voice) <= MOST_NOTES:
        return ()
    pitches = pitches_of(voice)
    draws = np.sort(_best_of_orders(pitches, view.seed))
    best = _best_by_sum(pitches)
    low, high = int(pitches.min()), int(pitches.max())
    return tuple(
        _measured(best.get(pitch_sum), pitch_sum, voice, draws)
        for pitch_sum in range(2 * low, 2 * high + 1)
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Best:
    bits: float
    start: int
    lag: int
    notes: int


def _measured(
    best: _Best | None, pitch_sum: int, voice: Sequence[Item], draws: Floats
) -> HandPitchAxis:
    bits = 0.0 if best is None else best.bits
    as_good = len(draws) - int(np.searchsorted(draws, bits - _SAME_BITS))
    p = (as_good + 1) / (len(draws) + 1)
    if best is None:
        return HandPitchAxis(
            pitch_sum=pitch_sum, bits=0.0, fitting=0, notes=0, source=None, answer=None, p=p
        )
    places = range(best.start, best.start + best.notes)
    pitches = pitches_of(voice)
    return HandPitchAxis(
        pitch_sum=pitch_sum,
        bits=bits,
        fitting=sum(int(pitches[k] + pitches[k + best.lag]) == pitch_sum for k in places),
        notes=best.notes,
        source=Span(voice[places[0]].start, voice[places[-1]].end),
        answer=Span(voice[places[0] + best.lag].start, voice[places[-1] + best.lag].end),
        p=p,
    )


def _best_by_sum(pitches: Ids) -> dict[int, _Best]:
    """Give the best stretch about each sum that has one."""
    best: dict[int, _Best] = {}
    lags = _lags(len(pitches))
    for k, sums, bits, starts in _runs(pitches[None, :]):
        for row in np.flatnonzero(bits[:, 0] > 0.0).tolist():
            pitch_sum, found = int(sums[row, 0]), float(bits[row, 0])
            if pitch_sum not in best or found > best[pitch_sum].bits + _SAME_BITS:
                start = int(starts[row, 0])
                best[pitch_sum] = _Best(
                    bits=round(found, 3), start=start, lag=int(lags[row]), notes=k - start + 1
                )
    return best


def _best_of_orders(pitches: Ids, seed: int) -> Floats:
    """Give the evidence of the best axis of each of many random orders. Shape: (draws,)."""
    rng = np.random.default_rng(seed)
    orders = np.stack([rng.permutation(pitches) for _ in range(DRAWS)])
    best = np.zeros(DRAWS, dtype=np.float32)
    for _, _, bits, _ in _runs(orders):
        np.maximum(best, bits.max(axis=0, initial=0.0), out=best)
    return np.asarray(np.round(best, 3), dtype=np.float64)


_Step = tuple[int, NDArray[np.int16], NDArray[np.float32], NDArray[np.int32]]


def _runs(lines: Ids) -> Iterator[_Step]:
    """Follow every sum at every lag through many lines at once.

    Definition: let f(k) be the evidence of the best stretch that ends with note k, which fits its
    own sum. Then f(k) is the largest of 0 (it starts here, and proves nothing) and f(k - d) + (d-1)
    `MISS_BITS` + what the answer is worth, over the earlier notes of the same sum no more than
    `MOST_MISSES` apart. A stretch that would run into its image starts anew. This is Kadane's scan
    for each sum, all of them in one pass.

    Yields:
        For each note k: k, the sum that it makes with its answer, the evidence of the stretch that
        ends there, and its first note; a row for each lag that has an answer. Shape: (lags, lines).
    """
    small = np.ascontiguousarray(lines.T, dtype=np.int16)
    evidence, lags = Evidence.of(lines), _lags(lines.shape[1])
    worth = _worth(lines, evidence)
    before: list[tuple[NDArray[np.int16], NDArray[np.float32], NDArray[np.int32]]] = []
    for k in range(lines.shape[1] - SHORTEST_LAG):
        width = min(len(lags), lines.shape[1] - SHORTEST_LAG - k)
        answers = slice(k + SHORTEST_LAG, k + SHORTEST_LAG + width)
        sums, gains = small[answers] + small[k], worth[answers]
        bits = np.zeros(sums.shape, dtype=np.float32)
        starts = np.full(sums.shape, k, dtype=np.int32)
        for apart, (earlier, so_far, begun) in enumerate(before):
            going_on = so_far[:width] + np.float32(apart * MISS_BITS) + gains
            goes_on = (earlier[:width] == sums) & (going_on > bits)
            goes_on &= k - begun[:width] < lags[:width, None]
            np.copyto(bits, going_on, where=goes_on)
            np.copyto(starts, begun[:width], where=goes_on)
        before = [(sums, bits, starts), *before[:MOST_MISSES]]
        yield k, sums, bits, starts


def _worth(lines: Ids, evidence: Evidence) -> NDArray[np.float32]:
    """Give what an answer by each note is worth; less if it repeats the last one."""
    repeats = np.zeros(lines.shape, dtype=np.bool_)
    repeats[:, 1:] = lines[:, 1:] == lines[:, :-1]
    worth = np.where(repeats, of_each(evidence.again, lines), of_each(evidence.new, lines))
    return np.ascontiguousarray(worth.T)


def _lags(notes: int) -> Ids:
    return np.arange(SHORTEST_LAG, min(LONGEST_LAG, notes - 1) + 1)
