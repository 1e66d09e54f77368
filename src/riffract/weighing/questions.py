"""What to ask of chance for each kind of finding whose analysis does not ask it itself."""

from collections.abc import Sequence
from math import exp, lgamma, log, log1p
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.analysis.attacks import Attack
from riffract.analysis.description import numbered
from riffract.analysis.finding import Anchor, Finding, How, Reading, Sonority
from riffract.analysis.limbs import TOLERANCE_SEMITONES
from riffract.analysis.reordering import Floats, Ids, Reordering
from riffract.analysis.set_class import set_classes
from riffract.analysis.sounding import SILENT, sounding_slices
from riffract.music import Passage
from riffract.music.notes import NO_PITCH

EMPHASISED_SEMITONES: Final = (1, 3)
"""Intervals above the lowest open string that a dark riff may lean on: semitone, minor third."""


def gesture_question(passage: Passage, attacks: Sequence[Attack], lead: Ids) -> Reordering:
    """Ask how smooth the limbs are, were the intervals of the voice in another order."""
    intervals = np.diff(passage.notes.pitch[lead])
    return Reordering(
        items=numbered(intervals.tolist()),
        attacks=_attacks_of(attacks, lead)[1:],
        statistic=lambda orders: -limb_cost(intervals[orders]),
        kept="intervals of the moving voice kept, their order changed",
        one_note_weighs=TOLERANCE_SEMITONES,
    )


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


class SonorityQuestions:
    """Ask how often a set class would sound, were the pitches of the moving voice reordered.

    All else stays: the rhythm, the ringing strings, the low string's strokes, the chords' other
    notes.
    """

    def __init__(self, passage: Passage, attacks: Sequence[Attack], lead: Ids) -> None:
        notes = passage.notes
        self._lead_pcs = notes.pitch[lead] % 12
        self._attacks = _attacks_of(attacks, lead)
        place = np.full(len(notes) + 1, -1, dtype=np.int64)
        place[lead] = np.arange(len(lead))
        self._fixed: dict[How, Ids] = {}
        self._moving: dict[How, Ids] = {}
        struck = [np.array(a.notes, dtype=np.int64) for a in attacks if len(a.pitches) >= 3]
        self._add("struck", struck, notes.pitch, place)
        slices = sounding_slices(notes).note
        ringing = [row[row != SILENT] for row in slices if (row != SILENT).sum() >= 3]
        self._add("ringing", ringing, notes.pitch, place)

    def _add(self, how: How, rows: Sequence[Ids], pitch: Ids, place: Ids) -> None:
        """Take in what sounds together: which pitch classes stay, and which notes move."""
        moving = np.full((len(rows), max(map(len, rows), default=0)), -1, dtype=np.int64)
        fixed = np.zeros(len(rows), dtype=np.int64)
        for k, row in enumerate(rows):
            pitched = row[pitch[row] != NO_PITCH]
            still = pitched[place[pitched] < 0]
            fixed[k] = np.bitwise_or.reduce(1 << (pitch[still] % 12), initial=0)
            here = place[pitched][place[pitched] >= 0]
            moving[k, : len(here)] = here
        self._fixed[how], self._moving[how] = fixed, moving

    def of(self, what: Sonority) -> tuple[Reordering, ...]:
        """Ask about one sonority.

        A row of three notes has to stand against lines of the same intervals in another order as
        well, since a line that moves in small steps makes small sets.
        """
        wanted = int(_class_numbers()[sum(1 << pc for pc in what.prime_form)])
        in_a_row = what.how == "in_succession"
        reordered = Reordering(
            items=numbered(self._lead_pcs.tolist()),
            attacks=self._attacks,
            statistic=lambda orders: self._counts(self._lead_pcs[orders], what.how, wanted),
            kept="rhythm, ringing strings and low strokes kept, the moving voice reordered",
            one_note_weighs=3.0 if in_a_row else 1.0,
        )
        if not in_a_row:
            return (reordered,)
        intervals = np.diff(self._lead_pcs)
        walk = Reordering(
            items=numbered((intervals % 12).tolist()),
            attacks=self._attacks[1:],
            statistic=lambda orders: self._counts(
                np.cumsum(intervals[orders], axis=1) % 12, what.how, wanted
            ),
            kept="intervals of the moving voice kept, their order changed",
            one_note_weighs=3.0,
        )
        return reordered, walk

    def _counts(self, pcs: Ids, how: How, wanted: int) -> Floats:
        if how == "in_succession":
            masks = (1 << pcs[:, :-2]) | (1 << pcs[:, 1:-1]) | (1 << pcs[:, 2:])
        else:
            moving = self._moving[how]
            masks = np.tile(self._fixed[how], (len(pcs), 1))
            for notes in moving.T:
                masks |= np.where(notes >= 0, 1 << pcs[:, np.maximum(notes, 0)], 0)
        return np.asarray((_class_numbers()[masks] == wanted).sum(axis=1), dtype=np.float64)


def _class_numbers() -> NDArray[np.int64]:
    return set_classes()[1]


def emphasis_p(
    finding: Finding,
    passage: Passage,
    lead: Ids,
    readings: Sequence[Reading],
    *,
    notes_left_out: int = 0,
) -> float:
    """Tell how likely the low string would be answered as often by one of two intervals.

    Definition: of n notes of the moving voice, c lie a semitone (or a minor third) above the
    lowest open string, in any octave. Were each of its K pitch classes as likely, so many or more
    would with the chance of a binomial tail; the smaller of the two tails counts, twice, since two
    were looked at. Of a riff that comes back, only the template is counted. `notes_left_out` of the
    c do not count.
    """
    if not isinstance(finding.what, Anchor) or not len(lead):
        return 1.0
    kept = lead
    if readings:
        onsets = [passage.notes.quarters(t) for t in passage.notes.onset_ticks[lead]]
        inside = [any(r.template.holds(at) for r in readings) for at in onsets]
        kept = lead[np.array(inside, dtype=np.bool_)]
    above = (passage.notes.pitch[kept] - finding.what.pitch) % 12
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


def _attacks_of(attacks: Sequence[Attack], lead: Ids) -> Ids:
    attack_of = {i: a.index for a in attacks for i in a.notes}
    return np.array([attack_of[i] for i in lead.tolist()], dtype=np.int64)
