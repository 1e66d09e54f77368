"""The best way along a score for every frame of a recording: leaps, and what is not the passage."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.sound.alignment.frames import Frames
from riffract.sound.alignment.score import ScoreFrames
from riffract.sound.sound import Samples

Ints = NDArray[np.int64]

BEND_PRICE: Final = 0.1
"""For a frame at double or half speed: a fifth faster all along costs a tenth of what fits."""

STAY_PRICE: Final = 0.3
"""For a frame that waits: a held chord may, a line will not."""

LEAP_PRICE: Final = 10.0
"""In frames of 23 ms that fit wholly: a leap must explain about half a second, which is less than
a bar. At twice as much, two of five recordings that leave a bar out were bent through it, at four
times as much all five (bench)."""

OUTSIDE: Final = -1
_STEP, _FAST, _SLOW, _STAY, _LEAP, _ENTER, _START = range(7)
_NEVER: Final = np.float32(-1e9)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Path:
    """A way through the score.

    Attributes:
        steps: for each frame its step in the score; `OUTSIDE` where it is not the passage.
        leaps: frames at which a stretch begins.
        gain: how much better than chance it fits, summed over frames of 23 ms.
    """

    steps: Ints
    leaps: frozenset[int]
    gain: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Weights:
    """How much each kind of evidence counts."""

    harmony: float = 1.0
    onset: float = 1.0


def best_path(
    heard: Frames,
    score: ScoreFrames,
    *,
    frame_weight: float = 1.0,
    weights: Weights | None = None,
    fixed: dict[int, int] | None = None,
    leap_price: float = LEAP_PRICE,
    bend_price: float = BEND_PRICE,
) -> Path:
    """Find the path of the highest gain.

    Definition: each frame is outside (gain 0) or at a step of the score (gain: likeness of
    harmony plus likeness of attack, less what chance gives). From frame to frame the step grows by
    one; or by two, by one in two frames, or not at all, for a price; at the end of a bar it may
    leap to the start of any bar, or outside, for a price.

    Args:
        heard: of the recording, N frames.
        score: of the passage, M steps at the same distance.
        frame_weight: how many frames of 23 ms one of these stands for.
        weights: of harmony and attack; 1 each if not given.
        fixed: steps that frames must be at.
        leap_price: what a leap must explain; leaving and entering cost half of it each.
        bend_price: what a frame at double or half speed must explain.

    Returns:
        The path; all outside if nothing fits. Time N·M, memory N·M bytes.
    """
    gains = _Gains(heard, score, weights or Weights(), frame_weight)
    search = _Search(
        gains, score, frame_weight, fixed or {}, leap_price=leap_price, bend_price=bend_price
    )
    search.run()
    return search.traced()


class _Gains:
    """Likeness of every frame to every step, made some rows at a time."""

    def __init__(
        self, heard: Frames, score: ScoreFrames, weights: Weights, frame_weight: float
    ) -> None:
        self.rows, self.columns = len(heard), len(score)
        self._harmony = heard.harmony * np.float32(weights.harmony)
        self._score = np.ascontiguousarray(score.harmony.T)
        self._onset = (heard.onset - heard.onset.mean()) * np.float32(2.0 * weights.onset)
        wide = np.maximum(score.pulse, 0.5 * np.roll(score.pulse, 1))
        self._pulse = (wide - wide.mean()).astype(np.float32)
        self._frame_weight = np.float32(frame_weight)
        self._first = -1
        self._block = np.zeros((0, 0), dtype=np.float32)
        self._sounds = (np.abs(self._harmony).max(axis=1) > 0).astype(np.float32)
        self._chance = np.float32(self._chance_of(weights))

    def _chance_of(self, weights: Weights) -> float:
        """Give a likeness half-way between that of any two frames and that of the likest."""
        some = self._harmony[:: max(1, self.rows // 400)]
        some = some[np.abs(some).max(axis=1) > 0]
        if not len(some) or weights.harmony == 0.0:
            return 0.0
        likeness = some @ self._score
        return float(0.5 * likeness.mean() + 0.5 * np.median(likeness.max(axis=1)))

    def row(self, frame: int) -> Samples:
        """Give the gains of one frame at every step."""
        first = frame - frame % 256
        if first != self._first:
            rows = slice(first, first + 256)
            block = self._harmony[rows] @ self._score - self._chance * self._sounds[rows, None]
            block -= np.float32(0.05)
            block += self._onset[rows, None] * self._pulse
            self._block, self._first = block * self._frame_weight, first
        return np.asarray(self._block[frame - first])


class _Search:
    """One run of dynamic programming, row by row."""

    def __init__(
        self,
        gains: _Gains,
        score: ScoreFrames,
        frame_weight: float,
        fixed: dict[int, int],
        *,
        leap_price: float,
        bend_price: float,
    ) -> None:
        self._gains, self._fixed = gains, fixed
        self._leap_price = np.float32(leap_price)
        self._bend = np.float32(bend_price * frame_weight)
        self._stay = np.float32(STAY_PRICE * frame_weight)
        self._starts = score.bar_starts[:-1]
        self._ends = np.maximum(score.bar_starts[1:] - 1, 0)
        self._cut_prices = np.full(len(self._ends), leap_price / 2, dtype=np.float32)
        self._cut_prices[-1] = leap_price / 4
        self._moves = np.zeros((gains.rows, gains.columns), dtype=np.int8)
        self._leap_from = np.zeros(gains.rows, dtype=np.int64)
        self._left_from = np.full(gains.rows, OUTSIDE, dtype=np.int64)
        self._last, self._gain = OUTSIDE, 0.0

    def run(self) -> None:
        """Fill the table."""
        never = np.full(self._gains.columns, _NEVER, dtype=np.float32)
        before, now, before_gains, outside = never, never, never, np.float32(0.0)
        for frame in range(self._gains.rows):
            gains = self._gains.row(frame)
            best, moves = self._within(before, now, before_gains)
            leaving = now[self._ends]
            end = int(np.argmax(leaving))
            self._leap_from[frame] = self._ends[end]
            leap = np.full(len(self._starts), leaving[end] - self._leap_price)
            self._enter(best, moves, leap, _LEAP)
            self._enter(best, moves, outside - self._cut_prices[::-1], _ENTER)
            if frame == 0:
                self._begin(best, moves)
            outside = self._left(frame, leaving - self._cut_prices, outside)
            best += gains
            if frame in self._fixed:
                outside = self._held(best, self._fixed[frame])
            self._moves[frame] = moves
            before, now, before_gains = now, best, gains
        self._finish(now, outside)

    def _within(
        self, before: Samples, now: Samples, gains: Samples
    ) -> tuple[Samples, NDArray[np.int8]]:
        """Go on from the frame before, or slowly from the one before that."""
        best = np.full_like(now, _NEVER)
        best[1:] = now[:-1]
        moves = np.zeros(len(now), dtype=np.int8)
        fast = now[:-2] - self._bend
        _raise_to(best[2:], moves[2:], fast, _FAST)
        slow = before[:-1] + gains[1:] - self._bend
        _raise_to(best[1:], moves[1:], slow, _SLOW)
        _raise_to(best, moves, now - self._stay, _STAY)
        return best, moves

    def _enter(self, best: Samples, moves: NDArray[np.int8], values: Samples, move: int) -> None:
        """Begin bars where that is worth more; the first bar is the likeliest to begin with."""
        better = best[self._starts] < values
        starts = self._starts[better]
        best[starts], moves[starts] = values[better], move

    def _left(self, frame: int, leaving: Samples, outside: np.float32) -> np.float32:
        """Leave the passage at the end of a bar, if that is worth more than having been outside."""
        end = int(np.argmax(leaving))
        if leaving[end] <= outside:
            return outside
        self._left_from[frame] = self._ends[end]
        return np.float32(leaving[end])

    def _begin(self, best: Samples, moves: NDArray[np.int8]) -> None:
        """The recording may begin anywhere in the passage."""
        price = -self._leap_price
        better = best < price
        best[better], moves[better] = price, _START

    def _held(self, best: Samples, step: int) -> np.float32:
        kept = best[max(step - 1, 0) : step + 2].copy()
        best[:] = _NEVER
        best[max(step - 1, 0) : step + 2] = np.maximum(kept, _NEVER / 2)
        return _NEVER

    def _finish(self, now: Samples, outside: np.float32) -> None:
        """End outside, at the end of a bar, or cut off anywhere."""
        values = now - self._leap_price
        values[self._ends] = now[self._ends] - self._cut_prices
        last = int(np.argmax(values))
        if values[last] > outside:
            self._last, self._gain = last, float(values[last])
        else:
            self._gain = float(outside)

    def traced(self) -> Path:
        """Walk back."""
        steps = np.full(self._gains.rows, OUTSIDE, dtype=np.int64)
        leaps: set[int] = set()
        frame, step = self._gains.rows - 1, self._last
        while frame >= 0:
            if step == OUTSIDE:
                step = int(self._left_from[frame])
                frame -= 1
                continue
            steps[frame] = step
            move = int(self._moves[frame, step])
            if move in (_LEAP, _ENTER, _START):
                leaps.add(frame)
                step = int(self._leap_from[frame]) if move == _LEAP else OUTSIDE
            elif move == _SLOW and frame > 0:
                frame -= 1
                steps[frame] = step
                step -= 1
            elif move != _STAY:
                step -= 2 if move == _FAST else 1
            frame -= 1
        return Path(steps=steps, leaps=frozenset(leaps), gain=self._gain)


def _raise_to(best: Samples, moves: NDArray[np.int8], value: Samples, move: int) -> None:
    better = value > best
    np.copyto(best, value, where=better)
    moves[better] = move
