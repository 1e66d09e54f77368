"""Which symmetries in pitch the hand gives of itself, and which it does not.

Whoever moves a shape by two frets transposes what it plays by two semitones: a transposed repeat on
the same strings is a by-product of the hand, as are parallel chords of one shape and a chain of
equal steps on one string. The same repeat fingered in another way is not, nor is a line turned
upside down, which no move of a shape gives. Sources: common practice on the instrument.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Final, Literal

import numpy as np

from riffract.analysis.attacks import Attack
from riffract.analysis.description import numbered
from riffract.analysis.hand.moved_shape import (
    FoundShape,
    HandRow,
    moves_of,
    place_numbers,
    runs_of,
    span_of,
)
from riffract.analysis.reordering import Ids
from riffract.analysis.what.hand import ExplainedFinding
from riffract.music import Passage

SHORTEST_REPEAT: Final = 4
"""Strokes of a transposed repeat: three intervals that come back are heard as one."""

SHORTEST_LADDER: Final = 4
"""Strokes of a chain of equal steps: three equal steps in a row are heard as a chain."""

SHORTEST_PARALLEL: Final = 3
"""Chords in a row: two may be chance."""

SHORTEST_INVERSION: Final = 6
"""Strokes of a line turned upside down: shorter ones are found in any line."""

MOST_TOLD: Final = 12
"""Moves told, the longest first: a list of more is not read, and its short ones come by chance."""

_What = Literal["transposed_repeat", "parallel_chords", "inversion", "equal_steps"]


@dataclass(frozen=True, slots=True)
class _Stretch:
    """Strokes from `start` on, `length` of them."""

    start: int
    length: int


def by_products(
    passage: Passage, attacks: Sequence[Attack], row: HandRow, found: Sequence[FoundShape]
) -> tuple[ExplainedFinding, ...]:
    """List symmetries in pitch, and say of each whether a moved shape gives it.

    Args:
        passage: the passage.
        attacks: its attacks.
        row: the strokes of the hand.
        found: the shapes that are moved.

    Returns:
        By time, at most twelve, the longest ones.
    """
    if len(row) < SHORTEST_PARALLEL:
        return ()
    tuning = passage.tuning
    pitches = [tuple(tuning.pitch_at(*place) for place in places) for places in row.places]
    rows = [*_ladders(row, pitches), *_parallels(row, pitches), *_repeats(row, pitches)]
    rows += [*_ladders_of_shapes(row, found), *_inversions(pitches)]
    rows.sort(key=lambda one: (-one[1].length, one[1].start))
    told = [
        ExplainedFinding(
            what=what,
            span=span_of(row, range(one.start, one.start + one.length), passage, attacks),
            explained=explained,
        )
        for what, one, explained in rows[:MOST_TOLD]
    ]
    return tuple(sorted(told, key=lambda one: (one.span, one.what)))


def _pitch_moves(pitches: Sequence[tuple[int, ...]]) -> tuple[Ids, Ids]:
    """The lowest pitches, and the moves from each stroke to the next as numbers."""
    lowest = np.array([of[0] for of in pitches], dtype=np.int64)
    chords = numbered(tuple(p - of[0] for p in of) for of in pitches)
    return lowest, moves_of(np.zeros_like(lowest), lowest, chords)


def _ladders(
    row: HandRow, pitches: Sequence[tuple[int, ...]]
) -> Iterator[tuple[_What, _Stretch, bool]]:
    lowest, moves = _pitch_moves(pitches)
    own = moves_of(row.strings, row.frets, row.shapes)
    for start, end in runs_of(moves[1:] == moves[:-1], SHORTEST_LADDER - 2):
        stretch = _Stretch(start, end - start + 2)
        last = start + stretch.length - 1
        if lowest[start] != lowest[last]:
            yield "equal_steps", stretch, bool((own[start:last] == own[start]).all())


def _ladders_of_shapes(
    row: HandRow, found: Sequence[FoundShape]
) -> Iterator[tuple[_What, _Stretch, bool]]:
    """Shapes that are moved by equal steps, three times or more."""
    places = place_numbers(row.strings, row.frets)
    for shape in found:
        starts = [s for s, _ in _without_repeats(shape.starts, places)]
        steps = np.diff(places[starts])
        if len(steps) >= 2 and (steps == steps[0]).all():
            length = starts[-1] + shape.length - starts[0]
            yield "equal_steps", _Stretch(starts[0], length), True


def _without_repeats(starts: Sequence[int], places: Ids) -> list[tuple[int, int]]:
    """The first of statements in a row that stand at one place."""
    return [
        (next(iter(same)), place) for place, same in groupby(starts, key=lambda s: int(places[s]))
    ]


def _parallels(
    row: HandRow, pitches: Sequence[tuple[int, ...]]
) -> Iterator[tuple[_What, _Stretch, bool]]:
    """Chords of one kind in a row."""
    start = 0
    for chord, same in groupby(tuple(p - of[0] for p in of) for of in pitches):
        length = sum(1 for _ in same)
        stretch, start = _Stretch(start, length), start + length
        if len(chord) > 1 and length >= SHORTEST_PARALLEL:
            shapes = row.shapes[stretch.start : stretch.start + length]
            yield "parallel_chords", stretch, bool((shapes == shapes[0]).all())


def _repeats(
    row: HandRow, pitches: Sequence[tuple[int, ...]]
) -> Iterator[tuple[_What, _Stretch, bool]]:
    """Returns of a row of strokes at another pitch, each where it comes back, the longest."""
    lowest, moves = _pitch_moves(pitches)
    own = moves_of(row.strings, row.frets, row.shapes)
    best: dict[int, tuple[_Stretch, bool]] = {}
    for lag in range(SHORTEST_REPEAT, len(moves)):
        same = (moves[lag:] == moves[:-lag]) & (lowest[lag:-1] != lowest[: -lag - 1])
        for start, end in runs_of(same, SHORTEST_REPEAT - 1):
            stretch = _Stretch(start + lag, min(end - start + 1, lag))
            content = moves[start : start + stretch.length - 1]
            if (content == content[0]).all():
                continue
            moved = own[start : start + stretch.length - 1]
            again = own[start + lag : start + lag + stretch.length - 1]
            _keep(best, stretch, explained=bool((moved == again).all()))
    for stretch, explained in _apart(best.values()):
        yield "transposed_repeat", stretch, explained


def _inversions(pitches: Sequence[tuple[int, ...]]) -> Iterator[tuple[_What, _Stretch, bool]]:
    """Single lines that come back upside down."""
    steps = np.diff(np.array([of[0] for of in pitches], dtype=np.int64))
    single = np.array([len(of) == 1 for of in pitches], dtype=np.bool_)
    goes = single[1:] & single[:-1]
    best: dict[int, tuple[_Stretch, bool]] = {}
    for lag in range(SHORTEST_INVERSION, len(steps)):
        same = (steps[lag:] == -steps[:-lag]) & goes[lag:] & goes[:-lag]
        for start, end in runs_of(same, SHORTEST_INVERSION - 1):
            stretch = _Stretch(start + lag, min(end - start + 1, lag))
            content = steps[start : start + stretch.length - 1]
            if (content != content[0]).any():
                _keep(best, stretch, explained=False)
    for stretch, explained in _apart(best.values()):
        yield "inversion", stretch, explained


def _keep(best: dict[int, tuple[_Stretch, bool]], stretch: _Stretch, *, explained: bool) -> None:
    """Of two accounts of one stretch keep the longer, then the one that the hand gives."""
    known = best.get(stretch.start)
    rank = (stretch.length, explained)
    if known is None or rank > (known[0].length, known[1]):
        best[stretch.start] = (stretch, explained)


def _apart(found: Iterable[tuple[_Stretch, bool]]) -> list[tuple[_Stretch, bool]]:
    ranked = sorted(found, key=lambda one: (-one[0].length, one[0].start))
    kept: list[tuple[_Stretch, bool]] = []
    for stretch, explained in ranked:
        if all(
            stretch.start >= other.start + other.length
            or other.start >= stretch.start + stretch.length
            for other, _ in kept
        ):
            kept.append((stretch, explained))
    return kept
