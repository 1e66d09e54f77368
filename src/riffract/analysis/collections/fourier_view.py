"""Whether the Fourier view of the pitch classes points to the same form, window by window."""

from collections.abc import Sequence
from typing import Final

import numpy as np

from riffract.analysis.collections.form import FORMS, Form
from riffract.analysis.fourier import Floats, greatest, spectra

WINDOW_ATTACKS: Final = 16
"""How many attacks are looked at together: about a limb or a bar, as in `collections.path`."""

STEP_ATTACKS: Final = 4
"""How far a window is moved on: a quarter of its length, so that none is missed."""


def agreement(stretches: Sequence[Floats], form: Form) -> tuple[float, int] | None:
    """Tell how often the Fourier view names a form by itself.

    Definition: windows of 16 attacks slide over each stretch by four; a shorter stretch is one
    window. A window agrees if, of f1 to f6, the one that is greatest in the form's family has the
    greatest share, and if of the family's forms this one lies nearest by its phase. Nothing else
    of the model is used, neither a prior nor the order of the notes.

    Args:
        stretches: how long each attack sounds each pitch class. Shape of each: (attacks, 12).
        form: the one in question.

    Returns:
        The share of the windows that agree, and their number; `None` if no magnitude stands out in
        the family, so that there is nothing to agree with.

    Sources: Quinn, Perspectives of New Music 44/2-45/1 (2006-07); Amiot, Music Through Fourier
    Space (2016); Yust, Music Theory Spectrum 38 (2016), on phases, from memory.
    """
    peak = form.family.peak
    if not peak:
        return None
    windows = np.concatenate([_windows(weights) for weights in stretches])
    found = spectra(windows)
    family = [one for one in FORMS if one.family == form.family]
    members = np.array([[float(one.mask >> pc & 1) for pc in range(12)] for one in family])
    towards = spectra(members)[:, peak]
    nearness = (found[:, [peak]] * towards.conj()).real
    own = nearness[:, family.index(form)]
    agrees = (greatest(found) == peak) & (own >= nearness.max(axis=1) - 1e-9)
    return float(agrees.mean()), len(windows)


def _windows(weights: Floats) -> Floats:
    """Add up the attacks of each window. Shape: (windows, 12)."""
    before = np.concatenate([np.zeros((1, 12)), np.cumsum(weights, axis=0)])
    last_start = max(len(weights) - WINDOW_ATTACKS, 0)
    starts = np.arange(0, last_start + 1, STEP_ATTACKS)
    stops = np.minimum(starts + WINDOW_ATTACKS, len(weights))
    sums: Floats = before[stops] - before[starts]
    return sums
