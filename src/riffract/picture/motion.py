"""Motion: how moving things go from one place to another, as functions of time alone."""

from typing import Final

FOLD_SECONDS: Final = 0.8
BEND_SECONDS: Final = 1.2
TURN_SECONDS: Final = 0.8


def smooth(share: float) -> float:
    """Ease in and out, with no jump in speed or acceleration: 6u⁵ - 15u⁴ + 10u³.

    >>> smooth(-1.0), smooth(0.5), smooth(2.0)
    (0.0, 0.5, 1.0)
    """
    u = min(max(share, 0.0), 1.0)
    return u * u * u * (u * (6.0 * u - 15.0) + 10.0)


def moved_share(seconds: float, start_seconds: float, length_seconds: float) -> float:
    """Tell how far a movement has come at a moment, 0..1."""
    return smooth((seconds - start_seconds) / length_seconds)
