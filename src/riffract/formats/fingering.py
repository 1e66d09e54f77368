"""Propose string and fret for notes that come without: the cheapest way of the hand."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final, NamedTuple

from riffract.music import Tuning
from riffract.music.tuning import MOST_FRETS

Place = tuple[int, int]
"""String and fret."""

Shape = tuple[Place, ...]
"""String and fret of each note of an attack."""

WIDEST_SPAN_FRETS: Final = 4
"""How far index and little finger reach, with a stretch (common practice)."""

FINGERS: Final = 4

_MOST_SHAPES: Final = 12
_MOST_PARTIAL_SHAPES: Final = ((WIDEST_SPAN_FRETS, 24), (MOST_FRETS, 400))
"""Widest span, and how many beginnings of a shape are kept; the second row if the first fails."""

_COST_OF_A_FRET_UP_THE_NECK: Final = 0.1
_COST_OF_A_FRET_OF_SPAN: Final = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Fingering:
    """Where attacks are played.

    Attributes:
        shapes: for each attack a place for each of its pitches, in their order; `None` where the
            strings cannot give these pitches together.
        beyond: the pitches that no string gives at all, as (index of the attack, pitch).
    """

    shapes: tuple[Shape | None, ...]
    beyond: tuple[tuple[int, int], ...]


def proposed_fingering(attacks: Sequence[Sequence[int]], tuning: Tuning) -> Fingering:
    """Choose a place for each pitch of each attack: the path with the least way along the neck.

    Args:
        attacks: in the order of playing, each with the MIDI pitches that start together.
        tuning: the strings.

    Returns:
        Shapes in the order of the attacks; what cannot be played is told, and the hand goes on.

    >>> six = Tuning(open_pitches=(40, 45, 50, 55, 59, 64))
    >>> proposed_fingering([[40, 47, 52], [69]], six)
    Fingering(shapes=(((6, 0), (5, 2), (4, 2)), ((1, 5),)), beyond=())
    """
    choices = [[places_of(pitch, tuning) for pitch in attack] for attack in attacks]
    beyond = [
        (index, pitch)
        for index, attack in enumerate(attacks)
        for pitch, places in zip(attack, choices[index], strict=True)
        if not places
    ]
    return Fingering(shapes=tuple(cheapest_path(choices)), beyond=tuple(beyond))


def places_of(pitch: int, tuning: Tuning) -> tuple[Place, ...]:
    """List the places that give a pitch, from string 1 on; empty if none does.

    >>> places_of(64, Tuning(open_pitches=(40, 45, 50, 55, 59, 64)))
    ((1, 0), (2, 5), (3, 9), (4, 14), (5, 19), (6, 24))
    """
    frets = ((s, pitch - tuning.open_pitch(s)) for s in range(1, tuning.string_count + 1))
    return tuple((s, fret) for s, fret in frets if 0 <= fret <= tuning.frets - tuning.capo)


def cheapest_path(attacks: Sequence[Sequence[Sequence[Place]]]) -> list[Shape | None]:
    """Choose one of the possible places for each note of each attack.

    Definition: of each attack the few cheapest hand shapes are kept. A shape costs its span and, a
    little, its height on the neck; open strings are free. The hand's position is the fret under
    the index finger; it moves no further than it must so that four fingers reach the frets. The
    path costs its shapes and the way of the hand; the cheapest one is found exactly, by dynamic
    programming over positions.

    Args:
        attacks: in the order of playing; for each note the places where it can be played.

    Returns:
        A shape for each attack; `None` where no choice puts the notes on strings of their own.
    """
    table: dict[tuple[tuple[Place, ...], ...], tuple[_Grip, ...]] = {}
    path = _Path()
    playable = []
    for attack in attacks:
        key = tuple(tuple(places) for places in attack)
        grips = table.get(key)
        if grips is None:
            grips = table[key] = _grips(key)
        playable.append(bool(grips))
        if grips:
            path.add(grips)
    found = path.cheapest()
    found.reverse()
    return [found.pop() if is_playable else None for is_playable in playable]


class _Grip(NamedTuple):
    """A shape with its cost, and the positions from which four fingers reach it; 0 for any."""

    cost: float
    shape: Shape
    lowest: int
    highest: int

    def position_from(self, position: int) -> int:
        """Move the hand no further than it must; a hand not placed yet puts the index finger on."""
        if not self.highest:
            return position
        return min(max(position, self.lowest), self.highest) if position else self.highest


class _Step(NamedTuple):
    cost: float
    shape: Shape
    position_before: int


@dataclass(slots=True)
class _Path:
    """The cheapest way to each position of the hand, and how it came there; 0 is not placed yet."""

    costs: Mapping[int, float] = field(default_factory=lambda: {0: 0.0})
    steps: list[dict[int, _Step]] = field(default_factory=list)

    def add(self, grips: Sequence[_Grip]) -> None:
        best: dict[int, _Step] = {}
        for grip in grips:
            for position, cost in self.costs.items():
                goal = grip.position_from(position)
                total = cost + grip.cost + (abs(goal - position) if position else 0)
                if goal not in best or total < best[goal].cost:
                    best[goal] = _Step(total, grip.shape, position)
        self.costs = {position: step.cost for position, step in best.items()}
        self.steps.append(best)

    def cheapest(self) -> list[Shape]:
        position = min(self.costs, key=lambda p: self.costs[p])
        shapes = []
        for best in reversed(self.steps):
            step = best[position]
            shapes.append(step.shape)
            position = step.position_before
        shapes.reverse()
        return shapes


def _grips(choices: Sequence[Sequence[Place]]) -> tuple[_Grip, ...]:
    """List the cheapest shapes, one for each reach of positions."""
    grips: dict[tuple[int, int], _Grip] = {}
    for shape in _cheapest_shapes(choices):
        grip = _grip(shape)
        grips.setdefault((grip.lowest, grip.highest), grip)
    return tuple(grips.values())


def _cheapest_shapes(choices: Sequence[Sequence[Place]]) -> list[Shape]:
    for span, most in _MOST_PARTIAL_SHAPES:
        partial: list[Shape] = [()]
        for places in choices:
            longer = [
                (*shape, place)
                for shape in partial
                for place in places
                if place[0] not in {string for string, _ in shape}
            ]
            within = [shape for shape in longer if _span(shape) <= span]
            partial = sorted(within, key=_cost)[:most]
        if partial:
            return partial[:_MOST_SHAPES]
    return []


def _grip(shape: Shape) -> _Grip:
    fretted = [fret for _, fret in shape if fret > 0]
    if not fretted:
        return _Grip(_cost(shape), shape, 0, 0)
    highest = min(fretted)
    lowest = min(max(max(fretted) - (FINGERS - 1), 1), highest)
    return _Grip(_cost(shape), shape, lowest, highest)


def _span(shape: Shape) -> int:
    fretted = [fret for _, fret in shape if fret > 0]
    return max(fretted) - min(fretted) if fretted else 0


def _cost(shape: Shape) -> float:
    highest = max((fret for _, fret in shape), default=0)
    return _COST_OF_A_FRET_OF_SPAN * _span(shape) + _COST_OF_A_FRET_UP_THE_NECK * highest
