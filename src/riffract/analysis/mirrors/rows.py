"""Rows of things that may mirror: attacks, values and rests, the notes of one voice."""

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

import numpy as np

from riffract.analysis.attacks import Attack, held_until
from riffract.analysis.description import numbered
from riffract.analysis.finding import AttackContent
from riffract.analysis.reordering import Floats, Ids, Reordering
from riffract.analysis.saying import say
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
            end=held_until(passage, a),
            content=a.content,
            note=_highest_note(passage, a),
        )
        for a in attacks
    ]


def _highest_note(passage: Passage, attack: Attack) -> int | None:
    pitched = [i for i in attack.notes if passage.notes.is_pitched[i]]
    return max(pitched, key=lambda i: int(passage.notes.pitch[i]), default=None)


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
        end = held_until(passage, attack)
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


def stroke_items(
    struck: Sequence[Attack], members: Collection[int], passage: Passage
) -> list[Item]:
    """List strokes, each until the next one; the last one is left out.

    Args:
        struck: the attacks that are strokes.
        members: the notes that make them so.
        passage: where they are.
    """
    items = []
    for attack, following in pairwise(struck):
        notes = [i for i in attack.notes if i in members]
        pitches = [int(passage.notes.pitch[i]) for i in notes if passage.notes.is_pitched[i]]
        content = AttackContent(
            pitches=tuple(sorted(pitches)),
            value_quarters=following.onset_quarters - attack.onset_quarters,
        )
        items.append(
            Item(
                attack=attack.index,
                start=attack.onset_quarters,
                end=following.onset_quarters,
                content=content,
                note=min(notes),
            )
        )
    return items


def pitches_of(voice: Sequence[Item]) -> Ids:
    """Give the pitches of a voice. Shape: (notes,)."""
    return np.array([item.content.pitches[0] for item in voice], dtype=np.int64)


def interval_reordering(voice: Sequence[Item], of_lines: Callable[[Ids], Floats]) -> Reordering:
    """Ask a statistic of lines that make the same intervals in another order.

    Args:
        voice: the line, one pitch an item.
        of_lines: the statistic; takes lines, shape (lines, notes), as semitones above the lowest
            note of each.
    """
    intervals = np.diff(pitches_of(voice))

    def statistic(orders: Ids) -> Floats:
        steps = intervals[orders]
        lines = np.concatenate([np.zeros((len(steps), 1), dtype=np.int64), steps], axis=1)
        lines = np.cumsum(lines, axis=1)
        return of_lines(lines - lines.min(axis=1, keepdims=True))

    return Reordering(
        items=numbered(intervals.tolist()),
        attacks=np.array([item.attack for item in voice[1:]], dtype=np.int64),
        statistic=statistic,
        kept=say("rhythm and intervals of the moving voice kept, the intervals reordered"),
        one_note_weighs=0.0,
        are_steps=True,
    )


def scale_step_reordering(voice: Sequence[Item], of_lines: Callable[[Ids], Floats]) -> Reordering:
    """Ask a statistic of lines that make the same steps of the scale in another order.

    Definition: the scale is what pitch classes the voice has, in all octaves between its lowest and
    its highest note; a step is how many places of it the voice moves. A line that would leave that
    compass turns back at its end. So lines stay in the scale, as smooth and as wide as the voice:
    pitches in another order lose the smoothness, intervals in another order the scale.

    Args:
        voice: the line, one pitch an item.
        of_lines: the statistic; takes lines, shape (lines, notes), as semitones above the lowest
            note of the voice.
    """
    pitches = pitches_of(voice)
    gamut = np.arange(pitches.min(), pitches.max() + 1)
    gamut = gamut[np.isin(gamut % 12, pitches % 12)]
    places = np.searchsorted(gamut, pitches)
    steps, turn = np.diff(places), max(2 * (len(gamut) - 1), 1)

    def statistic(orders: Ids) -> Floats:
        lines = np.empty((len(orders), len(places)), dtype=np.int64)
        lines[:, 0] = places[0]
        lines[:, 1:] = places[0] + np.cumsum(steps[orders], axis=1)
        lines %= turn
        return of_lines(gamut[np.minimum(lines, turn - lines)] - gamut[0])

    return Reordering(
        items=numbered(steps.tolist()),
        attacks=np.array([item.attack for item in voice[1:]], dtype=np.int64),
        statistic=statistic,
        kept=say("rhythm, scale and compass of the moving voice kept, its scale steps reordered"),
        one_note_weighs=0.0,
        are_steps=True,
    )
