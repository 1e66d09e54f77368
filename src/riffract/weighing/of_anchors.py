"""How solid it is that the riff leans on one interval above the lowest open string."""

from math import exp, lgamma, log, log1p
from typing import Final

import numpy as np

from riffract.analysis.anchor import find_anchor
from riffract.analysis.finding import Anchor, Finding
from riffract.weighing.verdict import LIKELY_Q
from riffract.weighing.view import View
from riffract.weighing.weighed import Weighed, computed_chance

EMPHASISED_SEMITONES: Final = (1, 3)
"""Intervals above the lowest open string that a dark riff may lean on: semitone, minor third."""

_MODEL = "each pitch class of the moving voice as likely, the riff counted once"


def weighed_anchors(view: View) -> list[Weighed]:
    """Weigh what sits above the lowest open string."""
    return [
        Weighed(
            finding=found,
            chance=computed_chance(
                emphasis_p(found, view), observed=0.0, model=_MODEL, seed=view.seed
            ),
            survives=emphasis_p(found, view, notes_left_out=1) <= LIKELY_Q,
        )
        for found in find_anchor(view.passage, view.attacks)
    ]


def emphasis_p(finding: Finding, view: View, *, notes_left_out: int = 0) -> float:
    """Tell how likely the low string would be answered as often by one of two intervals.

    Definition: of n notes of the moving voice, c lie a semitone (or a minor third) above the
    lowest open string, in any octave. Were each of its K pitch classes as likely, so many or more
    would with the chance of a binomial tail; the smaller of the two tails counts, twice, since two
    were looked at. Of a riff that comes back, only the template is counted. `notes_left_out` of the
    c do not count.
    """
    if not isinstance(finding.what, Anchor) or not view.lead:
        return 1.0
    kept = view.lead_ids
    if view.readings:
        onsets = [view.passage.notes.quarters(t) for t in view.passage.notes.onset_ticks[kept]]
        inside = [any(r.template.holds(at) for r in view.readings) for at in onsets]
        kept = kept[np.array(inside, dtype=np.bool_)]
    above = (view.passage.notes.pitch[kept] - finding.what.pitch) % 12
    kinds = len(np.unique(above))
    if kinds < 2:
        return 1.0
    tails = [
        _binomial_tail(len(above), int((above == semitones).sum()) - notes_left_out, 1.0 / kinds)
        for semitones in EMPHASISED_SEMITONES
    ]
    return min(1.0, len(tails) * min(tails))


def _binomial_tail(count: int, at_least: int, share: float) -> float:
    """Chance of so many or more; in logarithms, since the binomials of long lines are huge."""
    terms = [
        exp(
            lgamma(count + 1)
            - lgamma(k + 1)
            - lgamma(count - k + 1)
            + k * log(share)
            + (count - k) * log1p(-share)
        )
        for k in range(max(at_least, 0), count + 1)
    ]
    return min(float(sum(terms)), 1.0)
