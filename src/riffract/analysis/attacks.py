"""Attacks: notes that start together; and the moving voice that runs through them."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby

import numpy as np

from riffract.analysis.finding import AttackContent
from riffract.music import NoteTable, Passage


@dataclass(frozen=True, slots=True, kw_only=True)
class Attack:
    """Notes that start at one moment.

    Attributes:
        index: its place among the passage's attacks, from 0.
        onset_quarters: when.
        value_quarters: time to the next attack; for the last one, to the end of the passage.
        notes: indices of its notes, from the lowest-lying string up.
        pitches: their MIDI pitches, rising; dead notes have none.
    """

    index: int
    onset_quarters: Fraction
    value_quarters: Fraction
    notes: tuple[int, ...]
    pitches: tuple[int, ...]

    @property
    def content(self) -> AttackContent:
        """What a comparison with another attack looks at."""
        return AttackContent(pitches=self.pitches, value_quarters=self.value_quarters)


def attacks_of(passage: Passage) -> tuple[Attack, ...]:
    """Group the notes of a passage by onset, in order of time; empty for a passage of rests."""
    notes = passage.notes
    groups = [
        (onset, tuple(rows))
        for onset, rows in groupby(range(len(notes)), key=lambda i: int(notes.onset_ticks[i]))
    ]
    onsets = [notes.quarters(onset) for onset, _ in groups]
    ends = [*onsets[1:], passage.length_quarters]
    return tuple(
        Attack(
            index=index,
            onset_quarters=start,
            value_quarters=end - start,
            notes=rows,
            pitches=tuple(sorted(int(notes.pitch[i]) for i in rows if notes.is_pitched[i])),
        )
        for index, ((_, rows), start, end) in enumerate(zip(groups, onsets, ends, strict=True))
    )


def anchor_notes(passage: Passage) -> frozenset[int]:
    """List the notes that are the lowest open string struck open, dead notes apart."""
    notes = passage.notes
    is_anchor = (
        (notes.string == passage.tuning.lowest_string) & (notes.fret == 0) & notes.is_pitched
    )
    return frozenset(np.flatnonzero(is_anchor).tolist())


def lead_notes(
    notes: NoteTable, attacks: Sequence[Attack], *, without: Collection[int]
) -> tuple[int, ...]:
    """Choose the moving voice: of each attack, the highest pitched note that is not left out.

    The rule is a convention, and the analyst may set another voice by hand: ringing strings and
    the lowest open string are usually left out, since they hold still while the voice moves.

    Args:
        notes: the passage's notes.
        attacks: its attacks.
        without: indices of notes that are not of the moving voice.

    Returns:
        Indices of notes by time; attacks with nothing left give none.
    """
    chosen = []
    for attack in attacks:
        rest = [i for i in attack.notes if i not in without and notes.is_pitched[i]]
        if rest:
            chosen.append(max(rest, key=lambda i: (int(notes.pitch[i]), -int(notes.string[i]))))
    return tuple(chosen)
