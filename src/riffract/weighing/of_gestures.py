"""What to ask of chance for the shape of the moving voice."""

import numpy as np

from riffract.analysis.description import numbered
from riffract.analysis.gestures.limbs import TOLERANCE_SEMITONES
from riffract.analysis.reordering import Floats, Ids, Reordering
from riffract.analysis.saying import say
from riffract.weighing.view import View
from riffract.weighing.weighed import Asked


def asked_gestures(view: View) -> list[Asked]:
    """Ask how smooth the limbs are, were the intervals of the voice in another order."""
    intervals = np.diff(view.passage.notes.pitch[view.lead_ids])
    question = Reordering(
        items=numbered(intervals.tolist()),
        attacks=view.attack_of_lead[1:],
        statistic=lambda orders: -limb_cost(intervals[orders]),
        kept=say("intervals of the moving voice kept, their order changed"),
        one_note_weighs=TOLERANCE_SEMITONES,
        are_steps=True,
    )
    return [Asked(finding=found, reorderings=(question,)) for found in view.gestures]


def limb_cost(intervals: Ids) -> Floats:
    """Price the cheapest split of each line into limbs, in semitones. Shape: (lines,).

    Definition: in a falling limb a step up costs its size, in a rising one a step down, in one
    that goes nowhere each step a semitone at most; each change of limb costs the tolerance. The
    smoother the line, the less it costs. (`limbs_of` finds the limbs themselves; this is the part
    of its prices that many lines can be asked for at once.)

    >>> limb_cost(np.array([[-3, -3, 1, -4, 9, 2]])).tolist()
    [5.0]
    """
    rises, falls = np.maximum(intervals, 0), np.maximum(-intervals, 0)
    nowhere = np.minimum(np.abs(intervals), 1)
    cost = np.zeros((3, len(intervals)))
    for k in range(intervals.shape[1]):
        best = cost.min(axis=0) + TOLERANCE_SEMITONES
        np.minimum(cost, best, out=cost)
        cost += (rises[:, k], falls[:, k], nowhere[:, k])
    return np.asarray(cost.min(axis=0))
