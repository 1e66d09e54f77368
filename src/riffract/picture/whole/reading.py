"""The ray of the whole: which note it reads when."""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import accumulate
from typing import Final

from riffract.essay.shots import Shot
from riffract.music import Passage
from riffract.picture.hearing import heard_attacks
from riffract.picture.motion import moved_share
from riffract.picture.voices import Voices

LEAST_REST_SECONDS: Final = 1 / 3
"""From one note that is read to the next at least; what is faster is read by its beats."""

ALIKE_SECONDS: Final = 1e-6
"""Moments this close are one: eighths at three a second lie 1/3 s apart but for a rounding."""

GO_SECONDS: Final = 0.24
MOST_ON_THE_WAY_SHARE: Final = 0.5
"""Of the time between two notes, for which the ray is on its way at most."""

GONE_AFTER_SECONDS: Final = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """A note that is read, from one moment of the shot to another.

    Attributes:
        note: which.
        leaves_seconds: when the ray leaves the note before; `start_seconds` if it comes from none.
        start_seconds: when it is heard; the ray lands on it at that moment.
        end_seconds: when the ray leaves it, or is gone.
    """

    note: int
    leaves_seconds: float
    start_seconds: float
    end_seconds: float

    def way_share(self, seconds: float) -> float:
        """Tell how far the ray has come on its way here at a moment, 0..1."""
        if seconds >= self.start_seconds:
            return 1.0
        return moved_share(seconds, self.leaves_seconds, self.start_seconds - self.leaves_seconds)


def targets_of(passage: Passage, shot: Shot, voices: Voices) -> tuple[Target, ...]:
    """List what the ray reads: notes of the moving voice, with time to rest on each.

    Where there is no time for all, the beat is read rather than what stands between the beats. The
    ray leaves early enough to land on each note as it sounds.
    """
    lead = frozenset(voices.lead)
    heard = [
        (note, each)
        for each in heard_attacks(shot, tuple(passage.notes), voices.attacks)
        for note in [i for i in each.audible if i in lead][:1]
    ]
    starts = [each.start_seconds for _, each in heard]
    chosen = _read(starts, [_starts_a_beat(passage, note) for note, _ in heard])
    targets: list[Target] = []
    for k, place in enumerate(chosen):
        note, each = heard[place]
        following = chosen[k + 1] if k + 1 < len(chosen) else len(heard)
        rests_until = heard[following - 1][1].end_seconds + GONE_AFTER_SECONDS
        leaves = each.start_seconds
        if targets:
            before = targets[-1]
            since = each.start_seconds - before.start_seconds
            leaves -= min(GO_SECONDS, MOST_ON_THE_WAY_SHARE * since)
            if before.end_seconds < leaves:
                leaves = each.start_seconds
            targets[-1] = replace(before, end_seconds=min(before.end_seconds, leaves))
        targets.append(
            Target(
                note=note,
                leaves_seconds=leaves,
                start_seconds=each.start_seconds,
                end_seconds=rests_until,
            )
        )
    return tuple(targets)


def _read(starts: Sequence[float], on_beat: Sequence[bool]) -> list[int]:
    """Choose what is read of some notes: beats first, then what there is time for between them."""
    least = LEAST_REST_SECONDS - ALIKE_SECONDS
    is_quick = [i > 0 and start - starts[i - 1] < least for i, start in enumerate(starts)]
    beats = [i for i in range(len(starts)) if on_beat[i]]
    others = [i for i in range(len(starts)) if not on_beat[i] and not is_quick[i]]
    chosen: list[int] = []
    for i in (*beats, *others):
        place = bisect_left(chosen, i)
        near = [*chosen[max(place - 1, 0) : place], *chosen[place : place + 1]]
        if all(abs(starts[i] - starts[k]) >= least for k in near):
            chosen.insert(place, i)
    return chosen


def target_at(targets: Sequence[Target], seconds: float) -> int | None:
    """Give the index of what is read, or gone to, at a moment; `None` if nothing is."""
    index = bisect_right([t.leaves_seconds for t in targets], seconds) - 1
    if index < 0 or seconds >= targets[index].end_seconds:
        return None
    return index


def _starts_a_beat(passage: Passage, note: int) -> bool:
    """Say whether a note starts a beat of its metre; a bar longer than that counts on from 0."""
    onset = passage.notes[note].onset_quarters
    bar = passage.bar_at(onset)
    units = (onset - bar.start_quarters) / bar.metre.unit_quarters
    return units % bar.metre.units in {0, *accumulate(bar.metre.beats)}
