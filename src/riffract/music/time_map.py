"""From score time to sounding time and back."""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from math import ceil, log1p
from typing import Final, TypeVar

from riffract.music.passage import TempoMark

RAMP_KNOTS_A_QUARTER: Final = 8
MOST_RAMP_KNOTS: Final = 4096

_Knot = TypeVar("_Knot", Fraction, float)


@dataclass(frozen=True, slots=True, kw_only=True)
class TimeMap:
    """Quarters ⇄ seconds, piecewise straight between knots, and straight on beyond them.

    Attributes:
        quarters, seconds: the knots, both strictly rising, at least two of them.
    """

    quarters: tuple[Fraction, ...]
    seconds: tuple[float, ...]

    def __post_init__(self) -> None:
        if len(self.quarters) != len(self.seconds) or len(self.quarters) < 2:
            raise ValueError(
                f"a time map needs two or more knots, got {len(self.quarters)} in quarters "
                f"and {len(self.seconds)} in seconds"
            )
        if not (_rises(self.quarters) and _rises(self.seconds)):
            raise ValueError("a time map must run forward: its knots must rise on both sides")

    @classmethod
    def from_tempos(
        cls, tempos: Sequence[TempoMark], length_quarters: Fraction, *, start_seconds: float = 0.0
    ) -> "TimeMap":
        """Follow tempo marks from the passage's start, sounding from `start_seconds`.

        In a ramp the tempo changes straight in quarters; a ramp that meets no mark is none.

        >>> marks = [TempoMark(at_quarters=Fraction(0), quarters_per_minute=120.0)]
        >>> TimeMap.from_tempos(marks, Fraction(8)).seconds_at(Fraction(3))
        1.5
        """
        end = max(length_quarters, tempos[-1].at_quarters + 1)
        quarters, seconds = [tempos[0].at_quarters], [start_seconds]
        for mark, following in zip(tempos, [*tempos[1:], None], strict=True):
            stop = end if following is None else following.at_quarters
            seconds_of_mark = seconds[-1]
            for at, since_mark in _knots_of(mark, following, stop):
                quarters.append(at)
                seconds.append(since_mark + seconds_of_mark)
        return cls(quarters=tuple(quarters), seconds=tuple(seconds))

    def seconds_at(self, quarters: Fraction) -> float:
        """Tell when a moment of the score sounds."""
        i = self._segment(bisect_right(self.quarters, quarters))
        share = float((quarters - self.quarters[i]) / (self.quarters[i + 1] - self.quarters[i]))
        return self.seconds[i] + share * (self.seconds[i + 1] - self.seconds[i])

    def quarters_at(self, seconds: float) -> float:
        """Tell where in the score a sounding moment falls; a float, since sound is not exact."""
        i = self._segment(bisect_right(self.seconds, seconds))
        share = (seconds - self.seconds[i]) / (self.seconds[i + 1] - self.seconds[i])
        return float(self.quarters[i]) + share * float(self.quarters[i + 1] - self.quarters[i])

    def _segment(self, knots_passed: int) -> int:
        return min(max(knots_passed - 1, 0), len(self.quarters) - 2)


def _knots_of(
    mark: TempoMark, following: TempoMark | None, stop: Fraction
) -> Iterator[tuple[Fraction, float]]:
    """Give the knots after a mark, in seconds since it; a ramp gets many, to stay a curve."""
    length = stop - mark.at_quarters
    first = mark.quarters_per_minute
    rise = following.quarters_per_minute - first if following and mark.is_ramp else 0.0
    if not rise:
        yield stop, 60.0 * float(length) / first
        return
    pieces = min(ceil(length * RAMP_KNOTS_A_QUARTER), MOST_RAMP_KNOTS)
    for piece in range(1, pieces + 1):
        share = Fraction(piece, pieces)
        # The tempo is straight in quarters, so a moment comes after an integral of its inverse.
        seconds = 60.0 * float(length) / rise * log1p(float(share) * rise / first)
        yield mark.at_quarters + share * length, seconds


def _rises(knots: Sequence[_Knot]) -> bool:
    return all(earlier < later for earlier, later in pairwise(knots))
