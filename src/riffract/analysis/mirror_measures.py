"""What else there is to say of a mirror: where the low string stands, where its shape bends."""

from collections.abc import Collection
from dataclasses import replace
from fractions import Fraction
from types import MappingProxyType
from typing import Final

from riffract.analysis.contour import bent_cells, similarity
from riffract.analysis.finding import Finding, Mirror
from riffract.analysis.wording import length_text
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
        detail=f"{finding.detail.rstrip('.')}; the low string is struck "
        f"{length_text(away, metre)} before the axis and after it.",
    )


def with_contour(passage: Passage, finding: Finding) -> Finding:
    """Measure how alike the contours of both limbs are, one of them turned as the mirror has it.

    `contour_similarity` is the share of pairs of notes that both limbs order alike (CSIM);
    `contour_cells_bent` counts those that they do not.
    """
    what = finding.what
    if not isinstance(what, Mirror) or what.of in {"rhythm", "weight", "density", "passes"}:
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


def _equal_distance(passage: Passage, anchors: Collection[int], what: Mirror) -> Fraction | None:
    notes = passage.notes
    onsets = [notes.quarters(notes.onset_ticks[i]) for i in anchors]
    before = min(
        (what.axis_quarters - at for at in onsets if at < what.axis_quarters), default=None
    )
    after = min((at - what.axis_quarters for at in onsets if at > what.axis_quarters), default=None)
    is_pair = before is not None and before == after and before <= what.reach_quarters
    return before if is_pair else None
