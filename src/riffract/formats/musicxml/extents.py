"""Apply a technique to all notes of a stretch."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import replace

from riffract.formats.musicxml.written import Extent, WrittenNote
from riffract.music import Technique


def apply_extents(notes: Sequence[WrittenNote], extents: Iterable[Extent]) -> None:
    """Flag the notes that start within each extent; let ring also learns where its sign ends.

    A note that was struck before a palm mute and is tied into it is not muted.

    Args:
        notes: sorted by start; changed in place.
        extents: in any order; overlapping ones of one technique and voice count as one.
    """
    merged = _merged(extents)
    starts = [note.start for note in notes] if merged else []
    for extent in merged:
        first = bisect_left(starts, extent.start)
        find_end = bisect_left if extent.end > extent.start else bisect_right
        for note in notes[first : find_end(starts, extent.end)]:
            if extent.voice not in {None, note.voice}:
                continue
            if extent.technique is Technique.PALM_MUTE and note.is_tie_stop:
                continue  # the hand comes down with a stroke, and a tie has none
            note.techniques |= extent.technique
            if extent.technique is Technique.LET_RING and extent.has_end:
                note.let_ring_end = extent.end


def _merged(extents: Iterable[Extent]) -> list[Extent]:
    """Join extents that overlap, so that each note is looked at once for each technique."""
    merged: list[Extent] = []
    for extent in sorted(extents, key=lambda e: (int(e.technique), e.voice or "", e.start)):
        last = merged[-1] if merged else None
        if (
            last is not None
            and (last.technique, last.voice) == (extent.technique, extent.voice)
            and (extent.start < last.end or extent.start == last.start)
        ):
            end = max(last.end, extent.end)
            has_end = last.has_end or extent.has_end
            merged[-1] = replace(last, end=end, has_end=has_end)
        else:
            merged.append(extent)
    return merged
