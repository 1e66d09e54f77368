"""Notes that sound at another moment than the one they are written at."""

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Final

from riffract.music import Passage
from riffract.sound.support.support import NoteSupport, RivalKind, Support, UnwrittenNote

MOVED_QUARTERS: Final = Fraction(1)
"""How far from its written place a note is still taken for the same one: slips of the pen shift by
a value of the line, seldom by more than a beat; what is further off is another note."""


def with_moved(
    passage: Passage, verdicts: Sequence[NoteSupport], unwritten: Sequence[UnwrittenNote]
) -> tuple[tuple[NoteSupport, ...], tuple[UnwrittenNote, ...]]:
    """Make one statement of two: absent here, and unwritten close by.

    Definition: a contradicted note of which nothing is heard at o and the nearest unwritten note
    of its pitch, at u with 0 < |u - o| ≤ `MOVED_QUARTERS` (the later of two equally near), are one
    note that is shifted by u - o. Each unwritten note is used once, by the earlier note.

    Returns:
        The verdicts, those of moved notes with their shift; the unwritten notes that are left.
    """
    left = list(unwritten)
    told = []
    for verdict in verdicts:
        found = _same_note(passage, verdict, left)
        if found is None or verdict.rival is None:
            told.append(verdict)
            continue
        left.remove(found)
        shift = found.quarters - passage.notes[verdict.note].onset_quarters
        told.append(replace(verdict, rival=replace(verdict.rival, shift_quarters=shift)))
    return tuple(told), tuple(left)


def _same_note(
    passage: Passage, verdict: NoteSupport, unwritten: Sequence[UnwrittenNote]
) -> UnwrittenNote | None:
    is_absent = verdict.rival is not None and verdict.rival.kind is RivalKind.ABSENT
    if verdict.support is not Support.CONTRADICTED or not is_absent:
        return None
    note = passage.notes[verdict.note]
    near = [
        u
        for u in unwritten
        if u.pitch == note.pitch and 0 < abs(u.quarters - note.onset_quarters) <= MOVED_QUARTERS
    ]
    return min(
        near, key=lambda u: (abs(u.quarters - note.onset_quarters), -u.quarters), default=None
    )
