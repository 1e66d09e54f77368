"""Passages of ours with a mirror planted in them, and what was planted; and passages with none.

Everything is drawn from a seed. What was planted is the expectation of the tests and of the
benchmark; around it lies music that was drawn without it.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from functools import partial
from typing import Final

import numpy as np
from tests.making import Spelled, passage

from riffract.music import Metre, Passage

SEVEN_EIGHT: Final = Metre(groups=(2, 2, 3), unit=8)
FOUR_FOUR: Final = Metre(groups=(4,), unit=4)
SCALE: Final = (0, 1, 3, 5, 7, 8, 10)
LOWEST: Final = 35
Bend = tuple[Fraction, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Planted:
    """A passage and the mirror in it.

    Attributes:
        music: the passage.
        of: the kind.
        axis_quarters: where it turns; for an inversion, where the image starts.
        axis_pitch: what an inversion is turned about.
        pairs: how many pairs of partners there are, broken ones among them.
        core_pairs: pairs from the axis outwards before the first that fails.
        bends: onset of the note that departs, and by how many semitones.
        scale: how much longer time runs on the left.
    """

    music: Passage
    of: str
    axis_quarters: Fraction
    axis_pitch: Fraction | None = None
    pairs: int
    core_pairs: int
    bends: tuple[Bend, ...] = ()
    scale: float = 1.0
    tags: tuple[str, ...] = field(default=())


def drawn_line(
    rng: np.random.Generator, count: int, *, walks: bool, low: int = 40, high: int = 64
) -> list[int]:
    """Draw pitches: anywhere, or as a walk in small steps within a scale."""
    if not walks:
        return [int(p) for p in rng.integers(low, high, count)]
    scale = [p for p in range(low, high) if (p - low) % 12 in SCALE]
    at = int(rng.integers(len(scale)))
    line = []
    for _ in range(count):
        line.append(scale[at])
        step = int(rng.choice([-3, -2, -1, -1, 1, 1, 2, 3]))
        at = min(max(at + step if 0 <= at + step < len(scale) else at - step, 0), len(scale) - 1)
    return line


def drawn_values(rng: np.random.Generator, count: int) -> list[Fraction]:
    return [Fraction(str(v)) for v in rng.choice(["1/4", "1/2", "3/4"], count, p=[0.4, 0.4, 0.2])]


def _spelled(pitches: list[int], values: list[Fraction]) -> list[Spelled]:
    return list(zip(pitches, values, strict=True))


def _length(line: list[Spelled]) -> Fraction:
    return sum((Fraction(value) for _, value in line), Fraction(0))


def _around(rng: np.random.Generator, *, walks: bool) -> tuple[list[Spelled], list[Spelled]]:
    sizes = [int(n) for n in rng.integers(8, 21, 2)]
    before, after = (_spelled(drawn_line(rng, n, walks=walks), drawn_values(rng, n)) for n in sizes)
    return before, after


def _bent(
    rng: np.random.Generator, pitches: list[int], bends: int, core: int
) -> tuple[list[int], dict[int, int]]:
    """Shift some notes of a limb, neither its first ones nor its last two; by their places."""
    line, shifts = list(pitches), {}
    places = rng.permutation(np.arange(core, len(line) - 3, 3))[:bends]
    for place in sorted(places.tolist()):
        shifts[place] = int(rng.choice([-2, -1, 1, 2]))
        line[place] += shifts[place]
    return line, shifts


def retrograde(
    seed: int, *, walks: bool = False, odd: bool = False, bends: int = 0, scale: str = "1"
) -> Planted:
    """Plant pitches in reverse; their values are equal in each limb, and differ by the scale."""
    rng = np.random.default_rng(seed)
    before, after = _around(rng, walks=walks)
    half = drawn_line(rng, int(rng.integers(12, 17)), walks=walks)
    value = Fraction(1, 4)
    image, shifts = _bent(rng, half[::-1], bends, 4)
    left = _spelled(half, [value * Fraction(scale)] * len(half))
    middle = [(int(rng.integers(66, 70)), value)] if odd else []
    right = _spelled(image, [value] * len(image))
    turn = _length(before + left)
    # Onsets mirror, on a note or midway between two; at two paces only values do, where they meet.
    axis = turn if odd or scale != "1" else turn - value / 2
    starts = [turn + value * len(middle) + value * k for k in range(len(image))]
    return Planted(
        music=passage([*before, *left, *middle, *right, *after], metres=[SEVEN_EIGHT]),
        of="retrograde",
        axis_quarters=axis,
        pairs=len(half),
        core_pairs=min(shifts, default=len(half)),
        bends=tuple((starts[k], by) for k, by in sorted(shifts.items())),
        scale=float(Fraction(scale)),
    )


def palindrome(seed: int, *, walks: bool = False, odd: bool = False) -> Planted:
    """Plant pitches and values in reverse."""
    rng = np.random.default_rng(seed)
    before, after = _around(rng, walks=walks)
    count = int(rng.integers(12, 17))
    half = _spelled(drawn_line(rng, count, walks=walks), drawn_values(rng, count))
    middle: list[Spelled] = [(67, Fraction(1, 2))] if odd else []
    axis = _length(before + half) + (Fraction(1, 4) if odd else 0)
    return Planted(
        music=passage([*before, *half, *middle, *half[::-1], *after], metres=[SEVEN_EIGHT]),
        of="retrograde",
        axis_quarters=axis,
        pairs=count,
        core_pairs=count,
    )


def rhythm(
    seed: int, *, walks: bool = False, odd: bool = False, rests: bool = False, bends: int = 0
) -> Planted:
    """Plant values in reverse, rests among them; the pitches do not mirror."""
    rng = np.random.default_rng(seed)
    before, after = _around(rng, walks=walks)
    count = int(rng.integers(16, 21))
    values = [Fraction(str(v)) for v in rng.choice(["1/4", "1/2", "3/4", "1"], count)]
    silent = [bool(rests and k % 5 == 3) for k in range(count)]
    image = list(values[::-1])
    place = count // 2
    if bends:
        image[place] += Fraction(1, 4)
    pitches = drawn_line(rng, 2 * count + 1, walks=walks)
    middle: list[Spelled] = [(pitches[-1], Fraction(1, 2))] if odd else []
    left: list[Spelled] = [
        (None if s else p, v) for p, v, s in zip(pitches, values, silent, strict=False)
    ]
    right: list[Spelled] = [
        (None if s else p, v) for p, v, s in zip(pitches[count:], image, silent[::-1], strict=False)
    ]
    turn = _length(before + left)
    at = turn + _length(middle) + _length(right[:place])
    return Planted(
        music=passage([*before, *left, *middle, *right, *after], metres=[SEVEN_EIGHT]),
        of="rhythm",
        axis_quarters=turn + _length(middle) / 2,
        pairs=count,
        core_pairs=place if bends else count,
        bends=((at, 0),) if bends else (),
    )


def inversion(
    seed: int, *, walks: bool = False, bends: int = 0, backwards: bool = False
) -> Planted:
    """Plant a stretch that comes back upside down, forwards or backwards."""
    rng = np.random.default_rng(seed)
    before, after = _around(rng, walks=walks)
    stretch = drawn_line(rng, int(rng.integers(13, 18)), walks=walks, low=44, high=61)
    pitch_sum = 104 + int(rng.integers(0, 3))
    ordered = stretch[::-1] if backwards else stretch
    image, shifts = _bent(rng, [pitch_sum - p for p in ordered], bends, 4)
    value = Fraction(1, 4)
    left = _spelled(stretch, [value] * len(stretch))
    right = _spelled(image, [value] * len(image))
    turn = _length(before + left)
    return Planted(
        music=passage([*before, *left, *right, *after], metres=[SEVEN_EIGHT]),
        of="retrograde_inversion" if backwards else "inversion",
        axis_quarters=turn - value / 2 if backwards else turn,
        axis_pitch=Fraction(pitch_sum, 2),
        pairs=len(stretch),
        core_pairs=min(shifts, default=len(stretch)),
        bends=tuple((turn + k * value, by) for k, by in sorted(shifts.items())),
    )


def weight(seed: int, *, walks: bool = False, odd: bool = False) -> Planted:
    """Plant strokes of the lowest open string at equal distances from one point."""
    rng = np.random.default_rng(seed)
    gaps = [int(n) for n in rng.integers(1, 9, 9)]
    middle = [int(rng.integers(2, 8))] if odd else []
    value = Fraction(1, 4)
    line: list[Spelled] = _spelled(drawn_line(rng, 9, walks=walks), [value] * 9)
    line.append((LOWEST, value))
    axis = Fraction(0)
    for k, gap in enumerate([*gaps, *middle, *gaps[::-1]]):
        if k == len(gaps):
            axis = _length(line) - value + sum((n + 1) * value / 2 for n in middle)
        line += _spelled(drawn_line(rng, gap, walks=walks), [value] * gap)
        line.append((LOWEST, value))
    line += _spelled(drawn_line(rng, 12, walks=walks), [value] * 12)
    return Planted(
        music=passage(line, metres=[SEVEN_EIGHT]),
        of="weight",
        axis_quarters=axis,
        pairs=len(gaps),
        core_pairs=len(gaps),
    )


def gesture(seed: int, *, walks: bool = False, scale: str = "1", lost: int = 0) -> Planted:
    """Plant a climb and the fall that answers it, at another pace, without some of its notes.

    The note before one that is lost lasts longer, so that the pace stays.
    """
    rng = np.random.default_rng(seed)
    steps = rng.choice([1, 2, 3], int(rng.integers(11, 15)))
    climb = [40 + int(s) for s in np.concatenate([[0], np.cumsum(steps)])]
    value = Fraction(1, 4)
    right = _spelled(climb[::-1], [value] * len(climb))
    gone = sorted(rng.permutation(np.arange(3, len(climb) - 2, 2))[:lost].tolist(), reverse=True)
    around = [drawn_line(rng, 12, walks=walks, low=50, high=58) for _ in range(2)]
    before, after = (_spelled(line, [value] * len(line)) for line in around)
    left = _spelled(climb, [value * Fraction(scale)] * len(climb))
    turn = _length(before + left)
    bends = tuple((turn + (k + 1) * value, 0) for k in reversed(gone))
    for k in gone:
        right[k - 1] = (right[k - 1][0], Fraction(right[k - 1][1]) + Fraction(right[k][1]))
        del right[k]
    return Planted(
        music=passage([*before, *left, *right, *after], metres=[SEVEN_EIGHT]),
        of="gesture",
        axis_quarters=turn - (value / 2 if scale == "1" else 0),
        pairs=len(right),
        core_pairs=min(gone, default=len(right)),
        bends=bends,
        scale=float(Fraction(scale)),
    )


def passes(seed: int, *, walks: bool = False, form: str = "ABCDCBA") -> Planted:
    """Plant riffs that come back in reverse order, each of them whole bars."""
    rng = np.random.default_rng(seed)
    riffs = {}
    for label in sorted(set(form)):
        count = int(rng.integers(2, 4))
        pitches = drawn_line(rng, 7 * count, walks=walks)
        riffs[label] = _spelled(pitches, [Fraction(1, 2)] * len(pitches))
    lengths = [_length(riffs[label]) for label in form]
    middle = len(form) // 2
    axis = sum(lengths[:middle], Fraction(0)) + (lengths[middle] / 2 if len(form) % 2 else 0)
    return Planted(
        music=passage([x for label in form for x in riffs[label]], metres=[SEVEN_EIGHT]),
        of="passes",
        axis_quarters=axis,
        pairs=middle,
        core_pairs=middle,
    )


PLANTED: Final[Mapping[str, Callable[..., Planted]]] = {
    "rhythm, even": rhythm,
    "rhythm, odd": partial(rhythm, odd=True),
    "rhythm, rests": partial(rhythm, rests=True),
    "rhythm, bent": partial(rhythm, bends=1),
    "palindrome, even": palindrome,
    "palindrome, odd": partial(palindrome, odd=True),
    "retrograde, even": retrograde,
    "retrograde, odd": partial(retrograde, odd=True),
    "retrograde, bent": partial(retrograde, bends=2),
    "retrograde, 2 : 1": partial(retrograde, scale="2"),
    "retrograde, 2.3 : 1": partial(retrograde, scale="23/10"),
    "inversion": inversion,
    "inversion, bent": partial(inversion, bends=1),
    "turned": partial(inversion, backwards=True),
    "turned, bent": partial(inversion, backwards=True, bends=1),
    "weight, even": weight,
    "weight, odd": partial(weight, odd=True),
    "gesture": gesture,
    "gesture, 2.3 : 1": partial(gesture, scale="23/10"),
    "gesture, notes lost": partial(gesture, scale="2", lost=2),
    "passes, ABCDCBA": passes,
    "passes, ABCBA": partial(passes, form="ABCBA"),
}


def _scattered(seed: int) -> Passage:
    rng = np.random.default_rng(seed)
    return passage(
        _spelled(drawn_line(rng, 100, walks=False), drawn_values(rng, 100)), metres=[SEVEN_EIGHT]
    )


def _walking(seed: int) -> Passage:
    rng = np.random.default_rng(seed)
    return passage(
        _spelled(drawn_line(rng, 100, walks=True), drawn_values(rng, 100)), metres=[FOUR_FOUR]
    )


def _equal(seed: int) -> Passage:
    rng = np.random.default_rng(seed)
    pitches = drawn_line(rng, 128, walks=bool(seed % 2))
    return passage([(p, Fraction(1, 4)) for p in pitches], metres=[FOUR_FOUR])


def _chugging(seed: int) -> Passage:
    rng = np.random.default_rng(seed)
    line: list[Spelled] = []
    for pitch in drawn_line(rng, 26, walks=bool(seed % 2), low=45, high=60):
        line.append((pitch, Fraction(1, 2)))
        line += [(LOWEST, Fraction(1, 4))] * int(rng.integers(1, 5))
    return passage(line, metres=[SEVEN_EIGHT], muted=[LOWEST])


def _chords(seed: int) -> Passage:
    rng = np.random.default_rng(seed)
    line: list[Spelled] = []
    for root in drawn_line(rng, 60, walks=bool(seed % 2), low=35, high=47):
        fifth = (root, root + 7, root + 12)
        line.append((fifth, Fraction(int(rng.integers(1, 4)), 2)))
    return passage(line, metres=[FOUR_FOUR])


def _repeated(seed: int) -> Passage:
    rng = np.random.default_rng(seed)
    count = int(rng.integers(14, 24))
    riff = _spelled(drawn_line(rng, count, walks=bool(seed % 2)), drawn_values(rng, count))
    return passage(riff * 5, metres=[SEVEN_EIGHT])


def _riffs_in_turn(seed: int) -> Passage:
    rng = np.random.default_rng(seed)
    riffs = [
        _spelled(drawn_line(rng, 14, walks=bool(seed % 2)), [Fraction(1, 2)] * 14) for _ in range(3)
    ]
    order = [int(k) for k in rng.integers(0, 3, 9)]
    return passage([x for k in order for x in riffs[k]], metres=[SEVEN_EIGHT])


def _droning(seed: int) -> Passage:
    rng = np.random.default_rng(seed)
    cell = drawn_line(rng, 6, walks=bool(seed % 2), low=57, high=70)
    line: list[Spelled] = []
    for _ in range(14):
        line.append(((50, int(rng.choice(cell))), Fraction(1, 2)))
        line += [(int(rng.choice(cell)), Fraction(1, 4)) for _ in range(5)]
    return passage(line, metres=[SEVEN_EIGHT], ringing=[50])


CONTROLS: Final[Mapping[str, Callable[[int], Passage]]] = {
    "scattered": _scattered,
    "walking": _walking,
    "equal values": _equal,
    "chugging": _chugging,
    "chords": _chords,
    "a random riff, repeated": _repeated,
    "three riffs in random turn": _riffs_in_turn,
    "over a drone": _droning,
}
