"""How much a riff leans on each interval above its anchor, and how much its scales would give."""

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.analysis.finding import Collection, Finding
from riffract.analysis.pitch_class_set import ALL_TWELVE, mask_of
from riffract.analysis.sounding import stop_ticks
from riffract.analysis.syncopation import place_weight
from riffract.analysis.what.anchor import Emphasis
from riffract.music import Passage
from riffract.music.notes import Ints

Floats = NDArray[np.float64]

DIVISION_WEIGHT: Final = 0.5
"""What a place weighs over one that is a level stronger; with a third or with two thirds the order
of the intervals is rarely another."""


def emphasis_above(
    passage: Passage, pitch: int, collections: Sequence[Finding] = ()
) -> tuple[Emphasis, ...]:
    """Tell how much there is of each interval above a pitch, and how much to expect.

    Definition: of the notes of other pitch classes than the anchor's, each counts 1, its time, or
    its metrical weight. Were every member of a scale but the anchor as likely, a note in a scale of
    m of them would be this one with 1/m; the expected share is the mean of that over the notes,
    each in the scale of its stretch, or in all twelve where none was found.

    Args:
        passage: what is studied.
        pitch: the anchor's.
        collections: what was found of its scales; those that count ringing strings are left out.

    Returns:
        A row for each interval that occurs, 1..11, rising; empty if nothing is above the anchor.
    """
    notes = passage.notes
    rows = np.flatnonzero(notes.is_pitched & ((notes.pitch - pitch) % 12 != 0))
    if not len(rows):
        return ()
    above = (notes.pitch[rows] - pitch) % 12
    ones = np.ones(len(rows))
    sounding = (stop_ticks(notes) - notes.onset_ticks)[rows].astype(np.float64)
    counted, timed, placed = (
        _shares(above, weights)
        for weights in (ones, sounding, _metrical_weights(passage, notes.onset_ticks[rows]))
    )
    expected = _expected(passage, notes.onset_ticks[rows], pitch, collections)
    return tuple(
        Emphasis(
            semitones=n,
            count_share=float(counted[n]),
            time_share=float(timed[n]),
            metrical_share=float(placed[n]),
            expected_share=float(expected[n]),
        )
        for n in np.unique(above).tolist()
    )


def _shares(above: Ints, weights: Floats) -> Floats:
    sums = np.bincount(above, weights=weights, minlength=12)
    shares: Floats = sums / max(float(sums.sum()), 1e-12)
    return shares


def _metrical_weights(passage: Passage, onset_ticks: Ints) -> Floats:
    """Weigh each onset by its place in the bar. Shape: (notes,)."""
    moments, row = np.unique(onset_ticks, return_inverse=True)
    weights = []
    for ticks in moments.tolist():
        at = passage.notes.quarters(ticks)
        bar = passage.bar_at(at)
        weights.append(DIVISION_WEIGHT ** -place_weight(bar.metre, at - bar.start_quarters))
    weighed: Floats = np.array(weights)[row]
    return weighed


def _expected(
    passage: Passage, onset_ticks: Ints, pitch: int, collections: Sequence[Finding]
) -> Floats:
    """Give the share of each interval if all members of the scales came alike. Shape: (12,)."""
    per_quarter = passage.notes.ticks_per_quarter
    masks = np.full(len(onset_ticks), ALL_TWELVE, dtype=np.int64)
    for found in collections:
        if isinstance(found.what, Collection) and not found.what.with_drone:
            for span in found.spans:
                first, last = np.searchsorted(
                    onset_ticks,
                    [int(at * per_quarter) for at in (span.start_quarters, span.end_quarters)],
                )
                masks[first:last] = mask_of(found.what.pcs)
    kinds, counts = np.unique(masks, return_counts=True)
    expected = np.zeros(12)
    for mask, count in zip(kinds.tolist(), counts.tolist(), strict=True):
        members = [n for n in range(1, 12) if mask >> (pitch + n) % 12 & 1]
        expected[members] += count / len(members)
    shares: Floats = expected / len(onset_ticks)
    return shares
