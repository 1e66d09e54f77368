"""Random versions of a line that keep what is not at issue when an idea comes back.

Each stretch of the line keeps its rhythm, and its runs: where a note or a step is repeated, the
repeats stay together, since a line that chugs would otherwise lose its texture. What is reordered
are the steps through the line's own scale, so that every version moves as the line does and stays
in its scale; or its pitches, so that every version has the same notes; or, where the line keeps
coming back to one note, the other pitches only, so that every version comes back to it at the same
times; or short cells, each as it is, so that every version has the same turns and broken chords.
"""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.analysis.motives.line import MotiveLine
from riffract.analysis.reordering import Ids

PEDAL_SHARE: Final = 0.2
"""A note that is every fifth of a line or more is what the line comes back to: a pedal, or the chug
between other notes. Each figure then starts and ends alike, whatever lies between."""


CELL_NOTES: Final = 4
"""Four notes of the usual value, a beat of sixteenths: so long are the shapes, broken chords and
turns that a style brings with it, and that come back in any order of them."""

FEWEST_CELLS: Final = 8
"""Of fewer cells, two neighbours stay together in too many orders: what comes back in the music
would come back in them as well."""


def with_steps_reordered(line: MotiveLine, count: int, rng: np.random.Generator) -> Ids:
    """Reorder the steps of each stretch, counted in the scale of the whole line.

    Each stretch starts and ends where it does in the music.

    Returns:
        Pitches. Shape: (count, events).
    """
    scale = np.unique(line.heights % 12)
    degrees = line.heights // 12 * len(scale) + np.searchsorted(scale, line.heights % 12)
    steps = np.diff(degrees, prepend=0)
    is_start = np.diff(line.segments, prepend=-1) != 0
    orders = _orders(steps, line.segments, is_start, count, rng)
    octave, place = np.divmod(np.cumsum(steps[orders], axis=1), len(scale))
    return np.asarray(octave * 12 + scale[place])


def with_pitches_reordered(line: MotiveLine, count: int, rng: np.random.Generator) -> Ids:
    """Reorder the pitches of each stretch.

    Returns:
        Pitches. Shape: (count, events).
    """
    nothing = np.zeros(len(line), dtype=np.bool_)
    return line.heights[_orders(line.heights, line.segments, nothing, count, rng)]


def with_pedal_kept(line: MotiveLine, count: int, rng: np.random.Generator) -> Ids | None:
    """Reorder the pitches of each stretch but for the note that comes most often.

    Returns:
        Pitches, shape (count, events); `None` if no note comes often enough.
    """
    pitches, often = np.unique(line.heights, return_counts=True)
    pedal = line.heights == pitches[often.argmax()]
    if pedal.mean() < PEDAL_SHARE or pedal.all():
        return None
    others = np.flatnonzero(~pedal)
    segments = line.segments[others]
    nothing = np.zeros(len(others), dtype=np.bool_)
    drawn = np.tile(line.heights, (count, 1))
    drawn[:, others] = line.heights[others][
        _orders(line.heights[others], segments, nothing, count, rng)
    ]
    return drawn


def with_cells_reordered(line: MotiveLine, count: int, rng: np.random.Generator) -> Ids | None:
    """Reorder short cells of each stretch, each as it is: what lies within a few notes' time.

    Returns:
        Pitches, shape (count, events); `None` if there are too few cells.
    """
    usual = max(int(np.median(line.value_ticks)), 1)
    cell = line.onset_ticks // (CELL_NOTES * usual)
    is_new = np.ones(len(line), dtype=np.bool_)
    is_new[1:] = (np.diff(cell) != 0) | (np.diff(line.segments) != 0)
    if is_new.sum() < FEWEST_CELLS:
        return None
    return line.heights[_orders_of_runs(is_new, line.segments, None, count, rng)]


def _orders(
    items: Ids,
    segments: Ids,
    stays_first: NDArray[np.bool_],
    count: int,
    rng: np.random.Generator,
) -> Ids:
    """Draw orders of a row that move its runs within their stretches. Shape: (count, items)."""
    is_new = np.ones(len(items), dtype=np.bool_)
    is_new[1:] = (np.diff(items) != 0) | (np.diff(segments) != 0) | stays_first[:-1]
    return _orders_of_runs(is_new, segments, stays_first, count, rng)


def _orders_of_runs(
    is_new: NDArray[np.bool_],
    segments: Ids,
    stays_first: NDArray[np.bool_] | None,
    count: int,
    rng: np.random.Generator,
) -> Ids:
    run = np.cumsum(is_new) - 1
    keys = rng.random((count, int(run[-1]) + 1))
    if stays_first is not None:
        keys[:, run[stays_first]] = 0.0
    return np.argsort(keys[:, run] + segments, axis=1, kind="stable")
