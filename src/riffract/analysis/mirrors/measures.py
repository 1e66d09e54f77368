"""What else there is to say of a mirror: the low string in it, how its limbs fill and bend."""

from bisect import bisect_left
from collections.abc import Collection, Sequence
from dataclasses import replace
from fractions import Fraction
from math import ceil, floor
from types import MappingProxyType
from typing import Final

import numpy as np

from riffract.analysis.attacks import Attack
from riffract.analysis.contour import bent_cells, similarity
from riffract.analysis.finding import Finding, Mirror
from riffract.analysis.saying import say
from riffract.analysis.wording import heard_length_text
from riffract.music import Passage

MOST_POINTS_COMPARED: Final = 256
"""Every two notes of a limb are compared; nobody hears a shape of more."""


def with_anchor(passage: Passage, anchors: Collection[int], finding: Finding) -> Finding:
    """Say if the low string is struck last before the axis and first after it at equal distances.

    Args:
        passage: where it is.
        anchors: indices of the strokes of the lowest open string.
        finding: a mirror in time.
    """
    what = finding.what
    if not isinstance(what, Mirror) or what.of in {"inversion", "weight", "passes"}:
        return finding
    away = _equal_distance(passage, anchors, what)
    if away is None:
        return finding
    metre = passage.bar_at(what.axis_quarters).metre
    return replace(
        finding,
        measures=MappingProxyType({**finding.measures, "anchor_quarters": float(away)}),
        detail=say(
            "{detail}; the low string is struck {length} before the axis and after it.",
            detail=finding.detail.rstrip("."),
            length=heard_length_text(away, metre),
        ),
    )


def with_contour(passage: Passage, finding: Finding) -> Finding:
    """Measure how alike the contours of both limbs are, one of them turned as the mirror has it.

    `contour_similarity` is the share of pairs of notes that both limbs order alike (CSIM);
    `contour_cells_bent` counts those that they do not.
    """
    what = finding.what
    if not isinstance(what, Mirror) or what.of in {"rhythm", "weight", "passes"}:
        return finding
    pairs = what.pairs[:MOST_POINTS_COMPARED]
    if not pairs:
        return finding
    found = [int(passage.notes.pitch[p.right]) for p in pairs]
    expected = [pitch - p.semitones_off for pitch, p in zip(found, pairs, strict=True)]
    more = {
        "contour_similarity": round(similarity(expected, found), 6),
        "contour_cells_bent": float(len(bent_cells(expected, found))),
    }
    return replace(finding, measures=MappingProxyType({**finding.measures, **more}))


def with_density(passage: Passage, attacks: Sequence[Attack], finding: Finding) -> Finding:
    """Measure how alike both limbs fill with attacks, beat by beat from the axis outwards.

    `density_alike_share` is 1 - sum |l - r| / sum (l + r), where l and r are the attacks in each
    beat of the left limb and in what answers it; the left beats are as much longer as time is.
    """
    what = finding.what
    if not isinstance(what, Mirror) or what.of in {"inversion", "passes"}:
        return finding
    unit = passage.bar_at(what.axis_quarters).metre.unit_quarters
    beats = min(int(what.right.length_quarters / unit), MOST_POINTS_COMPARED)
    first = bisect_left(attacks, what.left.start_quarters, key=_onset)
    last = bisect_left(attacks, what.right.end_quarters, key=_onset)
    from_axis = np.array([float(_onset(a) - what.axis_quarters) for a in attacks[first:last]])
    edges = float(unit) * np.arange(beats + 1)
    right = np.histogram(from_axis[from_axis > 0], edges)[0]
    left = np.histogram(-from_axis[from_axis < 0], edges * what.scale)[0]
    both = int((left + right).sum())
    if not both:
        return finding
    alike = round(1.0 - float(np.abs(left - right).sum()) / both, 6)
    more = {"density_alike_share": alike}
    return replace(finding, measures=MappingProxyType({**finding.measures, **more}))


def _equal_distance(passage: Passage, anchors: Collection[int], what: Mirror) -> Fraction | None:
    notes = passage.notes
    struck = np.sort(notes.onset_ticks[list(anchors)])
    axis = what.axis_quarters * notes.ticks_per_quarter
    before = struck[: np.searchsorted(struck, ceil(axis))][-1:].tolist()
    after = struck[np.searchsorted(struck, floor(axis), side="right") :][:1].tolist()
    if not before or not after or axis - before[0] != after[0] - axis:
        return None
    away = (axis - before[0]) / notes.ticks_per_quarter
    return away if away <= what.reach_quarters else None


def _onset(attack: Attack) -> Fraction:
    return attack.onset_quarters
