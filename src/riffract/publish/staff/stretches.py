"""Stretches that are told once: palm-muted notes, and strings that are left ringing."""

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import groupby
from typing import NamedTuple

from riffract.music import Note, Passage, Technique


class Stretch(NamedTuple):
    """Where something holds.

    Attributes:
        start_quarters, end_quarters: from its first attack to its end.
        strings: which ones it speaks of, from the highest; empty if it is all that are struck.
    """

    start_quarters: Fraction
    end_quarters: Fraction
    strings: tuple[int, ...]


def palm_muted(passage: Passage) -> tuple[Stretch, ...]:
    """List the stretches in which every attack is muted on the same strings.

    Each ends with the last of its notes, or with the next attack if that comes first.
    """
    found: list[Stretch] = []
    was_muted = False
    for onset, attack in _attacks(passage):
        strings = _having(attack, Technique.PALM_MUTE)
        end = max(note.end_quarters for note in attack)
        if found and found[-1].end_quarters > onset:
            found[-1] = found[-1]._replace(end_quarters=onset)
        goes_on = was_muted and found[-1].strings == strings
        was_muted = strings is not None
        if strings is None:
            continue
        start = found.pop().start_quarters if goes_on else onset
        found.append(Stretch(start, end, strings))
    return tuple(found)


def ringing(passage: Passage) -> tuple[Stretch, ...]:
    """List the stretches in which strings ring, one after the other.

    Ringing that overlaps or adjoins is one stretch. If other notes are struck meanwhile, it names
    its strings.
    """
    notes = [note for note in passage.notes if Technique.LET_RING in note.techniques]
    spans: list[list[Note]] = []
    end = Fraction(-1)
    for note in notes:
        if note.onset_quarters > end:
            spans.append([])
            end = note.ring_end_quarters
        end = max(end, note.ring_end_quarters)
        spans[-1].append(note)
    return tuple(_ringing_stretch(passage, span) for span in spans)


def _ringing_stretch(passage: Passage, rung: Sequence[Note]) -> Stretch:
    start = rung[0].onset_quarters
    end = max(note.ring_end_quarters for note in rung)
    struck = [note for note in passage.notes if start <= note.onset_quarters < end]
    strings = sorted({note.string for note in rung})
    return Stretch(start, end, () if len(struck) == len(rung) else tuple(strings))


def _attacks(passage: Passage) -> Iterator[tuple[Fraction, list[Note]]]:
    by_onset = groupby(passage.notes, key=lambda note: note.onset_quarters)
    return ((onset, list(notes)) for onset, notes in by_onset)


def _having(attack: Sequence[Note], technique: Technique) -> tuple[int, ...] | None:
    """Give the strings of an attack that are played so: empty for all of them, `None` for none."""
    strings = sorted(note.string for note in attack if technique in note.techniques)
    if not strings:
        return None
    return () if len(strings) == len(attack) else tuple(strings)
