"""Passages drawn at random in the manners riffs are written in, and what is true of each.

A control holds nothing that was put there on purpose, apart from what its manner is made of: a
riff that is stated four times has passes, whatever its notes. Such kinds are named beside it, and
do not count as false.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

import numpy as np
from tests.making import Spelled, passage

from riffract.analysis.finding import Kind
from riffract.music import Metre, Passage

FOUR_FOUR: Final = Metre(groups=(4,), unit=4)
SEVEN_EIGHT: Final = Metre(groups=(2, 2, 3), unit=8)
ELEVEN_EIGHT: Final = Metre(groups=(3, 3, 3, 2), unit=8)
LOWEST: Final = 35
"""The lowest open string of the seven-string tuning that tests use."""

MINOR: Final = (0, 2, 3, 5, 7, 8, 10)
PENTATONIC: Final = (0, 3, 5, 7, 10)
Draw = np.random.Generator


@dataclass(frozen=True, slots=True, kw_only=True)
class Control:
    """A manner of drawing passages.

    Attributes:
        draw: gives a passage for a seed.
        true_kinds: kinds of finding that hold by construction, so that they are no false alarm.
        why: what makes them hold.
    """

    draw: Callable[[int], Passage]
    true_kinds: frozenset[Kind] = frozenset()
    why: str = "nothing"


def scale_between(low: int, high: int, root: int, steps: Sequence[int]) -> list[int]:
    """List the pitches of a scale between two pitches, both included."""
    return [pitch for pitch in range(low, high + 1) if (pitch - root) % 12 in steps]


def walk(rng: Draw, count: int, scale: Sequence[int], *, furthest: int = 2) -> list[int]:
    """Draw a random walk through a scale, turned back at its ends."""
    at = int(rng.integers(len(scale)))
    line = []
    for step in rng.integers(-furthest, furthest + 1, count).tolist():
        at = at + step if 0 <= at + step < len(scale) else at - step
        line.append(scale[at])
    return line


def values(rng: Draw, count: int) -> list[Fraction]:
    """Draw sixteenths, eighths and dotted eighths."""
    return [Fraction(n, 4) for n in rng.choice([1, 2, 3], count, p=[0.4, 0.4, 0.2]).tolist()]


def spelled(pitches: Sequence[int], lengths: Sequence[Fraction]) -> list[Spelled]:
    """Join pitches and their values."""
    return list(zip(pitches, lengths, strict=True))


def uniform_line(rng: Draw, count: int) -> list[Spelled]:
    """Draw any pitches of two octaves, in mixed values."""
    return spelled(rng.integers(40, 64, count).tolist(), values(rng, count))


def _uniform(seed: int) -> Passage:
    return passage(uniform_line(np.random.default_rng(seed), 100), metres=[SEVEN_EIGHT])


def _walk_in_scale(seed: int) -> Passage:
    rng = np.random.default_rng(seed)
    scale = scale_between(40, 67, int(rng.integers(12)), MINOR)
    return passage(spelled(walk(rng, 100, scale), values(rng, 100)), metres=[FOUR_FOUR])


def _pentatonic(seed: int) -> Passage:
    rng = np.random.default_rng(seed)
    scale = scale_between(40, 67, int(rng.integers(12)), PENTATONIC)
    return passage(spelled(walk(rng, 96, scale), [Fraction(1, 2)] * 96), metres=[FOUR_FOUR])


def _chugging(seed: int) -> Passage:
    rng = np.random.default_rng(seed)
    line: list[Spelled] = []
    for pitch in rng.integers(42, 60, 26).tolist():
        line.append((pitch, Fraction(1, 2)))
        line += [(LOWEST, Fraction(1, 4))] * int(rng.integers(1, 5))
    return passage(line, metres=[SEVEN_EIGHT], muted=[LOWEST])


def _chugging_alone(seed: int) -> Passage:
    rng = np.random.default_rng(seed)
    return passage(spelled([LOWEST] * 90, values(rng, 90)), metres=[FOUR_FOUR], muted=[LOWEST])


def _chords(seed: int) -> Passage:
    rng = np.random.default_rng(seed)
    line: list[Spelled] = []
    for root, length in zip(rng.integers(36, 48, 60).tolist(), values(rng, 60), strict=True):
        line.append(((root, root + 7, root + 12), 2 * length))
    return passage(line, metres=[FOUR_FOUR])


def _mixed_chords(seed: int) -> Passage:
    rng = np.random.default_rng(seed)
    line: list[Spelled] = []
    for root in rng.integers(46, 56, 48).tolist():
        other = sorted(rng.choice(np.arange(3, 16), int(rng.integers(0, 3)), replace=False))
        line.append(((root, *(root + int(step) for step in other)), Fraction(1, 2)))
    return passage(line, metres=[FOUR_FOUR])


def _repeated(seed: int) -> Passage:
    rng = np.random.default_rng(seed)
    riff = uniform_line(rng, int(rng.integers(12, 26)))
    return passage(riff * int(rng.integers(3, 6)), metres=[SEVEN_EIGHT])


def _riffs_in_turn(seed: int) -> Passage:
    rng = np.random.default_rng(seed)
    riffs = [uniform_line(rng, 14) for _ in range(3)]
    return passage(
        [one for k in rng.integers(0, 3, 9).tolist() for one in riffs[k]], metres=[SEVEN_EIGHT]
    )


def _over_a_drone(seed: int) -> Passage:
    rng = np.random.default_rng(seed)
    line: list[Spelled] = []
    for _ in range(14):
        upper = rng.integers(57, 72, 6).tolist()
        line.append(((50, upper[0]), Fraction(1, 2)))
        line += [(pitch, Fraction(1, 4)) for pitch in upper[1:]]
    return passage(line, metres=[SEVEN_EIGHT], ringing=[50])


def _ostinato(seed: int) -> Passage:
    """Draw a cell that goes round above a ringing string, one note of it drawn anew each time."""
    rng = np.random.default_rng(seed)
    cell = rng.integers(57, 70, 8).tolist()
    line: list[Spelled] = []
    for _ in range(12):
        here = list(cell)
        here[int(rng.integers(1, 8))] = int(rng.integers(57, 70))
        line.append(((50, here[0]), Fraction(1, 2)))
        line += [(pitch, Fraction(1, 4)) for pitch in here[1:]]
    return passage(line, metres=[ELEVEN_EIGHT], ringing=[50])


def _odd_metre(seed: int) -> Passage:
    """Draw values of many sorts, triplets and rests among them, against changing bars."""
    rng = np.random.default_rng(seed)
    line: list[Spelled] = []
    sorts = [["1/2"], ["1/4", "1/4"], ["3/4", "1/4"], ["1/3", "1/3", "1/3"], ["1"], ["3/2"]]
    for k in rng.integers(0, len(sorts), 50).tolist():
        for value in sorts[k]:
            is_rest = rng.random() < 0.12
            line.append((None if is_rest else int(rng.integers(40, 64)), Fraction(value)))
    return passage(line, metres=[SEVEN_EIGHT, ELEVEN_EIGHT])


def _chain(seed: int) -> Passage:
    """Draw a first-order chain: after each of eight pitches, two or three others may follow."""
    rng = np.random.default_rng(seed)
    pitches = rng.choice(np.arange(40, 62), 8, replace=False).tolist()
    follow = [rng.choice(8, int(rng.integers(2, 4)), replace=False) for _ in range(8)]
    at, line = 0, []
    for _ in range(100):
        line.append(pitches[at])
        at = int(rng.choice(follow[at]))
    return passage(spelled(line, values(rng, 100)), metres=[FOUR_FOUR])


def _equal_values(seed: int) -> Passage:
    """Compose nothing: equal eighths, any pitch of an octave and a half."""
    rng = np.random.default_rng(seed)
    line = rng.integers(40, 58, 128).tolist()
    return passage(spelled(line, [Fraction(1, 2)] * 128), metres=[FOUR_FOUR])


def _low_beats(seed: int) -> Passage:
    """Strike the low string on each beat, and draw notes of a scale between."""
    rng = np.random.default_rng(seed)
    scale = scale_between(40, 59, LOWEST, MINOR)
    line: list[Spelled] = []
    for _ in range(40):
        line.append((LOWEST, Fraction(1, 4)))
        rest = Fraction(3, 4)
        while rest:
            value = min(Fraction(int(rng.integers(1, 3)), 4), rest)
            line.append((scale[int(rng.integers(len(scale)))], value))
            rest -= value
    return passage(line, metres=[FOUR_FOUR], muted=[LOWEST])


def _mosaic(seed: int) -> Passage:
    """String together bars of chugs, runs, chords and rests, none of them twice on purpose."""
    rng = np.random.default_rng(seed)
    line: list[Spelled] = []
    for _ in range(14):
        match int(rng.integers(4)):
            case 0:
                line += [(LOWEST, Fraction(1, 4))] * 8
            case 1:
                line += [(p, Fraction(1, 4)) for p in rng.integers(42, 60, 8).tolist()]
            case 2:
                for root in rng.integers(36, 48, 2).tolist():
                    line.append(((root, root + 7), Fraction(1)))
            case _:
                line += [(int(rng.integers(42, 60)), Fraction(3, 2)), (None, Fraction(1, 2))]
    return passage(line, metres=[FOUR_FOUR], muted=[LOWEST])


RETURNS: Final = frozenset({Kind.PASSES, Kind.PATTERN, Kind.METRE})
"""What holds wherever a riff is stated again: its passes, the pattern, how they sit in the bar."""

CONTROLS: Final[Mapping[str, Control]] = {
    "uniform": Control(draw=_uniform),
    "walk in a scale": Control(
        draw=_walk_in_scale, true_kinds=frozenset({Kind.COLLECTION}), why="drawn from a scale"
    ),
    "pentatonic walk": Control(
        draw=_pentatonic, true_kinds=frozenset({Kind.COLLECTION}), why="drawn from a scale"
    ),
    "chugging between notes": Control(draw=_chugging),
    "chugging alone": Control(draw=_chugging_alone),
    "power chords": Control(
        draw=_chords, true_kinds=frozenset({Kind.HAND}), why="one shape, moved"
    ),
    "mixed chords": Control(draw=_mixed_chords),
    "a riff, repeated": Control(
        draw=_repeated,
        true_kinds=RETURNS,
        why="a riff is stated again",
    ),
    "riffs in random turn": Control(
        draw=_riffs_in_turn,
        true_kinds=RETURNS,
        why="riffs are stated again",
    ),
    "over a drone": Control(
        draw=_over_a_drone, true_kinds=frozenset({Kind.DRONE}), why="a string rings throughout"
    ),
    "ostinato with drone": Control(
        draw=_ostinato,
        true_kinds=RETURNS | {Kind.DRONE},
        why="a cell goes round under a ringing string",
    ),
    "odd metre, mixed values": Control(draw=_odd_metre),
    "first-order chain": Control(draw=_chain),
    "equal values": Control(draw=_equal_values),
    "low string on the beat": Control(
        draw=_low_beats, true_kinds=frozenset({Kind.COLLECTION}), why="drawn from a scale"
    ),
    "mosaic of bars": Control(draw=_mosaic, true_kinds=RETURNS, why="bars of chugs return"),
}
