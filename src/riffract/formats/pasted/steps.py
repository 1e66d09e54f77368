"""How many columns a step takes, found from the distances between attacks."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from fractions import Fraction
from itertools import pairwise
from math import gcd
from typing import Final

from riffract.formats.pasted.attacks import Bar

_CANDIDATES: Final = tuple(Fraction(n, 2) for n in range(2, 25))
_USUAL_BAR_QUARTERS: Final = 4
_SHORTEST_BAR, _LONGEST_BAR = Fraction(3, 2), Fraction(8)
_UNUSUAL_BAR: Final = 0.03
_UNLIKELY_BAR: Final = 0.3
_WIDEST_PLAIN_PADDING: Final = 2


class Room(Enum):
    """What takes columns that are no time: nothing, second digits of frets, or all signs."""

    NONE = "none"
    DIGITS = "digits"
    SIGNS = "signs"


@dataclass(frozen=True, slots=True)
class Columns:
    """Where the attacks of a bar stand.

    Attributes:
        system: its system.
        at: columns behind the bar line.
        width: the bar's.
    """

    system: int
    at: tuple[int, ...]
    width: int

    @property
    def distances(self) -> tuple[int, ...]:
        """Columns from each attack to the next."""
        return tuple(b - a for a, b in pairwise(self.at))


@dataclass(frozen=True, slots=True)
class Pace:
    """How a system is spaced.

    Attributes:
        step_columns: how many columns a step takes.
        room: what takes columns of its own, and so pushes all behind it to the right.
        is_exact: whether all attacks fall on steps.
    """

    step_columns: Fraction
    room: "Room"
    is_exact: bool


@dataclass(frozen=True, slots=True)
class StepsInBar:
    """A bar in steps.

    Attributes:
        at: the step of each attack, from 0.
        length: of the bar.
        moved_columns: for each attack how far it stood away from its step.
    """

    at: tuple[int, ...]
    length: int
    moved_columns: tuple[Fraction, ...]


def in_steps(bars: Sequence[Bar], grid_quarters: Fraction) -> tuple[list[StepsInBar], list[Pace]]:
    """Place the attacks of all bars on steps.

    Definition: the step is the greatest common divisor of the distances between attacks, in
    columns; first that of the whole text, then, if that is no step that occurs, of each system.
    Columns are taken as they are, or less the room that two-digit frets, or all signs, need beyond
    one column, whichever gives a step first. Where neither does, spacing is uneven: the step is
    the one that the distances miss least, and bars of four quarters are thought more likely.

    Returns:
        One for each bar, and one pace for each system, in order of its bars.
    """
    columns = {room: [_columns(bar, room) for bar in bars] for room in Room}
    bars_of_system: dict[int, list[int]] = {}
    for i, bar in enumerate(bars):
        bars_of_system.setdefault(bar.system, []).append(i)
    shared = _exact_pace(columns)
    pace_of: dict[int, Pace] = {}
    for system, own in bars_of_system.items():
        own_columns = {room: [every[i] for i in own] for room, every in columns.items()}
        pace_of[system] = (
            shared
            or _exact_pace(own_columns)
            or _likely_pace(own_columns[Room.NONE], grid_quarters)
        )
    chosen = [columns[pace_of[bar.system].room][i] for i, bar in enumerate(bars)]
    paddings = _paddings(chosen, {system: pace.step_columns for system, pace in pace_of.items()})
    placed = [
        _placed(columns, pace_of[columns.system].step_columns, paddings[columns.system])
        for columns in chosen
    ]
    return _snapped(placed), list(pace_of.values())


def of_length(placed: Sequence[StepsInBar], length: Fraction) -> list[StepsInBar]:
    """Give bars the length that the text says, in steps, where no attack is in its way.

    A dash more or less before the bar line is a matter of hand; more than one step is not.
    """
    if length.denominator != 1:
        return list(placed)
    return [
        replace(bar, length=int(length))
        if abs(bar.length - length) <= 1 and length > max(bar.at, default=-1)
        else bar
        for bar in placed
    ]


def _columns(bar: Bar, room: Room) -> Columns:
    """Tell where attacks stand, less the room that is taken beyond one column for each."""
    taken = 0
    at: list[int] = []
    for attack in bar.attacks:
        left = attack.left if room is Room.SIGNS else 0
        at.append(attack.column - left - taken)
        if room is Room.SIGNS:
            taken += left + attack.right - 1
        elif room is Room.DIGITS:
            taken += attack.digits - 1
    if any(b <= a for a, b in pairwise(at)):
        return _columns(bar, Room.NONE)
    return Columns(bar.system, tuple(at), bar.width - taken)


def _exact_pace(columns: Mapping[Room, Sequence[Columns]]) -> Pace | None:
    for room, bars in columns.items():
        distances = {d for bar in bars for d in bar.distances}
        step = gcd(*distances)
        if step > 1 or 1 in distances:
            return Pace(Fraction(step), room=room, is_exact=True)
    return None


def _likely_pace(bars: Sequence[Columns], grid_quarters: Fraction) -> Pace:
    distances = Counter(d for bar in bars for d in bar.distances)
    if not distances:
        widest: int = max((bar.width - bar.at[0] for bar in bars if bar.at), default=1)
        return Pace(Fraction(max(widest, 1)), room=Room.NONE, is_exact=True)
    lengths = Counter(bar.width - bar.at[0] for bar in bars if bar.at)

    def cost(step: Fraction) -> float:
        missed = sum(
            count * abs(d / step - max(round(d / step), 1)) for d, count in distances.items()
        )
        unlikely = sum(
            count * _surprise(round(width / step) * grid_quarters)
            for width, count in lengths.items()
        )
        return float(missed / distances.total()) + unlikely / lengths.total()

    return Pace(min(_CANDIDATES, key=cost), room=Room.NONE, is_exact=False)


def _surprise(quarters: Fraction) -> float:
    if quarters == _USUAL_BAR_QUARTERS:
        return 0.0
    return _UNUSUAL_BAR if _SHORTEST_BAR <= quarters <= _LONGEST_BAR else _UNLIKELY_BAR


def _paddings(bars: Iterable[Columns], step_of: dict[int, Fraction]) -> dict[int, Fraction]:
    """Tell for each system how many columns stand before the first step of its bars.

    It is what all its bars have in common, and no more than a step; if other systems have less,
    and whole steps lie between, it begins with a rest.
    """
    firsts: dict[int, int] = {}
    for bar in bars:
        if bar.at:
            firsts[bar.system] = min(bar.at[0], firsts.get(bar.system, bar.at[0]))
    smallest = min(firsts.values(), default=0)
    paddings: dict[int, Fraction] = {}
    for system, step in step_of.items():
        first = firsts.get(system, smallest)
        if (first - smallest) % step == 0:
            paddings[system] = _within_a_step(smallest, step)
        else:
            paddings[system] = _within_a_step(first, step)
    return paddings


def _within_a_step(column: int, step: Fraction) -> Fraction:
    if column <= step or column <= _WIDEST_PLAIN_PADDING:
        return Fraction(column)
    return column - step * ((column - 1) // step)


def _placed(bar: Columns, step: Fraction, padding: Fraction) -> "_Placed":
    if not bar.at:
        return _Placed(StepsInBar((), 1, ()), (bar.width - padding) / step, bar.system)
    first = max(_nearest((bar.at[0] - padding) / step), 0)
    at = [first]
    for distance in bar.distances:
        at.append(at[-1] + max(_nearest(distance / step), 1))
    behind = (bar.width - bar.at[-1]) / step
    exact = bar.at[0] - first * step
    moved = tuple(abs(column - exact - k * step) for column, k in zip(bar.at, at, strict=True))
    steps = StepsInBar(tuple(at), at[-1] + max(_nearest(behind), 1), moved)
    return _Placed(steps, at[-1] + behind, bar.system)


@dataclass(frozen=True, slots=True)
class _Placed:
    steps: StepsInBar
    exact_length: Fraction
    system: int


def _nearest(value: Fraction) -> int:
    """Round; a half goes down, as a dash too many is more usual than one too few."""
    return -int((Fraction(1, 2) - value) // 1)


def _snapped(placed: Sequence[_Placed]) -> list[StepsInBar]:
    """Give bars whose width is between two lengths the more usual one of the two."""
    counts = Counter(bar.steps.length for bar in placed if bar.steps.at)
    usual = counts.most_common(1)[0][0] if counts else 1
    snapped: list[StepsInBar] = []
    for bar in placed:
        length = bar.steps.length
        if not bar.steps.at:
            length = max(_nearest(bar.exact_length), 1)
        rest = abs(bar.exact_length - length)
        is_unclear = rest >= Fraction(1, 4) and abs(bar.exact_length - usual) < 1
        if is_unclear and usual > max(bar.steps.at, default=-1):
            length = usual
        snapped.append(replace(bar.steps, length=length))
    return snapped
