"""How solid it is that the riff leans on one interval above the lowest open string."""

from collections.abc import Sequence
from math import exp, lgamma
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.analysis.anchors.find import find_anchor
from riffract.analysis.finding import Anchor, Finding
from riffract.analysis.reordering import Ids
from riffract.analysis.saying import say
from riffract.music import Span
from riffract.weighing.verdict import LIKELY_Q
from riffract.weighing.view import View
from riffract.weighing.weighed import Weighed, computed_chance

EMPHASISED_SEMITONES: Final = (1, 3)
"""Intervals above the lowest open string that a dark riff may lean on: semitone, minor third."""

EVENNESS: Final = 8.0
"""How evenly a riff uses its pitch classes, as the parameter of a Dirichlet distribution: the share
of one of seven then varies by a third of itself from riff to riff. If all were used alike but for
chance, a riff that has a favourite note at all would be told whenever that is one of the two."""

_MODEL = (
    "each pitch class of the moving voice as likely beforehand, or each note of its scales, "
    "whichever gives more, some favoured in every riff; the riff counted once"
)


def weighed_anchors(view: View, collections: Sequence[Finding] = ()) -> list[Weighed]:
    """Weigh what sits above the lowest open string.

    Args:
        view: what is known of the passage.
        collections: what was found of its scales.
    """
    return [
        Weighed(
            finding=found,
            chance=computed_chance(
                emphasis_p(found, view), observed=0.0, model=say(_MODEL), seed=view.seed
            ),
            survives=emphasis_p(found, view, notes_left_out=1) <= LIKELY_Q,
        )
        for found in find_anchor(view.passage, view.attacks, collections=collections)
    ]


def emphasis_p(finding: Finding, view: View, *, notes_left_out: int = 0) -> float:
    """Tell how likely the low string would be answered as often by one of two intervals.

    Definition: of n notes of the moving voice, c lie a semitone (or a minor third) above the
    anchor, in any octave. Be each of its K pitch classes as likely beforehand, or each member of
    its scales, whichever gives the interval more often; but a riff favours some of its notes
    whatever they are, so that the shares themselves are drawn from a Dirichlet distribution. So
    many or more would then lie there with the chance of a beta-binomial tail; the smaller of the
    two tails counts, twice, since two were looked at. A riff that comes back is counted
    once. `notes_left_out` of the c do not count.
    """
    if not isinstance(finding.what, Anchor) or not view.lead:
        return 1.0
    above = (view.passage.notes.pitch[_counted(view)] - finding.what.pitch) % 12
    kinds = len(np.unique(above))
    if kinds < 2:
        return 1.0
    by_scale = {one.semitones: one.expected_share for one in finding.what.emphasis}
    tails = [
        _tail(
            len(above),
            int((above == semitones).sum()) - notes_left_out,
            max(1.0 / kinds, by_scale.get(semitones, 0.0)),
            kinds,
        )
        for semitones in EMPHASISED_SEMITONES
    ]
    return min(1.0, len(tails) * min(tails))


def _counted(view: View) -> Ids:
    """Give the notes of the moving voice, those of a riff that comes back only once.

    Once is in its template; what lies outside all passes counts as well.
    """
    kept = view.lead_ids
    onsets = view.passage.notes.onset_ticks[kept]
    repeats = np.zeros(len(kept), dtype=np.bool_)
    for reading in view.readings:
        for one in reading.passes:
            repeats |= _within(view, onsets, one.span)
    for reading in view.readings:
        repeats &= ~_within(view, onsets, reading.template)
    return kept[~repeats]


def _within(view: View, onset_ticks: Ids, span: Span) -> NDArray[np.bool_]:
    per_quarter = view.passage.notes.ticks_per_quarter
    first, last = int(span.start_quarters * per_quarter), int(span.end_quarters * per_quarter)
    inside: NDArray[np.bool_] = (onset_ticks >= first) & (onset_ticks < last)
    return inside


def _tail(count: int, at_least: int, share: float, kinds: int) -> float:
    """Chance of so many or more under a beta-binomial; in logarithms, since its terms are huge."""
    a = share * kinds * EVENNESS
    b = (1.0 - share) * kinds * EVENNESS
    whole = lgamma(a) + lgamma(b) - lgamma(a + b)
    terms = [
        exp(
            lgamma(count + 1)
            - lgamma(k + 1)
            - lgamma(count - k + 1)
            + lgamma(k + a)
            + lgamma(count - k + b)
            - lgamma(count + a + b)
            - whole
        )
        for k in range(max(at_least, 0), count + 1)
    ]
    return min(float(sum(terms)), 1.0)
