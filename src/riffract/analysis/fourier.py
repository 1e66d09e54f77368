"""The Fourier view of pitch classes: how evenly a set divides the octave in k parts."""

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def magnitudes(weights: Sequence[float]) -> tuple[float, ...]:
    """Give the Fourier magnitudes f0..f6 of weighted pitch classes.

    Definition: f_k = |sum over x of w_x exp(-2 pi i k x / 12)|. f0 is the sum of the weights; f3 is
    large for hexatonic and augmented sets, f4 for octatonic ones, f5 for diatonic ones, f6 for
    whole-tone ones.

    Args:
        weights: 12 numbers from C up, 0 or more; 1 and 0 for a plain set.

    Raises:
        ValueError: if there are not 12 weights, or one is negative.

    Sources: Quinn, Perspectives of New Music 44/2-45/1 (2006-07); Amiot, Music Through Fourier
    Space (2016).

    >>> [round(f, 4) for f in magnitudes([1, 1, 0, 0, 1, 1, 0, 0, 1, 1, 0, 0])]
    [6.0, 0.0, 0.0, 4.2426, 0.0, 0.0, 0.0]
    """
    if len(weights) != 12 or min(weights) < 0:
        raise ValueError(f"12 weights of 0 or more are needed, got {list(weights)}")
    return tuple(np.abs(np.fft.rfft(np.asarray(weights, dtype=float))).tolist())


def shares(weights: Sequence[float]) -> Mapping[int, float]:
    """Give the share of each of f1..f6 in what tells the weights from an even spread.

    Definition: share_k = w_k f_k^2 / sum of w_j f_j^2 over j = 1..6, with w = 2 for 1..5 and 1 for
    6, since f7..f11 repeat f5..f1 (Parseval). Magnitudes grow with the size of a set; shares do
    not. The measure is ours.

    Returns:
        Shares by k; all 0 for an even spread.

    >>> {k: round(share, 3) for k, share in shares([1, 0] * 6).items() if share > 0.001}
    {6: 1.0}
    """
    powers = {k: (1 if k == 6 else 2) * magnitudes(weights)[k] ** 2 for k in range(1, 7)}
    total = sum(powers.values())
    return {k: power / total if total > 1e-12 else 0.0 for k, power in powers.items()}


def spectra(weights: Floats) -> NDArray[np.complex128]:
    """Give the Fourier coefficients f0..f6 of many rows of weighted pitch classes.

    Definition: f_k = sum over x of w_x exp(-2 pi i k x / 12). The magnitude is that of
    `magnitudes`; the phase tells where in the octave the k parts lie, so that it turns by
    -2 pi k n / 12 if the row is moved up by n semitones.

    Args:
        weights: 0 or more, from C up. Shape: (rows, 12).

    Returns:
        Shape: (rows, 7).

    >>> round(float(np.abs(spectra(np.array([[1.0, 1, 0, 0] * 3])))[0, 3]), 4)
    4.2426
    """
    coefficients: NDArray[np.complex128] = np.fft.rfft(weights, axis=1)
    return coefficients


def greatest(coefficients: NDArray[np.complex128]) -> NDArray[np.int64]:
    """Tell which of f1..f6 has the greatest of the `shares` in each row; 0 in an even spread.

    >>> greatest(spectra(np.array([[1.0, 0] * 6, [1.0, 1] * 6]))).tolist()
    [6, 0]
    """
    powers = np.abs(coefficients[:, 1:]) ** 2 * np.array([2, 2, 2, 2, 2, 1])
    # Of equal ones the first counts, whatever the last digits say.
    best: NDArray[np.int64] = np.round(powers, 9).argmax(axis=1) + 1
    return np.where(powers.sum(axis=1) > 1e-12, best, 0)


def most_of_size(count: int) -> tuple[float, ...]:
    """Give the greatest f1..f6 that any set of so many pitch classes has.

    Definition: the maximum of f_k over all C(12, count) sets, each k by itself; the sets that reach
    it are Quinn's prototypes of quality k.

    Args:
        count: how many pitch classes, 0 to 12.

    Raises:
        ValueError: if there is no such set.

    Source: Quinn, Perspectives of New Music 44/2-45/1 (2006-07).

    >>> [round(most, 4) for most in most_of_size(7)]
    [3.7321, 3.6056, 3.6056, 3.6056, 3.7321, 5.0]
    """
    if not 0 <= count <= 12:
        raise ValueError(f"a set has 0 to 12 pitch classes, not {count}")
    bits = np.arange(4096)[:, None] >> np.arange(12) & 1
    sets = bits[bits.sum(axis=1) == count].astype(float)
    return tuple(np.abs(spectra(sets)[:, 1:]).max(axis=0).tolist())
