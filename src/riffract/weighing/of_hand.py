"""How solid it is that a moved hand shape gives so many notes."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from riffract.analysis.description import numbered
from riffract.analysis.finding import Pass, Reading
from riffract.analysis.hand.find import FoundHand, find_hand
from riffract.analysis.hand.grip import Place
from riffract.analysis.hand.moved_shape import (
    HandRow,
    moves_of,
    place_numbers,
    strokes_in_moved_shapes,
)
from riffract.analysis.reordering import Floats, Ids, Reordering
from riffract.analysis.saying import say
from riffract.music import Tuning
from riffract.weighing.drawing import weighed_by_drawing
from riffract.weighing.view import View
from riffract.weighing.weighed import Asked, Weighed, computed_chance

SAME_PLACE_SHARE = 0.5
"""Two passes are played at one place if at least so many of their strokes lie alike."""

ONE_NOTE_WEIGHS = 9.0
"""Leaving out one stroke breaks five rows of five at most, which nine strokes lie in."""

_NO_SHAPE = "no shape comes back elsewhere, so none is asked for"


def weighed_hand(view: View) -> list[Weighed]:
    """Weigh moved shapes: would as many strokes lie in them, were the frets in another order?

    Strings, rhythm and the look of each chord stay. Since a line that moves in small steps comes
    back moved more often than frets dealt out, the moves are reordered as well; and since a scale
    lies alike on several strings, so are the steps from place to place of those that the passage
    uses. The largest p counts. Passes of the riff at one place are kept alike; a riff that is
    itself played elsewhere is a moved shape, and is not.
    """
    found = find_hand(view.passage, view.attacks)
    if found is None:
        return []
    if not found.finding.measures["statements"]:
        chance = computed_chance(1.0, observed=0.0, model=say(_NO_SHAPE), seed=view.seed)
        return [Weighed(finding=found.finding, chance=chance, survives=False)]
    return [_weighed(found, view)]


def _weighed(found: FoundHand, view: View) -> Weighed:
    asked = Asked(
        finding=found.finding,
        reorderings=(
            frets_reordered(found.row),
            moves_reordered(found.row),
            steps_reordered(found.row, view.passage.tuning),
        ),
        readings=readings_in_place(view, found.row),
    )
    (weighed,) = weighed_by_drawing([asked], readings=view.readings, seed=view.seed)
    return weighed


def frets_reordered(row: HandRow) -> Reordering:
    """Ask how many strokes lie in moved shapes, were the frets in another order."""

    def statistic(orders: Ids) -> Floats:
        frets = row.frets[orders]
        strings = np.broadcast_to(row.strings, frets.shape)
        shapes = np.broadcast_to(row.shapes, frets.shape)
        return strokes_in_moved_shapes(
            moves_of(strings, frets, shapes), place_numbers(strings, frets)
        )

    return Reordering(
        items=numbered(row.places),
        attacks=row.attacks,
        statistic=statistic,
        kept=say("rhythm, strings and chord shapes kept, the order of the frets changed"),
        one_note_weighs=ONE_NOTE_WEIGHS,
    )


def moves_reordered(row: HandRow) -> Reordering:
    """Ask how many strokes lie in moved shapes, were the moves in another order."""
    moves = moves_of(row.strings, row.frets, row.shapes)
    way = np.diff(place_numbers(row.strings, row.frets))

    def statistic(orders: Ids) -> Floats:
        places = np.zeros((len(orders), len(row)), dtype=np.int64)
        places[:, 1:] = np.cumsum(way[orders], axis=1)
        return strokes_in_moved_shapes(moves[orders], places)

    return Reordering(
        # A move counts with its place: a shape that is moved is no cell that repeats.
        items=numbered(zip(moves.tolist(), row.places[1:], strict=True)),
        attacks=row.attacks[1:],
        statistic=statistic,
        kept=say("the moves from stroke to stroke kept, their order changed"),
        one_note_weighs=ONE_NOTE_WEIGHS,
    )


def steps_reordered(row: HandRow, tuning: Tuning) -> Reordering:
    """Ask the same, were the steps through the passage's own places in another order.

    Definition: the different strokes are put in a row by pitch, and each move is so many steps up
    or down in it; a line that would leave the row comes in again at its other end.
    """
    strokes = sorted(set(row.places), key=lambda one: (tuning.pitch_at(*one[0]), one))
    rank_of = {stroke: rank for rank, stroke in enumerate(strokes)}
    ranks = np.array([rank_of[stroke] for stroke in row.places], dtype=np.int64)
    steps = np.diff(ranks)
    # Any stroke of a kind shows where its lowest string is stopped, and its shape.
    shown = np.unique(ranks, return_index=True)[1]

    def statistic(orders: Ids) -> Floats:
        line = np.full((len(orders), len(row)), ranks[0])
        line[:, 1:] += np.cumsum(steps[orders], axis=1)
        at = shown[_folded(line, len(strokes))]
        strings, frets = row.strings[at], row.frets[at]
        return strokes_in_moved_shapes(
            moves_of(strings, frets, row.shapes[at]), place_numbers(strings, frets)
        )

    return Reordering(
        items=numbered(zip(steps.tolist(), row.places[1:], strict=True)),
        attacks=row.attacks[1:],
        statistic=statistic,
        kept=say("the steps through the places that are used kept, their order changed"),
        one_note_weighs=ONE_NOTE_WEIGHS,
    )


def _folded(line: Ids, count: int) -> Ids:
    """Turn numbers back at 0 and at the last one. Shape: as given."""
    turns = max(2 * (count - 1), 1)
    there = line % turns
    return np.asarray(np.minimum(there, turns - there))


def readings_in_place(view: View, row: HandRow) -> tuple[Reading, ...]:
    """Part the passes of each riff by where they are played, as if each place had its own riff.

    So orders that keep the repeats keep what comes back at its place, and not what comes back
    moved.
    """
    place_of = dict(zip(row.attacks.tolist(), row.places, strict=True))
    return tuple(
        replace(reading, passes=tuple(group))
        for reading in view.readings
        for group in _groups_in_place(reading.passes, place_of)
    )


def _groups_in_place(
    passes: Sequence[Pass], place_of: Mapping[int, tuple[Place, ...]]
) -> list[list[Pass]]:
    """Passes at one place, partners being the attacks of the first of them."""
    groups: list[tuple[dict[int, int], list[Pass]]] = []
    for one in passes:
        known = next((g for g in groups if _is_in_place(one, g[0], place_of)), None)
        if known is None:
            known = (dict(one.pairs), [])
            groups.append(known)
        first, group = known
        group.append(replace(one, pairs=tuple((first.get(a, b), b) for a, b in one.pairs)))
    return [group for _, group in groups]


def _is_in_place(
    one: Pass, first: Mapping[int, int], place_of: Mapping[int, tuple[Place, ...]]
) -> bool:
    """Whether most strokes of a pass lie where those of another do."""
    same = [
        place_of[first[a]] == place_of[b]
        for a, b in one.pairs
        if b in place_of and first.get(a) in place_of
    ]
    return bool(same) and sum(same) >= SAME_PLACE_SHARE * len(same)
