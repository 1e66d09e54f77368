"""What the fingers can do at one moment, and what that costs the hand.

A *grip* puts a finger, 1 the index finger to 4 the little one, on every fretted place. Fingers do
not cross: a lower finger lies on a lower fret; on one fret it lies on a lower-lying string. One
finger may bar several strings on one fret, where no lower place and no open string lies between.
Open strings cost no finger and leave the hand free.

No published table of costs could be read, so the weights are ours. They are assumptions: costs
compare fingerings with one another and say nothing about anybody's hand.
"""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise
from typing import Final

from riffract.music import Tuning

FINGERS: Final = 4
"""Fingers that stop strings, index to little finger; the thumb stays behind the neck."""

WIDEST_GAP_MM: Final = 34.5
"""Easy between neighbouring fingers: from the first fret to the second at 648 mm, the widest that
one finger a fret asks for, where players are taught to begin (common practice)."""

NARROWEST_GAP_MM: Final = 12.0
"""Fingers this close on neighbouring frets begin to be in each other's way: a fret is as narrow
from the twentieth on, where few passages stay (our assumption)."""

COST_A_MM_TOO_WIDE: Final = 0.1
"""The unit of the others: a centimetre beyond an easy stretch costs 1 (our assumption)."""
COST_A_MM_TOO_NARROW: Final = 0.02
"""A fifth of a millimetre too wide: crowded fingers are slower, but nothing hinders them (our
assumption)."""
COST_OF_A_BARRE: Final = 0.5
"""As much as stretching by 5 mm: it takes force, but saves fingers, so that chords across one fret
are still held by one (our assumption)."""
COST_OF_THE_LITTLE_FINGER: Final = 0.1
"""As much as a millimetre of stretch: it only decides where a stronger finger does as well (our
assumption)."""
COST_A_MM_OF_SHIFT: Final = 0.04
"""Moving the hand by a fret in first position costs as much as a stretch 14 mm beyond easy."""
COST_OF_A_FINGER_MOVED: Final = 0.3
"""Less than a quarter of a fret's shift in first position: fingers are put elsewhere all the time,
but one that can stay should (our assumption)."""
COST_OF_A_STRING_CROSSED: Final = 0.1
"""A third of a finger put elsewhere: the plucking hand moves by a centimetre, so this decides
between places that the fretting hand reaches alike (our assumption)."""
COST_OF_CHANGING_A_HELD_FINGER: Final = 3.0
"""More than a shift by two frets in first position: letting go cuts the note off, so it is done
only where nothing else will do (our assumption)."""
COST_BEYOND_A_HAND: Final = 20.0
"""For what no four fingers hold, so that the way goes on."""

ASSUMED_WEIGHTS: Final = (
    ("a millimetre beyond an easy stretch", COST_A_MM_TOO_WIDE),
    ("a millimetre too close", COST_A_MM_TOO_NARROW),
    ("a barre", COST_OF_A_BARRE),
    ("the little finger", COST_OF_THE_LITTLE_FINGER),
    ("a millimetre of shift", COST_A_MM_OF_SHIFT),
    ("a finger put elsewhere", COST_OF_A_FINGER_MOVED),
    ("a string crossed", COST_OF_A_STRING_CROSSED),
    ("another finger on a held or slid note", COST_OF_CHANGING_A_HELD_FINGER),
)
"""The assumptions as a reader may see them."""

Place = tuple[int, int]
"""String and fret."""


@dataclass(frozen=True, slots=True)
class Hold:
    """A grip: fretted places with a finger each, in the order given, and what it costs by itself.

    `position` is the fret under the index finger, 0 while the hand is placed nowhere.
    """

    places: tuple[Place, ...]
    fingers: tuple[int, ...]
    position: int
    cost: float


