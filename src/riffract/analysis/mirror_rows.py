"""Rows of things that may mirror: attacks, values and rests, the notes of one voice."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby

import numpy as np

from riffract.analysis.attacks import Attack
from riffract.analysis.cover import numbered
from riffract.analysis.finding import AttackContent
from riffract.analysis.palindrome import Axis
from riffract.analysis.reordering import Ids
from riffract.music import Passage


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One thing in a row.

    Attributes:
        attack: index of the attack it belongs to; for a rest, of the attack before it.
        start, end: when.
        content: what is compared.
        note: the note that stands for it; `None` for a rest and for attacks without pitch.
    """

    attack: int
    start: Fraction
    end: Fraction
    content: AttackContent
    note: int | None


def attack_items(passage: Passage, attacks: Sequence[Attack]) -> list[Item]:
    """List the attacks, each for as long as it is held."""
    return [
        Item(
            attack=a.index,
            start=a.onset_quarters,
            end=_held_until(passage, a),
            content=a.content,
            note=_highest_note(passage, a),
        )
        for a in attacks
    ]


def _highest_note(passage: Passage, attack: Attack) -> int | None:
    pitched = [i for i in attack.notes if passage.notes.is_pitched[i]]
    return max(pitched, key=lambda i: int(passage.notes.pitch[i]), default=None)


def _held_until(passage: Passage, attack: Attack) -> Fraction:
    notes = passage.notes
    held = max(notes.quarters(notes.duration_ticks[i]) for i in attack.notes)
    return attack.onset_quarters + min(held, attack.value_quarters)


def voice_items(passage: Passage, attacks: Sequence[Attack], lead: Sequence[int]) -> list[Item]:
    """List the notes of one voice, each for as long as it is held."""
    notes = passage.notes
    if not lead:
        return []
    attack_of = {i: a.index for a in attacks for i in a.notes}
    starts = [notes.quarters(notes.onset_ticks[i]) for i in lead]
    nexts = [*starts[1:], passage.length_quarters]
    held = [notes.quarters(notes.onset_ticks[i] + notes.duration_ticks[i]) for i in lead]
    ends = [min(pair) for pair in zip(held, nexts, strict=True)]
    return [
        Item(
            attack=attack_of[i],
            start=start,
            end=end,
            content=AttackContent(pitches=(int(notes.pitch[i]),), value_quarters=end - start),
            note=i,
        )
        for i, start, end in zip(lead, starts, ends, strict=True)
    ]


def value_items(passage: Passage, attacks: Sequence[Attack]) -> list[Item]:
    """List the attacks for as long as they are held, and the rests between them."""
    items: list[Item] = []
    for attack in attacks:
        next_onset = attack.onset_quarters + attack.value_quarters
        end = _held_until(passage, attack)
        note = attack.notes[-1]
        content = AttackContent(pitches=attack.pitches, value_quarters=end - attack.onset_quarters)
        start = attack.onset_quarters
        items.append(Item(attack=attack.index, start=start, end=end, content=content, note=note))
        is_last = attack.index == len(attacks) - 1
        if end < next_onset and not is_last:
            rest = AttackContent(pitches=(), value_quarters=next_onset - end)
            items.append(
                Item(attack=attack.index, start=end, end=next_onset, content=rest, note=None)
            )
    return items


def pitches_of(voice: Sequence[Item]) -> Ids:
    """Give the pitches of a voice. Shape: (notes,)."""
    return np.array([item.content.pitches[0] for item in voice], dtype=np.int64)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class JoinedRow:
    """A row whose equal neighbours are joined, since a repeated item mirrors itself for nothing.

    Attributes:
        row: numbers that tell apart what comes, and how often in a row. Shape: (runs,).
        runs: first and last item of each run.
    """

    row: Ids
    runs: tuple[tuple[int, int], ...]

    @classmethod
    def of(cls, row: Ids) -> "JoinedRow":
        """Join the equal neighbours of a row.

        >>> joined = JoinedRow.of(np.array([7, 7, 3, 7, 3]))
        >>> joined.row.tolist(), joined.runs
        ([0, 1, 2, 1], ((0, 1), (2, 2), (3, 3), (4, 4)))
        """
        runs: list[tuple[int, int]] = []
        keys: list[tuple[int, int]] = []
        for number, group in groupby(range(len(row)), key=lambda k: int(row[k])):
            run = list(group)
            runs.append((run[0], run[-1]))
            keys.append((number, len(run)))
        return cls(row=numbered(keys), runs=tuple(runs))

    def unfolded(self, axis: Axis) -> tuple[int, list[tuple[int, int]]]:
        """Turn an axis among runs into one among items.

        Returns:
            Twice its place, and its pairs outwards. A run in the middle pairs with itself. Of two
            partners of different length the inner ends pair.
        """
        first, last = self.runs[axis.doubled // 2]
        if axis.doubled % 2:
            first, last = last, self.runs[axis.doubled // 2 + 1][0]
        # Between two runs the innermost items are neighbours; in a run its ends meet in the middle.
        pairs = (
            [(first + k, last - k) for k in reversed(range((last - first + 1) // 2))]
            if axis.doubled % 2 == 0
            else []
        )
        for outwards in range(axis.reach_pairs):
            left, right = axis.pair(outwards)
            (left_first, left_last), (right_first, right_last) = self.runs[left], self.runs[right]
            both = min(left_last - left_first, right_last - right_first) + 1
            pairs += [(left_last - k, right_first + k) for k in range(both)]
        return first + last, pairs
