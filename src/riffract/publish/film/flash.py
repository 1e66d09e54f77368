"""Flashes: counts how often parts of the picture flash, so that no film goes out that may harm.

Definitions, from WCAG 2.2, "general flash and red flash thresholds": a transition is a change of
relative luminance by 0.1 or more whose darker side lies below 0.8; two opposing transitions are
a flash. A red flash is made of transitions to or from saturated red, R / (R + G + B) ≥ 0.8, that
change R − G − B by more than 20 / 320. More than three flashes of either kind within one second
are too many if they fill more than a quarter of any field of 10 degrees, which is taken as a
third of the picture's width by a third of its height (341 × 256 of 1024 × 768 px). R, G and B
are linear.
"""

from collections import deque
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

MOST_FLASHES: Final = 3
FIELD_SHARE: Final = 0.25
"""Flashes that fill no more than this share of a field do no harm."""

_POINTS_ACROSS_SHORT_SIDE = 54
_CONCURRENT_SECONDS = 1 / 6
"""Half a period of three flashes a second: what turns within it counts as one transition."""

Pixels = NDArray[np.uint8]
_Reals = NDArray[np.float32]
_Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True)
class Flashing:
    """A second with too many flashes.

    Attributes:
        from_seconds: when its first transition is seen.
        flashes: how many there were when it was noticed, in halves: a flash is two transitions.
    """

    from_seconds: float
    flashes: float


class FlashMeter:
    """Watches a film frame by frame, at points spread evenly over the picture.

    The points are samples, not means, so that a fine pattern keeps its full swing; that is the
    stricter way. It also counts what turns one after the other in different parts of a field.
    """

    def __init__(self, *, width: int, height: int) -> None:
        step = max(1, min(width, height) // _POINTS_ACROSS_SHORT_SIDE)
        self._points = (slice(step // 2, None, step), slice(step // 2, None, step))
        rows = len(range(step // 2, height, step))
        columns = len(range(step // 2, width, step))
        self._light = _Swings(threshold=0.1, darker_below=0.8)
        self._red = _Swings(threshold=20 / 320, darker_below=np.inf)
        self._light_fields = _Fields(rows, columns)
        self._red_fields = _Fields(rows, columns)

    @property
    def most_flashes(self) -> float:
        """The most flashes of light and dark in any second until now, in halves."""
        return self._light_fields.most / 2

    @property
    def most_red_flashes(self) -> float:
        """The most flashes of saturated red in any second until now, in halves."""
        return self._red_fields.most / 2

    def add(self, seconds: float, pixels: Pixels) -> Flashing | None:
        """Look at the next frame, shape (height, width, 4) in blue, green, red, alpha.

        Frames that equal the one before need not be added.

        Returns:
            What is wrong, as soon as there is too much flashing; `None` until then.
        """
        blue, green, red = np.moveaxis(_LINEAR[pixels[self._points][..., :3]], -1, 0)
        light = 0.2126 * red + 0.7152 * green + 0.0722 * blue
        is_saturated = (red > 0) & (red >= 0.8 * (red + green + blue))
        redness = np.where(is_saturated, red - green - blue, np.float32(0))
        general = self._light_fields.add(seconds, *self._light.add(light))
        of_red = self._red_fields.add(seconds, *self._red.add(redness))
        return general or of_red


class _Swings:
    """Finds, point by point, where a value has swung up or down since its last extreme."""

    def __init__(self, *, threshold: float, darker_below: float) -> None:
        self._threshold = np.float32(threshold - 1e-6)
        self._darker_below = darker_below
        self._low: _Reals | None = None

    def add(self, values: _Reals) -> tuple[_Flags, _Flags]:
        """Give the points that have just swung up, and those that have just swung down."""
        if self._low is None:
            self._low, self._high = values.copy(), values.copy()
            self._went_up = np.zeros(values.shape, dtype=np.bool_)
            self._went_down = np.zeros(values.shape, dtype=np.bool_)
        np.minimum(self._low, values, out=self._low)
        np.maximum(self._high, values, out=self._high)
        up = (values - self._low >= self._threshold) & ~self._went_up
        up &= self._low < self._darker_below
        down = (self._high - values >= self._threshold) & ~self._went_down
        down &= values < self._darker_below
        self._went_up = (self._went_up | up) & ~down
        self._went_down = (self._went_down | down) & ~up
        self._high[up] = values[up]
        self._low[down] = values[down]
        return up, down


class _Fields:
    """Counts transitions in every field of a third by a third of the picture."""

    def __init__(self, rows: int, columns: int) -> None:
        self._size = (max(1, rows // 3), max(1, columns // 3))
        self._most = FIELD_SHARE * self._size[0] * self._size[1]
        shape = (rows - self._size[0] + 1, columns - self._size[1] + 1)
        self._last_up = np.zeros(shape, dtype=np.bool_)
        self._last_down = np.zeros(shape, dtype=np.bool_)
        self._recent: deque[tuple[float, NDArray[np.int32], NDArray[np.int32]]] = deque()
        self._transitions: deque[tuple[float, _Flags]] = deque()
        self._count = np.zeros(shape, dtype=np.int32)
        self.most = 0

    def add(self, seconds: float, up: _Flags, down: _Flags) -> Flashing | None:
        """Take in the points that have just swung, and say whether there is too much."""
        if not (up.any() or down.any()):
            return None
        self._forget(seconds)
        self._recent.append((seconds, self._in_fields(up), self._in_fields(down)))
        rises = sum(entry[1] for entry in self._recent) > self._most
        falls = sum(entry[2] for entry in self._recent) > self._most
        turned = (rises & ~self._last_up) | (falls & ~self._last_down)
        if not turned.any():
            return None
        falls_now = turned & ~(rises & ~self._last_up)
        self._last_down = np.where(turned, falls_now, self._last_down)
        self._last_up = np.where(turned, ~falls_now, self._last_up)
        for _, ups, downs in self._recent:
            ups[turned] = downs[turned] = 0
        self._transitions.append((seconds, turned))
        self._count += turned
        most = int(self._count.max())
        self.most = max(self.most, most)
        if most <= 2 * MOST_FLASHES:
            return None
        return Flashing(from_seconds=self._transitions[0][0], flashes=most / 2)

    def _forget(self, seconds: float) -> None:
        while self._recent and seconds - self._recent[0][0] > _CONCURRENT_SECONDS + 1e-9:
            self._recent.popleft()
        while self._transitions and seconds - self._transitions[0][0] >= 1.0 - 1e-9:
            self._count -= self._transitions.popleft()[1]

    def _in_fields(self, points: _Flags) -> NDArray[np.int32]:
        """Count the marked points in every field, by a table of sums."""
        sums = np.zeros((points.shape[0] + 1, points.shape[1] + 1), dtype=np.int32)
        sums[1:, 1:] = points.cumsum(axis=0, dtype=np.int32).cumsum(axis=1, dtype=np.int32)
        high, wide = self._size
        return sums[high:, wide:] - sums[:-high, wide:] - sums[high:, :-wide] + sums[:-high, :-wide]


def _linear_table() -> _Reals:
    channel = np.arange(256) / 255
    table = np.where(channel <= 0.04045, channel / 12.92, ((channel + 0.055) / 1.055) ** 2.4)
    return table.astype(np.float32)


_LINEAR: Final = _linear_table()
"""Undoes the transfer curve of sRGB for each 8-bit value (IEC 61966-2-1)."""
