"""Where a mirror turns and how far its limbs go, as one hears and says it."""

from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from riffract.analysis.finding import Mirror
from riffract.analysis.saying import say
from riffract.analysis.wording import axis_text, place_in_words
from riffract.music import Note, Passage, Span


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """A mirror's turn and limbs in whole notes.

    Attributes:
        place: `at bar 2, beat 3`, or `between the notes at bar 1, beat 11 and bar 2, beat 1`.
        left, right: the limbs; between two notes the left one lasts as long as its last.
        beyond_quarters: from the axis of the onsets to where the left limb ends.
    """

    place: str
    left: Span
    right: Span
    beyond_quarters: Fraction = Fraction(0)

    def reach_quarters(self, from_axis_quarters: Fraction) -> Fraction:
        """Count a distance from the axis to an onset in whole notes, from the turn."""
        return from_axis_quarters + self.beyond_quarters if from_axis_quarters else Fraction(0)


def turn_of(passage: Passage, what: Mirror) -> Turn:
    """Tell where a mirror turns: on a beat, or between the two notes that its axis is midway of.

    Onsets mirror about a moment that nobody counts where the turn lies between two notes; drawn as
    values the same turn is where the one ends and the other starts. Both are between the notes.
    """
    inner = _turning_notes(passage, what)
    if inner is None:
        place = say("at {place}", place=axis_text(passage, what.axis_quarters))
        return Turn(place=place, left=what.left, right=what.right)
    before, after = inner
    left_end = min(before.end_quarters, after.onset_quarters)
    there, here = (place_in_words(passage.place(note.onset_quarters)) for note in inner)
    return Turn(
        place=say("between the notes at {before} and {after}", before=there, after=here),
        left=Span(what.left.start_quarters, left_end),
        right=Span(after.onset_quarters, what.right.end_quarters),
        beyond_quarters=left_end - what.axis_quarters,
    )


def _turning_notes(passage: Passage, what: Mirror) -> tuple[Note, Note] | None:
    """Give the partners next to the axis if it is midway between their onsets and nothing is."""
    if not what.pairs:
        return None
    notes, (left, right) = passage.notes, (what.pairs[0].left, what.pairs[0].right)
    first, last = int(notes.onset_ticks[left]), int(notes.onset_ticks[right])
    is_midway = first < last and first + last == 2 * what.axis_quarters * notes.ticks_per_quarter
    nothing_between = np.searchsorted(notes.onset_ticks, first, "right") == np.searchsorted(
        notes.onset_ticks, last, "left"
    )
    return (notes[left], notes[right]) if is_midway and nothing_between else None
