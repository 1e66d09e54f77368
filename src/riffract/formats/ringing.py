"""When a string stops sounding: the one rule that all readers share."""

from collections.abc import Sequence
from fractions import Fraction
from typing import Final, Generic, NamedTuple, TypeVar

from riffract.music import Technique

Time = TypeVar("Time", Fraction, int | Fraction)
"""Quarters, or ticks: the rule is the same for both."""

STOPS_RINGING: Final = Technique.PALM_MUTE | Technique.DEAD


class Struck(NamedTuple, Generic[Time]):
    """What the rule needs to know of a note; all times in one unit, quarters or ticks.

    Attributes:
        onset, end: start and end of its written value.
        string: 1 is the highest-lying string.
        techniques: how it is played.
        let_ring_end: the end of the let-ring sign that covers it, if the sign has one.
        stop: when the string stops, if that is said outright.
    """

    onset: Time
    end: Time
    string: int
    techniques: Technique
    let_ring_end: Time | None = None
    stop: Time | None = None


def ring_ends(notes: Sequence[Struck[Time]], passage_end: Time) -> list[Time]:
    """Tell for each note when its string really stops sounding.

    The rule, in order of strength:

    1. A note never sounds on past the next note on its own string.
    2. A note of which is said when it stops does so.
    3. A palm-muted or dead note stops with its written value.
    4. A note with let ring sounds on until its let-ring sign ends, and to the end of the passage
       if no end is written; but at least for its written value.
    5. Any other note stops with its written value.

    Args:
        notes: in any order; no two of them start together on one string.
        passage_end: where the last bar ends, in the unit of the notes.

    Returns:
        One moment for each note, in the order given, always later than the note's onset.

    Source: common practice; notation often leaves ringing out, so what is written is a minimum.

    >>> low = Struck(onset=Fraction(0), end=Fraction(1), string=6, techniques=Technique.LET_RING)
    >>> next_one = Struck(onset=Fraction(3), end=Fraction(4), string=6, techniques=Technique(0))
    >>> [str(end) for end in ring_ends([low, next_one], Fraction(8))]
    ['3', '4']
    """
    next_onset: dict[int, Time] = {}
    ends: list[Time | None] = [None] * len(notes)
    for index in sorted(range(len(notes)), key=lambda i: notes[i].onset, reverse=True):
        note = notes[index]
        end = _own_end(note, passage_end)
        limit = next_onset.get(note.string)
        ends[index] = end if limit is None or end < limit else limit
        next_onset[note.string] = note.onset
    return [end for end in ends if end is not None]


def _own_end(note: Struck[Time], passage_end: Time) -> Time:
    """Tell when a note would stop if no other one followed on its string."""
    end = note.end
    if note.stop is not None and note.stop > note.onset:
        return min(note.stop, max(end, passage_end))
    if note.techniques and Technique.LET_RING in note.techniques:
        if note.techniques & STOPS_RINGING:
            return end
        return max(end, passage_end if note.let_ring_end is None else note.let_ring_end)
    return end
