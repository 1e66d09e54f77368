"""Hand shapes that come back elsewhere on the fretboard.

A *stroke* of the hand is an attack with fretted notes: where its lowest-lying string is stopped,
and how its other notes lie to that. Open strings belong to no shape, and strokes that only repeat
the one before count as one. The way from a stroke to the next is a *move*: so many strings and
frets. Rows of strokes with the same moves are one shape; if they stand at different places, it was
moved.
A row of equal moves is a ladder, not a shape, since each of its parts is all others moved.

Between strings tuned a third apart and those a fourth apart, a shape keeps its look but not its
intervals.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.analysis.attacks import Attack, held_until
from riffract.analysis.description import numbered
from riffract.analysis.hand.grip import Place
from riffract.analysis.hand.moments import HandAttack
from riffract.analysis.reordering import Floats, Ids
from riffract.music import Passage, Span

SHORTEST_STROKES: Final = 5
"""Shorter rows come back everywhere: a scale lies alike on several strings, so that in random walks
rows of four came back moved twice as often as the orders they are compared with would have it."""

MOST_SHAPES: Final = 3
"""Shapes told, each by what those before leave open: a passage of more has no shape of its own."""
LONGEST_ROW: Final = 2_000
"""Strokes that are looked at; beyond, the search would take longer than all else together."""

_CANDIDATES: Final = 60
"""Rows that are compared by what they explain, half of them the longest and half the shortest; to
compare all would take longer than to find them."""
_STRINGS, _FRETS = 64, 128
_MIXERS: Final = (0x9E3779B97F4A7C15, 0xC2B2AE3D27D4EB4F, 0x165667B19E3779F9, 0x27D4EB2F165667C5)

Keys = NDArray[np.uint64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HandRow:
    """The strokes of a passage as columns.

    Attributes:
        strings, frets: where the lowest-lying string is stopped. Shape: (strokes,).
        shapes: equal numbers where the other notes lie the same way to that. Shape: (strokes,).
        attacks: of each stroke the first attack. Shape: (strokes,).
        places: of each stroke its places, from the lowest-lying string up.
        notes: of each stroke all its notes, those of repeats too.
    """

    strings: Ids
    frets: Ids
    shapes: Ids
    attacks: Ids
    places: tuple[tuple[Place, ...], ...]
    notes: tuple[tuple[int, ...], ...]

    def __len__(self) -> int:
        return len(self.places)

    @property
    def note_count(self) -> int:
        """How many fretted notes there are."""
        return sum(map(len, self.notes))


@dataclass(frozen=True, slots=True)
class FoundShape:
    """A shape by its length in strokes, and where its statements start, rising."""

    length: int
    starts: tuple[int, ...]


def hand_row(row: Sequence[HandAttack]) -> HandRow:
    """Read the strokes off the attacks; those without fretted notes are passed over."""
    places: list[tuple[Place, ...]] = []
    notes: list[list[int]] = []
    attacks: list[int] = []
    for one in row:
        own = sorted(one.fretted, key=lambda pair: -pair[1][0])
        where = tuple(place for _, place in own)
        if not own:
            continue
        if places and places[-1] == where:
            notes[-1] += [note for note, _ in own]
            continue
        if len(places) == LONGEST_ROW:
            break
        places.append(where)
        notes.append([note for note, _ in own])
        attacks.append(one.attack.index)
    bases = np.array([where[0] for where in places], dtype=np.int64).reshape(-1, 2)
    return HandRow(
        strings=bases[:, 0],
        frets=bases[:, 1],
        shapes=numbered(_relative(where) for where in places),
        attacks=np.array(attacks, dtype=np.int64),
        places=tuple(places),
        notes=tuple(tuple(sorted(of)) for of in notes),
    )


def span_of(row: HandRow, strokes: range, passage: Passage, attacks: Sequence[Attack]) -> Span:
    """Tell where strokes stand, to where the last one's written value or the next attack ends."""
    first = attacks[int(row.attacks[strokes[0]])]
    last = attacks[int(row.attacks[strokes[-1]])]
    return Span(first.onset_quarters, held_until(passage, last))


