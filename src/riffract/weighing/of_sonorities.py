"""What to ask of chance for set classes."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from riffract.analysis.description import numbered
from riffract.analysis.finding import How, Sonority
from riffract.analysis.reordering import Floats, Ids, Reordering
from riffract.analysis.saying import say
from riffract.analysis.set_class import set_classes
from riffract.analysis.sonorities.find import find_intervals, find_sonorities
from riffract.analysis.sounding import SILENT, sounding_slices
from riffract.music.notes import NO_PITCH
from riffract.weighing.view import View
from riffract.weighing.weighed import Asked, Weighed


def asked_sonorities(view: View) -> list[Asked]:
    """Find the set classes, each with the rows that it has to stand against."""
    found = find_sonorities(view.passage, view.attacks, view.limbs, drones=view.drones)
    questions = SonorityQuestions(view)
    return [
        Asked(finding=one, reorderings=questions.of(one.what))
        for one in found
        if isinstance(one.what, Sonority)
    ]


def weighed_intervals(view: View) -> list[Weighed]:
    """Tell the intervals that are struck together; nothing is asked of chance.

    Two notes that a hand holds together are one gesture, and any two make one of six intervals.
    """
    return [
        Weighed(finding=found, chance=None, is_trivial=True)
        for found in find_intervals(view.passage, view.attacks)
    ]


class SonorityQuestions:
    """Ask how often a set class would sound, were the pitches of the moving voice reordered.

    All else stays: the rhythm, the ringing strings, the low string's strokes, the chords' other
    notes.
    """

    def __init__(self, view: View) -> None:
        notes, lead = view.passage.notes, view.lead_ids
        self._lead_pcs = notes.pitch[lead] % 12
        self._attacks = view.attack_of_lead
        place = np.full(len(notes) + 1, -1, dtype=np.int64)
        place[lead] = np.arange(len(lead))
        self._fixed: dict[How, Ids] = {}
        self._moving: dict[How, Ids] = {}
        struck = [np.array(a.notes, dtype=np.int64) for a in view.attacks if len(a.pitches) >= 3]
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
        well, since a line that moves in small steps makes small sets, and against lines in which
        each pitch keeps its neighbours, since a voice that always goes on to one of two pitches
        makes the same three again and again. Rows overlap in the random lines as they do in the
        music, so that all are counted in both.
        """
        wanted = int(_class_numbers()[sum(1 << pc for pc in what.prime_form)])
        in_a_row = what.how == "in_succession"
        reordered = Reordering(
            items=numbered(self._lead_pcs.tolist()),
            attacks=self._attacks,
            statistic=lambda orders: self._counts(self._lead_pcs[orders], what.how, wanted),
            kept=say("rhythm, ringing strings and low strokes kept, the moving voice reordered"),
            one_note_weighs=3.0 if in_a_row else 1.0,
        )
        if not in_a_row:
            return (reordered,)
        intervals = np.diff(self._lead_pcs)
        walk = Reordering(
            items=numbered((intervals % 12).tolist()),
            attacks=self._attacks[1:],
            statistic=lambda orders: self._counts(
                np.cumsum(intervals[orders], axis=1), what.how, wanted
            ),
            kept=say("intervals of the moving voice kept, their order changed"),
            one_note_weighs=3.0,
            are_steps=True,
        )
        chain = replace(
            reordered,
            kept=say(
                "rhythm, ringing strings, low strokes and what follows what kept, the moving "
                "voice reordered"
            ),
            keeps_neighbours=True,
        )
        return reordered, walk, chain

    def _counts(self, pcs: Ids, how: How, wanted: int) -> Floats:
        """Count the sets of a class in each line. Shape: (lines,)."""
        masks = _rows_of_three(pcs) if how == "in_succession" else self._together(pcs, how)
        return np.asarray((_class_numbers()[masks] == wanted).sum(axis=1), dtype=np.float64)

    def _together(self, pcs: Ids, how: How) -> Ids:
        moving = self._moving[how]
        masks = np.tile(self._fixed[how], (len(pcs), 1))
        for notes in moving.T:
            masks |= np.where(notes >= 0, 1 << pcs[:, np.maximum(notes, 0)], 0)
        return masks


def _rows_of_three(pcs: Ids) -> Ids:
    """Gather the pitch classes of each three notes in a row. Shape: (lines, notes - 2)."""
    bits = 1 << pcs % 12
    masks: Ids = bits[:, :-2] | bits[:, 1:-1] | bits[:, 2:]
    return masks


def _class_numbers() -> NDArray[np.int64]:
    return set_classes()[1]
