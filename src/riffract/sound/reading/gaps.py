"""Frames that a damaged file lost: told by the times of those that follow."""

from dataclasses import dataclass, field
from typing import Any, Final

LEAST_GAP_SECONDS: Final = 0.015
"""Some containers round times to a millisecond; what gets lost are frames of 20 ms or more."""

LONGEST_GAP_SECONDS: Final = 30.0
"""A longer leap is a damaged time, not lost sound; half a minute of silence is no use anyway."""


class LeapError(ValueError):
    """The time of a frame lies further on than any gap can be."""


@dataclass(slots=True)
class Gaps:
    """Stretches that are missing from a recording; filled while its frames go by.

    Attributes:
        found: where each begins, and how long it is, both in seconds.
    """

    found: list[tuple[float, float]] = field(default_factory=list)
    _count: int = 0
    _first_seconds: float | None = None

    def before(self, frame: Any) -> int:
        """Take the next frame; tell how many samples are missing before it.

        Raises:
            LeapError: if they would be more than `LONGEST_GAP_SECONDS` take.
        """
        missing = self._missing_seconds(frame)
        if missing > LONGEST_GAP_SECONDS:
            raise LeapError("its times leap ahead")
        samples = round(missing * frame.sample_rate) if missing > LEAST_GAP_SECONDS else 0
        if samples:
            self.found.append((self._count / frame.sample_rate, missing))
        self._count += samples + frame.samples
        return samples

    def _missing_seconds(self, frame: Any) -> float:
        if frame.pts is None or frame.time_base is None:
            return 0.0
        at = float(frame.pts * frame.time_base)
        if self._first_seconds is None:
            self._first_seconds = at
        expected = self._first_seconds + self._count / float(frame.sample_rate)
        return at - expected