def _relative(places: Sequence[Place]) -> tuple[Place, ...]:
    string, fret = places[0]
    return tuple((s - string, f - fret) for s, f in places)


def moves_of(strings: Ids, frets: Ids, shapes: Ids) -> Ids:
    """Number the moves from each stroke to the next; equal moves have equal numbers.

    Args:
        strings: as in `HandRow`; rows of any number. Shape: (..., strokes).
        frets: likewise.
        shapes: likewise.

    Returns:
        Shape: (..., strokes - 1).
    """
    kinds = int(shapes.max(initial=0)) + 1
    pair = shapes[..., :-1] * kinds + shapes[..., 1:]
    step = (np.diff(strings, axis=-1) + _STRINGS // 2) * _FRETS + np.diff(frets, axis=-1)
    return np.asarray(pair * (_STRINGS * _FRETS) + step + _FRETS // 2, dtype=np.int64)


def strokes_in_moved_shapes(moves: Ids, places: Ids) -> Floats:
    """Count the strokes that lie in rows of five whose moves come back at another place.

    Args:
        moves: from stroke to stroke. Shape: (rows, strokes - 1).
        places: of each stroke, as one number. Shape: (rows, strokes).

    Returns:
        Shape: (rows,).

    >>> moves = np.array([[1, 2, 3, 4, 9, 1, 2, 3, 4]])
    >>> strokes_in_moved_shapes(moves, np.array([[5, 0, 0, 0, 0, 7, 0, 0, 0, 0]])).tolist()
    [10.0]
    >>> strokes_in_moved_shapes(moves, np.array([[5, 0, 0, 0, 0, 5, 0, 0, 0, 0]])).tolist()
    [0.0]
    """
    rows, strokes = places.shape
    windows = strokes - SHORTEST_STROKES + 1
    if windows < 2:
        return np.zeros(rows)
    keys, is_ladder = _window_keys(moves)
    comes_back = _comes_back_elsewhere(keys, places[:, :windows]) & ~is_ladder
    covered = np.zeros((rows, strokes), dtype=np.bool_)
    for offset in range(SHORTEST_STROKES):
        covered[:, offset : offset + windows] |= comes_back
    return np.asarray(covered.sum(axis=1), dtype=np.float64)


def _window_keys(moves: Ids) -> tuple[Keys, NDArray[np.bool_]]:
    """A number for each window of moves, and which windows are ladders. Shape: (rows, windows)."""
    windows = moves.shape[1] - SHORTEST_STROKES + 2
    keys = np.zeros((len(moves), windows), dtype=np.uint64)
    is_ladder = np.ones(keys.shape, dtype=np.bool_)
    for offset, mixer in enumerate(_MIXERS):
        part = moves[:, offset : offset + windows]
        keys += part.astype(np.uint64) * np.uint64(mixer)
        is_ladder &= part == moves[:, :windows]
    return keys, is_ladder


def _comes_back_elsewhere(keys: Keys, places: Ids) -> NDArray[np.bool_]:
    """Whether an equal key stands at another place of the row. Shape: as given."""
    order = np.argsort(keys, axis=1)
    ranked = np.take_along_axis(keys, order, axis=1)
    at = np.take_along_axis(places, order, axis=1)
    is_first = np.ones(keys.shape, dtype=np.bool_)
    is_first[:, 1:] = ranked[:, 1:] != ranked[:, :-1]
    starts = np.flatnonzero(is_first.ravel())
    lowest, highest = (reduce.reduceat(at.ravel(), starts) for reduce in (np.minimum, np.maximum))
    group = np.cumsum(is_first.ravel()) - 1
    moved = (lowest != highest)[group].reshape(keys.shape)
    found = np.empty_like(moved)
    np.put_along_axis(found, order, moved, axis=1)
    return np.asarray(found, dtype=np.bool_)


def place_numbers(strings: Ids, frets: Ids) -> Ids:
    """Number places so that equal numbers are equal places. Shape: as given."""
    return np.asarray(strings * _FRETS + frets, dtype=np.int64)


def find_shapes(row: HandRow) -> tuple[FoundShape, ...]:
    """Find the shapes that are moved, the one that explains most notes first.

    Definition: a shape explains the notes of its statements that stand elsewhere than the first.
    Each further shape counts only what no earlier one covers. Statements do not overlap.

    Returns:
        At most three; empty if no row of five strokes comes back elsewhere.
    """
    moves = moves_of(row.strings, row.frets, row.shapes)
    places = place_numbers(row.strings, row.frets)
    sizes = np.array([len(of) for of in row.notes], dtype=np.int64)
    candidates = [
        FoundShape(length, _statements(moves, start, length))
        for start, length in _likely(moves, places)
    ]
    found: list[FoundShape] = []
    free = np.ones(len(row), dtype=np.bool_)
    while len(found) < MOST_SHAPES:
        gains = [_explained(one, places, sizes * free) for one in candidates]
        best = max(range(len(gains)), key=lambda k: (gains[k], candidates[k].length), default=None)
        if best is None or gains[best] < SHORTEST_STROKES:
            break
        found.append(candidates[best])
        for start in candidates[best].starts:
            free[start : start + candidates[best].length] = False
    return tuple(found)


def runs_of(same: NDArray[np.bool_], least: int) -> list[tuple[int, int]]:
    """List the runs of what is true, as (first, after the last), that are long enough.

    >>> runs_of(np.array([True, True, False, True]), 2)
    [(0, 2)]
    """
    places = len(same) - least + 1
    if places < 1:
        return []
    # Nearly all rows have no such run, which is found out sooner than where it would be.
    together = same[:places].copy()
    for offset in range(1, least):
        together &= same[offset : offset + places]
    if not together.any():
        return []
    edges = np.diff(np.concatenate([[0], same.astype(np.int8), [0]]))
    begins, ends = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)
    long = ends - begins >= least
    return list(zip(begins[long].tolist(), ends[long].tolist(), strict=True))


def moved_starts(shape: FoundShape, places: Ids) -> tuple[int, ...]:
    """The statements that stand elsewhere than the first."""
    return tuple(s for s in shape.starts if places[s] != places[shape.starts[0]])


def _explained(shape: FoundShape, places: Ids, sizes: Ids) -> int:
    return sum(
        int(sizes[start : start + shape.length].sum()) for start in moved_starts(shape, places)
    )


def _likely(moves: Ids, places: Ids) -> list[tuple[int, int]]:
    """The longest rows that come back elsewhere, as (start, strokes); none twice."""
    best: dict[bytes, tuple[int, int]] = {}
    for lag in range(SHORTEST_STROKES, len(moves)):
        same = (moves[lag:] == moves[:-lag]) & (places[lag:-1] != places[: -lag - 1])
        for begin, end in runs_of(same, SHORTEST_STROKES - 1):
            strokes = min(end - begin + 1, lag)
            content = moves[begin : begin + strokes - 1]
            if (content != content[0]).any():
                best.setdefault(content.tobytes(), (begin, strokes))
    ranked = sorted(best.values(), key=lambda one: (-one[1], one[0]))
    # Short rows may have many statements, so both ends of the list are looked at.
    return ranked[: _CANDIDATES // 2] + ranked[_CANDIDATES // 2 :][-_CANDIDATES // 2 :]


def _statements(moves: Ids, start: int, length: int) -> tuple[int, ...]:
    """Where a row of moves stands, from the left, without overlaps."""
    content = moves[start : start + length - 1]
    windows = len(moves) - length + 2
    same = np.ones(windows, dtype=np.bool_)
    for offset, move in enumerate(content.tolist()):
        same &= moves[offset : offset + windows] == move
    found: list[int] = []
    for at in np.flatnonzero(same).tolist():
        if not found or at >= found[-1] + length:
            found.append(at)
    return tuple(found)