def stretch_mm(places: Sequence[Place], tuning: Tuning) -> float:
    """Measure along the neck from the lowest fretted place to the highest; 0 without two.

    Fingers press just behind the frets, so their distances are those of the frets.

    >>> six = Tuning(open_pitches=(40, 45, 50, 55, 59, 64))
    >>> round(stretch_mm([(6, 1), (5, 4), (4, 0)], six), 1)
    97.3
    """
    frets = [fret for _, fret in places if fret > 0]
    if len(frets) < 2:
        return 0.0
    return tuning.fret_distance_mm(max(frets)) - tuning.fret_distance_mm(min(frets))


def grips_of(
    places: Sequence[Place], tuning: Tuning, open_strings: Collection[int] = ()
) -> tuple[Hold, ...]:
    """List the ways to finger some fretted places, cheapest first.

    Args:
        places: string and fret, each on a string of its own, no open ones.
        tuning: for the distances.
        open_strings: strings that sound open meanwhile.

    Returns:
        At least one: what no four fingers hold is a grip without fingers, at the price of that.

    >>> six = Tuning(open_pitches=(40, 45, 50, 55, 59, 64))
    >>> best = grips_of([(6, 5), (5, 7), (4, 7)], six)[0]
    >>> best.fingers, best.position
    ((1, 3, 4), 5)
    """
    if not places:
        return (Hold((), (), 0, 0.0),)
    order = sorted(range(len(places)), key=lambda i: (places[i][1], -places[i][0]))
    rising = [places[i] for i in order]
    found = []
    for fingers in _fingerings(rising, 1, open_strings):
        own = tuple(fingers[order.index(i)] for i in range(len(places)))
        cost = grip_cost(rising, fingers, tuning)
        position = max(rising[0][1] - fingers[0] + 1, 1)
        found.append(Hold(tuple(places), own, position, cost))
    if not found:
        return (Hold(tuple(places), (0,) * len(places), rising[0][1], COST_BEYOND_A_HAND),)
    return tuple(sorted(found, key=lambda grip: (grip.cost, grip.fingers)))


def grip_cost(places: Sequence[Place], fingers: Sequence[int], tuning: Tuning) -> float:
    """Price a grip by itself.

    Definition: between fingers i < j that follow one another, d mm apart, each mm beyond
    (j - i) x 34.5 and each below (j - i) x 12 costs; so does each barre, and the little finger.

    Args:
        places: by fret, then from the lowest-lying string up.
        fingers: of each place; equal ones are a barre.
        tuning: for the distances.
    """
    cost = 0.0
    for (place, finger), (other, next_finger) in pairwise(zip(places, fingers, strict=True)):
        if finger == next_finger:
            continue
        apart = tuning.fret_distance_mm(other[1]) - tuning.fret_distance_mm(place[1])
        gaps = next_finger - finger
        cost += COST_A_MM_TOO_WIDE * max(apart - gaps * WIDEST_GAP_MM, 0.0)
        cost += COST_A_MM_TOO_NARROW * max(gaps * NARROWEST_GAP_MM - apart, 0.0)
    barres = sum(sum(1 for _ in same) > 1 for _, same in groupby(fingers))
    return cost + COST_OF_A_BARRE * barres + COST_OF_THE_LITTLE_FINGER * (FINGERS in fingers)


def _fingerings(
    places: Sequence[Place], lowest: int, in_the_way: Collection[int]
) -> Iterator[tuple[int, ...]]:
    """All fingers for places by fret, then from the lowest-lying string up, from `lowest` on."""
    if not places:
        yield ()
        return
    for finger in range(lowest, FINGERS + 1):
        for count in range(1, len(places) + 1):
            if not _one_finger_holds(places[:count], in_the_way):
                break
            held = {string for string, _ in places[:count]}
            for rest in _fingerings(places[count:], finger + 1, {*in_the_way, *held}):
                yield (finger,) * count + rest


def _one_finger_holds(barred: Sequence[Place], in_the_way: Collection[int]) -> bool:
    """Whether places lie on one fret, with nothing open or stopped lower down between them."""
    strings = [string for string, _ in barred]
    is_one_fret = len({fret for _, fret in barred}) == 1
    return is_one_fret and not any(min(strings) < s < max(strings) for s in in_the_way)
