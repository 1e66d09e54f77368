"""The cheapest way of the fretting hand through a row of attacks.

Each attack is a layer of grips, one for each choice of places and fingers; a path takes one grip of
each layer. It costs its grips and the moves between them: the way of the hand along the neck, the
fingers put elsewhere, the strings that the plucking hand crosses. A finger on a note that sounds on
stays where it is, and one that slides goes with its note, or pays for being changed. While only
open strings are struck the hand stays. The cheapest path is found exactly, layer by layer.

Source: Sayegh, Computer Music Journal 13/3 (1989), 76-84, on fingering as the optimum path (from
memory); weights as in `hand.grip`.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.analysis.hand.grip import (
    COST_A_MM_OF_SHIFT,
    COST_OF_A_FINGER_MOVED,
    COST_OF_A_STRING_CROSSED,
    COST_OF_CHANGING_A_HELD_FINGER,
    FINGERS,
    Hold,
    Place,
    grips_of,
    stretch_mm,
)
from riffract.analysis.reordering import Floats, Ids
from riffract.music import Tuning

MOST_GRIPS: Final = 40
"""Of one attack; the cheapest by themselves are kept, and all of the written places."""

MOST_CHOICES: Final = 12
"""Ways to place the notes of one attack; those with the least stretch, then the lowest."""

MOST_BEGUN: Final = 200
"""Ways to place the first few notes of a chord; those with the least stretch."""

WIDEST_HAND_MM: Final = 160.0
"""No other places are tried that lie further apart: six frets from the nut."""

NOWHERE: Final = 0


@dataclass(frozen=True, slots=True)
class Moment:
    """What the hand has to do at one attack.

    Attributes:
        choices: for each note that is struck and stopped or open, the places it may be played at,
            the written one first.
        held: places of fretted notes that sound on from before.
        open_strings: strings that sound on open from before.
        slid: strings on which a finger slides here from the fret before.
    """

    choices: tuple[tuple[Place, ...], ...]
    held: tuple[Place, ...] = ()
    open_strings: tuple[int, ...] = ()
    slid: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Path:
    """A cheapest path: a grip for each moment, with the price of all."""

    grips: tuple[Hold, ...]
    cost: float


def cheapest_path(moments: Sequence[Moment], tuning: Tuning) -> Path:
    """Find the cheapest path through some moments.

    Returns:
        One of the cheapest; an empty one for no moments.

    >>> six = Tuning(open_pitches=(40, 45, 50, 55, 59, 64))
    >>> line = [Moment(choices=(((6, fret),),)) for fret in (5, 6, 7, 8)]
    >>> [grip.fingers for grip in cheapest_path(line, six).grips]
    [(1,), (2,), (3,), (4,)]
    """
    layers = _Layers(tuning)
    rows = [layers.layer(moment) for moment in moments]
    if not rows:
        return Path((), 0.0)
    costs = rows[0].costs
    came_from: list[Ids] = []
    for before, layer in pairwise(rows):
        ways = costs[:, None] + layers.moves(before, layer)
        best = ways.argmin(axis=0)
        came_from.append(best)
        costs = ways[best, np.arange(len(best))] + layer.costs
    place = int(costs.argmin())
    grips = [rows[-1].grips[place]]
    for layer, best in zip(rows[-2::-1], reversed(came_from), strict=True):
        place = int(best[place])
        grips.append(layer.grips[place])
    return Path(tuple(reversed(grips)), float(costs.min()))


@dataclass(frozen=True, eq=False)
class Layer:
    """The grips of one moment as columns.

    Attributes:
        grips: the grips.
        plucked: of each the highest-lying and the lowest-lying string that is plucked.
        kept_strings: strings on which the finger of the moment before stays.
        tuning: for the distances.
    """

    grips: tuple[Hold, ...]
    plucked: tuple[tuple[int, int], ...]
    kept_strings: tuple[int, ...]
    tuning: Tuning

    @cached_property
    def costs(self) -> Floats:
        """What each grip costs by itself. Shape: (grips,)."""
        return np.array([grip.cost for grip in self.grips])

    @cached_property
    def positions(self) -> Ids:
        """Fret under the index finger, `NOWHERE` if it is not placed. Shape: (grips,)."""
        return np.array([grip.position for grip in self.grips], dtype=np.int64)

    @cached_property
    def is_stay(self) -> NDArray[np.bool_]:
        """Which grips stop nothing, so that the hand stays. Shape: (grips,)."""
        return np.array([not grip.places for grip in self.grips], dtype=np.bool_)

    @cached_property
    def position_mm(self) -> Floats:
        """Where the hand is. Shape: (grips,)."""
        frets = self.positions.tolist()
        return np.array([self.tuning.fret_distance_mm(fret) for fret in frets])

    @cached_property
    def finger_places(self) -> NDArray[np.int64]:
        """The string and fret that a finger is first put on, as one number, 0 for none.

        Shape: (grips, fingers).
        """
        table = np.zeros((len(self.grips), FINGERS), dtype=np.int64)
        for row, grip in enumerate(self.grips):
            for (string, fret), finger in zip(grip.places, grip.fingers, strict=True):
                if finger and not table[row, finger - 1]:
                    table[row, finger - 1] = 64 * string + fret
        return table

    @cached_property
    def finger_of_string(self) -> NDArray[np.int64]:
        """Which finger holds each string, 0 for none. Shape: (grips, strings + 1)."""
        table = np.zeros((len(self.grips), self.tuning.string_count + 1), dtype=np.int64)
        for row, grip in enumerate(self.grips):
            for (string, _), finger in zip(grip.places, grip.fingers, strict=True):
                table[row, string] = finger
        return table

    @cached_property
    def plucked_range(self) -> Ids:
        """The highest-lying and the lowest-lying string plucked. Shape: (grips, 2)."""
        return np.array(self.plucked, dtype=np.int64)


def moves(before: Layer, after: Layer) -> Floats:
    """Price the moves from each grip of a layer to each of the next.

    Definition: the way along the neck in mm, each finger on both sides that is put elsewhere, each
    string between those plucked, each held note that another finger takes, times their weights. A
    hand that stops nothing goes nowhere.

    Returns:
        Shape: (grips before, grips after).
    """
    placed = (before.positions[:, None] != NOWHERE) & (after.positions[None] != NOWHERE)
    way = np.abs(before.position_mm[:, None] - after.position_mm[None])
    cost = COST_A_MM_OF_SHIFT * np.where(placed, way, 0.0)
    strays = after.is_stay[None] & (before.positions[:, None] != after.positions[None])
    cost[strays] = np.inf
    old, new = before.finger_places[:, None, :], after.finger_places[None]
    moved = ((old != 0) & (new != 0) & (old != new)).sum(axis=2)
    cost += COST_OF_A_FINGER_MOVED * moved
    one, two = before.plucked_range, after.plucked_range
    apart = np.maximum(two[None, :, 0] - one[:, None, 1], one[:, None, 0] - two[None, :, 1])
    cost += COST_OF_A_STRING_CROSSED * np.maximum(apart, 0)
    for string in after.kept_strings:
        old_finger = before.finger_of_string[:, string, None]
        is_changed = (old_finger != 0) & (old_finger != after.finger_of_string[None, :, string])
        cost += COST_OF_CHANGING_A_HELD_FINGER * is_changed
    return np.asarray(cost)


@dataclass(slots=True)
class _Layers:
    """Layers and the moves between them, each worked out once."""

    tuning: Tuning
    made: dict[Moment, Layer] = field(default_factory=dict)
    priced: dict[tuple[Layer, Layer], Floats] = field(default_factory=dict)

    def layer(self, moment: Moment) -> Layer:
        if moment not in self.made:
            self.made[moment] = layer_of(moment, self.tuning)
        return self.made[moment]

    def moves(self, before: Layer, after: Layer) -> Floats:
        if (before, after) not in self.priced:
            self.priced[before, after] = moves(before, after)
        return self.priced[before, after]


def layer_of(moment: Moment, tuning: Tuning) -> Layer:
    """List the grips of a moment: those of the written places, then the cheapest others.

    Where all that is struck can be open and nothing is held, the hand may stay wherever it is.
    """
    written, *others = _placings(moment, tuning)
    rows = _with_plucked(written, moment, tuning)
    more = [row for placing in others for row in _with_plucked(placing, moment, tuning)]
    more.sort(key=lambda row: row[0].cost)
    rows += more[:MOST_GRIPS]
    stays = next((p for p in (written, *others) if not any(f for _, f in p)), None)
    if stays is not None and not moment.held:
        plucked = _range(stays, moment)
        frets = range(1, tuning.frets - tuning.capo + 1)
        rows = [row for row in rows if row[0].places]
        rows += [(Hold((), (), position, 0.0), plucked) for position in (NOWHERE, *frets)]
    return Layer(
        grips=tuple(grip for grip, _ in rows),
        plucked=tuple(plucked for _, plucked in rows),
        kept_strings=(*(string for string, _ in moment.held), *moment.slid),
        tuning=tuning,
    )


def _with_plucked(
    placing: Sequence[Place], moment: Moment, tuning: Tuning
) -> list[tuple[Hold, tuple[int, int]]]:
    fretted = (*(place for place in placing if place[1]), *moment.held)
    sounding_open = {*moment.open_strings, *(string for string, fret in placing if not fret)}
    plucked = _range(placing, moment)
    return [(grip, plucked) for grip in grips_of(fretted, tuning, sounding_open)]


def _range(placing: Sequence[Place], moment: Moment) -> tuple[int, int]:
    strings = [string for string, _ in placing] or [string for string, _ in moment.held] or [1]
    return min(strings), max(strings)


def _placings(moment: Moment, tuning: Tuning) -> list[tuple[Place, ...]]:
    """Ways to place the notes on strings of their own, the written one first."""
    written = tuple(places[0] for places in moment.choices)
    taken = {string for string, _ in moment.held} | set(moment.open_strings)
    found: list[tuple[Place, ...]] = [()]
    for places in moment.choices:
        longer = [
            (*placing, (string, fret))
            for placing in found
            for string, fret in places
            if string not in taken and all(string != other for other, _ in placing)
        ]
        apart = [(stretch_mm([*placing, *moment.held], tuning), placing) for placing in longer]
        found = [placing for mm, placing in sorted(apart)[:MOST_BEGUN] if mm <= WIDEST_HAND_MM]
    others = [placing for placing in found if placing != written]
    others.sort(key=lambda placing: (stretch_mm(placing, tuning), max(f for _, f in placing)))
    return [written, *others[:MOST_CHOICES]]
