"""When a string stops sounding: the one rule that all readers share."""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from riffract.music import Technique

STOPS_RINGING: Final = Technique.PALM_MUTE | Technique.DEAD


@dataclass(frozen=True, slots=True, kw_only=True)
class Struck:
    """What the rule needs to know of a note.

    Attributes:
        onset_quarters, end_quarters: start and end of its written value.
        string: 1 is the highest-lying string.
        techniques: how it is played.
        let_ring_end_quarters: the end of the let-ring sign that covers it, if the sign has one.
        stop_quarters: when the string stops, if that is said outright.
    """

    onset_quarters: Fraction
    end_quarters: Fraction
    string: int
    techniques: Technique
    let_ring_end_quarters: Fraction | None = None
    stop_quarters: Fraction | None = None


def ring_ends(notes: Sequence[Struck], passage_end_quarters: Fraction) -> list[Fraction]:
    """Tell for each note when its string really stops sounding, in quarters.

    The rule, in order of strength:

    1. A note never sounds on past the next note on its own string.
    2. A note of which is said when it stops does so.
    3. A palm-muted or dead note stops with its written value.
    4. A note with let ring sounds on until its let-ring sign ends, and to the end of the passage
       if no end is written; but at least for its written value.
    5. Any other note stops with its written value.

    Args:
        notes: in any order; no two of them start together on one string.
        passage_end_quarters: where the last bar ends.

    Returns:
        One moment for each note, in the order given, always later than the note's onset.

    Source: common practice; notation often leaves ringing out, so what is written is a minimum.

    >>> low = Struck(onset_quarters=Fraction(0), end_quarters=Fraction(1), string=6,
    ...              techniques=Technique.LET_RING)
    >>> next_one = Struck(onset_quarters=Fraction(3), end_quarters=Fraction(4), string=6,
    ...                   techniques=Technique(0))
    >>> [str(end) for end in ring_ends([low, next_one], Fraction(8))]
    ['3', '4']
    """
    onsets: dict[int, list[Fraction]] = {}
    for note in sorted(notes, key=lambda n: n.onset_quarters):
        onsets.setdefault(note.string, []).append(note.onset_quarters)
    return [_ring_end(note, onsets[note.string], passage_end_quarters) for note in notes]


def _ring_end(note: Struck, onsets: Sequence[Fraction], passage_end: Fraction) -> Fraction:
    end = note.end_quarters
    if note.stop_quarters is not None and note.stop_quarters > note.onset_quarters:
        end = min(note.stop_quarters, max(end, passage_end))
    elif Technique.LET_RING in note.techniques and not note.techniques & STOPS_RINGING:
        sign_end = note.let_ring_end_quarters
        end = max(end, passage_end if sign_end is None else sign_end)
    later = bisect_right(onsets, note.onset_quarters)
    return min(end, onsets[later]) if later < len(onsets) else end
