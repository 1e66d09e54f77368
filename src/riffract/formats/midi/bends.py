"""Bends and vibrato, told from how the pitch wheel turns within a note."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import median
from typing import Final

WOBBLE_CENTS: Final = 20.0
"""A pitch that turns back by less has not turned; below half of a quarter tone nothing is bent."""

FEWEST_SWINGS: Final = 4
LONGEST_SWING_SECONDS: Final = 0.2
WIDEST_SWING_CENTS: Final = 150.0
"""Vibrato goes to and fro at least twice, at 2.5 Hz or faster, within three quarters of a tone;
slower or wider is bent and released."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """How a note moves.

    Attributes:
        bend: as in `Note`.
        has_vibrato: whether it swings.
    """

    bend: tuple[int, ...] = ()
    has_vibrato: bool = False


STRAIGHT: Final = Way()


@dataclass(frozen=True, slots=True)
class _Turn:
    seconds: float
    cents: float


def way_of(seconds: Sequence[float], cents: Sequence[float]) -> Way:
    """Tell the way of a bend from the curve of a note.

    The way goes through the curve's turning points, to the nearest cent. Turns of less than 20
    cents are none. Four swings or more in a row, none longer than 0.2 s nor wider than 150 cents,
    are vibrato; the pitch that they swing about takes their place: the fret's own if they swing
    from it, else the one midway. Less than 20 cents off its key a note is on it. One that starts
    further off is bent before it sounds.

    Args:
        seconds: when the pitch changes, rising, the first at the note's onset.
        cents: to how far above its key.

    >>> way_of([0.0, 0.1, 0.2, 0.5, 0.6], [0.0, 90.0, 200.0, 100.0, 0.0]).bend
    (0, 200, 0)
    >>> way_of([0.0], [200.0]).bend
    (200,)
    """
    turns = _turns(seconds, cents)
    calm = _without_vibrato(turns)
    kept = _turns([turn.seconds for turn in calm], [turn.cents for turn in calm])
    way = [0 if abs(turn.cents) < WOBBLE_CENTS else round(turn.cents) for turn in kept]
    bend = [way[0], *(after for before, after in pairwise(way) if after != before)]
    return Way(bend=tuple(bend) if any(bend) else (), has_vibrato=len(calm) < len(turns))


def _turns(seconds: Sequence[float], cents: Sequence[float]) -> list[_Turn]:
    """Keep the start, the points where the curve turns back by 20 cents or more, and its end."""
    places = [0]
    lowest = highest = reached = cents[0]
    place = direction = 0
    for index, now in enumerate(cents):
        if not direction:
            lowest, highest = min(lowest, now), max(highest, now)
            if highest - lowest >= WOBBLE_CENTS:
                place, reached, direction = index, now, 1 if now == highest else -1
        elif direction * (now - reached) > 0.0:
            place, reached = index, now
        elif direction * (reached - now) >= WOBBLE_CENTS:
            places.append(place)
            place, reached, direction = index, now, -direction
    if direction:
        places.append(place)
    return [_Turn(seconds[at], cents[at]) for at in places]


def _without_vibrato(turns: Sequence[_Turn]) -> list[_Turn]:
    """Put the pitch that it swings about in place of each vibrato."""
    calm: list[_Turn] = []
    at = 0
    while at < len(turns):
        last = at
        while last + 1 < len(turns) and _is_swing(turns[last], turns[last + 1]):
            last += 1
        run = turns[at : last + 1]
        calm += _calmed(run) if len(run) > FEWEST_SWINGS else run
        at = last + 1
    return calm


def _is_swing(before: _Turn, after: _Turn) -> bool:
    return (
        after.seconds - before.seconds <= LONGEST_SWING_SECONDS
        and abs(after.cents - before.cents) <= WIDEST_SWING_CENTS
    )


def _calmed(run: Sequence[_Turn]) -> list[_Turn]:
    """Give the pitch that a vibrato swings about, and where its ends lie beyond the swing."""
    lows, highs = zip(*(sorted((a.cents, b.cents)) for a, b in pairwise(run)), strict=True)
    low, high = median(lows), median(highs)
    is_from_fret = min(abs(low), abs(high)) < WOBBLE_CENTS
    middle = _Turn(run[0].seconds, 0.0 if is_from_fret else (low + high) / 2.0)
    lead, tail = (
        [end] if not low - WOBBLE_CENTS < end.cents < high + WOBBLE_CENTS else []
        for end in (run[0], run[-1])
    )
    return [*lead, middle, *tail]
