"""The lines in which an idea may come back: the moving voice, each repeat of the riff left out."""

from bisect import bisect_left
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

import numpy as np

from riffract.analysis.attacks import Attack
from riffract.analysis.finding import Pass, Reading
from riffract.analysis.reordering import Floats, Ids
from riffract.music import Passage, Span

CHANGED_SHARE: Final = Fraction(1, 2)
"""A pass with more departures than this share of its attacks is music of its own: a riff that
comes back on another pitch is read as a pass of which nothing is the same but the values."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MotiveLine:
    """A line of single notes, as columns.

    Attributes:
        passage: where it stands.
        number: which passage that is: 0 the one studied, -1 the last of the earlier ones …
        notes: indices of its notes. Shape: (events,).
        heights: their MIDI pitches. Shape: (events,).
        onset_ticks: when they start. Shape: (events,).
        value_ticks: time to the next note of the line. Shape: (events,).
        segments: events of one number follow one another without a gap. Shape: (events,).
    """

    passage: Passage
    number: int
    notes: Ids
    heights: Ids
    onset_ticks: Ids
    value_ticks: Ids
    segments: Ids

    def __len__(self) -> int:
        return len(self.notes)

    @property
    def onsets(self) -> Floats:
        """When its notes start, in quarters. Shape: (events,)."""
        return np.asarray(self.onset_ticks / self.passage.notes.ticks_per_quarter)

    @property
    def values(self) -> Floats:
        """Time to the next note of the line, in quarters. Shape: (events,)."""
        return np.asarray(self.value_ticks / self.passage.notes.ticks_per_quarter)

    def note_of(self, event: int) -> int:
        """Give the note that an event is."""
        return int(self.notes[event])

    def span_of(self, events: Sequence[int]) -> Span:
        """Give the stretch from the first of some events to the end of the last."""
        notes = self.passage.notes
        first, last = notes[int(self.notes[min(events)])], notes[int(self.notes[max(events)])]
        return Span(first.onset_quarters, last.end_quarters)


def motive_line(
    passage: Passage,
    attacks: Sequence[Attack],
    lead: Sequence[int],
    readings: Sequence[Reading],
    *,
    number: int,
    most_events: int,
) -> MotiveLine:
    """Lay out the moving voice of a passage; of each riff only its basic version.

    That a riff comes back is told by its passes. What may come back changed is the riff itself,
    what belongs to no pass, the first pass on each other pitch, and a pass of which more than half
    is changed.

    Args:
        passage: the passage.
        attacks: its attacks.
        lead: indices of the notes of its moving voice, by time.
        readings: how it is read in passes, one reading for each riff; may be empty.
        number: which passage it is, 0 for the one studied.
        most_events: how long the line may get; what comes after that is left out.
    """
    ids = np.array(lead, dtype=np.int64)
    attack_of = {i: a.index for a in attacks for i in a.notes}
    repeats = _repeats(attacks, readings)
    kept = np.array([attack_of[i] not in repeats for i in lead], dtype=np.bool_)
    kept &= np.cumsum(kept) <= most_events
    notes = passage.notes
    onsets = notes.onset_ticks[ids]
    end = onsets[-1:] + notes.duration_ticks[ids[-1:]]
    values = np.diff(np.concatenate([onsets, end]))
    starts = kept & ~np.concatenate([[False], kept[:-1]])[: len(kept)]
    return MotiveLine(
        passage=passage,
        number=number,
        notes=ids[kept],
        heights=notes.pitch[ids][kept],
        onset_ticks=onsets[kept],
        value_ticks=values[kept],
        segments=(np.cumsum(starts) - 1)[kept],
    )


def _repeats(attacks: Sequence[Attack], readings: Sequence[Reading]) -> Collection[int]:
    """List the attacks that only repeat a riff which is looked at elsewhere."""
    onsets = [a.onset_quarters for a in attacks]
    repeats: set[int] = set()
    own: set[int] = set()
    for reading in readings:
        own.update(_within(onsets, reading.template))
        known = {0}
        for one in reading.passes:
            is_new = _is_changed(one) or one.transposition not in known
            known.add(one.transposition)
            if not is_new:
                repeats.update(_within(onsets, one.span))
    return repeats - own


def _within(onsets: Sequence[Fraction], span: Span) -> range:
    """Give the attacks that start in a stretch."""
    return range(bisect_left(onsets, span.start_quarters), bisect_left(onsets, span.end_quarters))


def _is_changed(one: Pass) -> bool:
    attacks = len(one.pairs) + sum(edit.op == "insert" for edit in one.edits)
    return len(one.edits) > CHANGED_SHARE * attacks
