"""Where attacks fall in their bars: on or off the beat, how many a quarter, on which division."""

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate
from math import gcd, lcm
from typing import Final

from riffract.analysis.attacks import Attack
from riffract.analysis.syncopation import syncopation
from riffract.analysis.what.metre import TupletLayer
from riffract.music import Bar, Metre, Passage

ALIKE_SHARE: Final = Fraction(1, 2)
"""A bar stands for all if at least so many of the bars with attacks have its rhythm."""

MOST_CYCLE_PULSES: Final = 192
"""A finer cycle is not counted in pulses that anybody could follow."""


@dataclass(frozen=True, slots=True)
class PlacedAttack:
    """An attack with its bar, and its place from that bar's start."""

    attack: Attack
    bar: Bar
    place_quarters: Fraction


def placed(passage: Passage, attacks: Sequence[Attack]) -> tuple[PlacedAttack, ...]:
    """Find the bar and place of each attack; a pick-up bar counts as the end of a full one."""
    found, number = [], 0
    for attack in attacks:
        while (
            number + 1 < len(passage.bars)
            and passage.bars[number + 1].start_quarters <= attack.onset_quarters
        ):
            number += 1
        bar = passage.bars[number]
        place = attack.onset_quarters - bar.start_quarters
        if number == 0 and not bar.is_free:
            place += max(bar.metre.length_quarters - bar.length_quarters, Fraction(0))
        found.append(PlacedAttack(attack, bar, place))
    return tuple(found)


def beat_starts(metre: Metre) -> tuple[Fraction, ...]:
    """List where the beats of a bar start, from its start.

    >>> [str(start) for start in beat_starts(Metre(groups=(3, 2), unit=8))]
    ['0', '3/2']
    """
    units = [0, *accumulate(metre.beats[:-1])]
    return tuple(unit * metre.unit_quarters for unit in units)


def off_beat_share(places: Sequence[PlacedAttack]) -> float:
    """Tell what share of the attacks falls between the beats; 0 without attacks."""
    starts = {one.bar.metre: frozenset(beat_starts(one.bar.metre)) for one in places}
    off = sum(one.place_quarters not in starts[one.bar.metre] for one in places)
    return off / len(places) if places else 0.0


def density(passage: Passage, places: Sequence[PlacedAttack]) -> tuple[float, ...]:
    """Count attacks a quarter, bar by bar."""
    counts = Counter(one.bar.number for one in places)
    return tuple(round(counts[b.number] / float(b.length_quarters), 6) for b in passage.bars)


def syncopation_a_bar(passage: Passage, places: Sequence[PlacedAttack]) -> float:
    """Add up how much attacks are held across stronger places, and divide by the bars."""
    held = Counter(
        (one.bar.metre, one.place_quarters, one.place_quarters + one.attack.value_quarters)
        for one in places
        if not one.bar.is_free
    )
    total = sum(
        times * syncopation(metre, [place], [after])[0]
        for (metre, place, after), times in held.items()
    )
    return total / len(passage.bars)


def tuplet_layers(places: Sequence[PlacedAttack]) -> tuple[TupletLayer, ...]:
    """List the divisions by other than two, the most common first; empty if there are none.

    Definition: the odd part of the denominator of an attack's place in quarters.

    >>> from tests.making import passage
    >>> from riffract.analysis.attacks import attacks_of
    >>> music = passage([(40, "1/3"), (41, "1/3"), (43, "1/3"), (40, 1)])
    >>> [(one.parts, one.attacks) for one in tuplet_layers(placed(music, attacks_of(music)))]
    [(3, 2)]
    """
    bars: dict[int, list[int]] = defaultdict(list)
    for one in places:
        parts = one.place_quarters.denominator
        parts //= parts & -parts
        if parts > 1:
            bars[parts].append(one.bar.number)
    layers = [
        TupletLayer(parts=parts, bars=tuple(dict.fromkeys(of)), attacks=len(of))
        for parts, of in bars.items()
    ]
    return tuple(sorted(layers, key=lambda layer: (-layer.attacks, layer.parts)))


@dataclass(frozen=True, slots=True)
class Cycle:
    """Onsets that go round, in equal pulses, and the values from each to the next."""

    onsets: tuple[int, ...]
    pulses: int


def bar_cycle(places: Sequence[PlacedAttack]) -> Cycle | None:
    """Give the rhythm that most bars have, if half of them or more do."""
    by_bar: dict[int, list[PlacedAttack]] = defaultdict(list)
    for one in places:
        by_bar[one.bar.number].append(one)
    rhythms = Counter(
        (of[0].bar.metre.length_quarters, tuple(one.place_quarters for one in of))
        for of in by_bar.values()
    )
    if not rhythms:
        return None
    (length, onsets), often = rhythms.most_common(1)[0]
    return cycle_of(onsets, length) if often >= ALIKE_SHARE * len(by_bar) else None


def cycle_of(onsets_quarters: Sequence[Fraction], length_quarters: Fraction) -> Cycle | None:
    """Count onsets in the longest pulse that measures them and the cycle.

    Returns:
        `None` if the pulse is too short to follow.

    >>> cycle_of([Fraction(0), Fraction(3, 2), Fraction(3)], Fraction(4))
    Cycle(onsets=(0, 3, 6), pulses=8)
    """
    resolution = lcm(*(t.denominator for t in (*onsets_quarters, length_quarters)))
    pulses = int(length_quarters * resolution)
    onsets = [int(onset * resolution) for onset in onsets_quarters]
    step = gcd(pulses, *onsets)
    if pulses // step > MOST_CYCLE_PULSES:
        return None
    return Cycle(tuple(onset // step for onset in onsets), pulses // step)
