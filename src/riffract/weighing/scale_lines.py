"""How well lines keep to a scale, whichever it is: the music and others of the same intervals.

A riff that uses seven pitch classes of twelve has chosen them; that the seven are a scale is for
the vocabulary to say (see `of_collections`). That it keeps to them, note for note, is for the
notes: a voice that moved by the same intervals in another order would soon leave any scale.
"""

from functools import cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.analysis.attacks import anchor_notes
from riffract.analysis.collections.form import FAMILIES, FORMS
from riffract.analysis.description import numbered
from riffract.analysis.finding import Finding
from riffract.analysis.reordering import Floats, Ids, Reordering
from riffract.analysis.saying import say
from riffract.weighing.view import View

FEWEST_LEAD_NOTES: Final = 6
"""A line of fewer has too few orders of its intervals to ask anything of them."""

_OUTSIDE, _INSIDE = 1, 9
"""The beta prior of a foreign note's probability, as in `collections.evidence`."""


def scale_question(view: View, found: Finding, *, with_drone: bool) -> Reordering | None:
    """Ask how well the moving notes would keep to a scale, were the intervals in another order.

    All that is struck together moves together. The statistic is that of the best of all forms, so
    that the choice is paid for.

    Args:
        view: what is known of the passage.
        found: a collection; the notes within its spans are asked.
        with_drone: whether ringing strings count; they stay where they are.

    Returns:
        The row of intervals of the moving voice; `None` if the line is too short.
    """
    notes = view.passage.notes
    inside = _inside(view, found)
    is_lead = inside[view.lead_ids]
    lead, attacks = view.lead_ids[is_lead], view.attack_of_lead[is_lead]
    if len(lead) < FEWEST_LEAD_NOTES:
        return None
    place = {attack: k for k, attack in enumerate(attacks.tolist())}
    still = (view.drone_notes | anchor_notes(view.passage)) - frozenset(view.lead)
    members = [
        (place[a.index], i)
        for a in view.attacks
        if a.index in place
        for i in a.notes
        if i not in still and notes.is_pitched[i]
    ]
    at, rows = np.array(members, dtype=np.int64).T
    fixed = np.zeros(12)
    if with_drone:
        ringing = [i for i in sorted(view.drone_notes) if inside[i]]
        fixed = np.bincount(notes.pitch[ringing] % 12, minlength=12).astype(np.float64)
    line = ScaleLines(
        first_pitch=int(notes.pitch[lead[0]]),
        intervals=np.diff(notes.pitch[lead]),
        attack=at,
        above_lead=notes.pitch[rows] - notes.pitch[lead][at],
        fixed=fixed,
    )
    return Reordering(
        items=numbered(line.intervals.tolist()),
        attacks=attacks[1:],
        statistic=line.best_scores,
        kept=say(
            "intervals of the moving voice and what is struck with it kept, their order changed"
        ),
        one_note_weighs=ONE_NOTE_WEIGHS,
        are_steps=True,
    )


ONE_NOTE_WEIGHS: Final = 2.0
"""Powers of ten that one note more outside a scale takes away, at most: a member of five has a
chance of .18, an outsider of seven of .0014 in a long line."""


def _inside(view: View, found: Finding) -> NDArray[np.bool_]:
    """Say of each note whether it starts within the spans of a finding."""
    notes = view.passage.notes
    bounds = [
        int(at * notes.ticks_per_quarter)
        for span in found.spans
        for at in (span.start_quarters, span.end_quarters)
    ]
    odd: NDArray[np.bool_] = np.searchsorted(bounds, notes.onset_ticks, side="right") % 2 == 1
    return odd


class ScaleLines:
    """A line and what is struck with it, ready to be asked again in other orders."""

    def __init__(
        self, *, first_pitch: int, intervals: Ids, attack: Ids, above_lead: Ids, fixed: Floats
    ) -> None:
        """Take in the line.

        Args:
            first_pitch: of the moving voice.
            intervals: of the moving voice. Shape: (attacks - 1,).
            attack: of each moving note, the moving voice's own among them. Shape: (notes,).
            above_lead: how far it lies above the moving voice, in semitones. Shape: (notes,).
            fixed: notes of each pitch class that stay. Shape: (12,).
        """
        self.intervals = intervals
        self._first, self._attack, self._above, self._fixed = first_pitch, attack, above_lead, fixed
        self._scores = _scores_by_count(len(attack) + int(fixed.sum()))

    def best_scores(self, orders: Ids) -> Floats:
        """Give the score of the form that explains each line best. Shape: (orders,).

        Definition: with n notes, j of them outside a form of m members, the score is

            log10 [ B(1 + j, 9 + n - j) / B(1, 9) / (m^(n - j) (12 - m)^j) ] + n log10 12

        plus the form's prior: powers of ten in favour of the form over notes drawn from all twelve.
        """
        lead = np.zeros((len(orders), len(self.intervals) + 1), dtype=np.int64)
        np.cumsum(self.intervals[orders], axis=1, out=lead[:, 1:])
        pcs = (lead[:, self._attack] + self._above + self._first) % 12
        rows = 12 * np.arange(len(orders))[:, np.newaxis]
        counts = np.bincount((pcs + rows).ravel(), minlength=12 * len(orders)).reshape(-1, 12)
        inside = np.rint((counts + self._fixed) @ _members().T).astype(np.int64)
        scores: Floats = self._scores[_family_of_form(), inside].max(axis=1)
        return scores


def _scores_by_count(notes: int) -> Floats:
    """Tabulate the scores by family and notes inside. Shape: (families, notes + 1)."""
    inside = np.arange(notes + 1, dtype=np.float64)
    outside = notes - inside
    # B(1 + j, 9 + n - j) / B(1, 9) = 9 j! (8 + n - j)! / (9 + n)!, in logarithms.
    logs = np.concatenate([[0.0], np.cumsum(np.log(np.arange(1, notes + _INSIDE + 1)))])
    strays = (
        np.log(_INSIDE)
        + logs[outside.astype(np.int64)]
        + logs[inside.astype(np.int64) + _INSIDE - 1]
        - logs[notes + _INSIDE]
    )
    rows = [
        strays
        - inside * np.log(family.size)
        - outside * np.log(12 - family.size)
        + notes * np.log(12)
        + np.log(family.prior / family.forms)
        for family in FAMILIES[:-1]
    ]
    scores: Floats = np.array(rows) / np.log(10)
    return scores


@cache
def _members() -> Floats:
    """Say which pitch classes each form but the chromatic one holds. Shape: (forms, 12)."""
    return np.array([[float(form.mask >> pc & 1) for pc in range(12)] for form in FORMS[:-1]])


@cache
def _family_of_form() -> Ids:
    return np.repeat(np.arange(len(FAMILIES) - 1), [family.forms for family in FAMILIES[:-1]])
