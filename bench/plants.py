"""Passages of ours in which something was put on purpose, and what a study should say of it.

Each is drawn from a seed, so that there are as many of a sort as one likes. What was put there is
known, so a finding can be held against it: whether it has the right name and whether it stands in
the right place.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import partial
from typing import Final

import numpy as np
from bench.controls import (
    ELEVEN_EIGHT,
    FOUR_FOUR,
    LOWEST,
    SEVEN_EIGHT,
    Draw,
    scale_between,
    spelled,
    uniform_line,
    values,
    walk,
)
from tests.making import SEVEN, Spelled, passage

from riffract.analysis.finding import (
    Anchor,
    Collection,
    CollectionChange,
    Drone,
    Finding,
    Hand,
    Kind,
    MetreAnswer,
    Mirror,
    Motive,
    Passes,
    Sonority,
    What,
)
from riffract.music import Metre, NoteTableBuilder, Passage, TempoMark, bars_in_row

EIGHTH: Final = Fraction(1, 2)
SIXTEENTH: Final = Fraction(1, 4)
HEX: Final = (0, 1, 4, 5, 8, 9)
OCT: Final = (0, 1, 3, 4, 6, 7, 9, 10)
WHOLE_TONE: Final = (0, 2, 4, 6, 8, 10)


@dataclass(frozen=True, slots=True, kw_only=True)
class Plant:
    """A passage and what was put there.

    Attributes:
        music: the passage.
        kind: the question that asks for it.
        is_named: whether an answer names what was put there.
        is_placed: whether a finding so named stands where it was put.
        earlier: passages that it grows out of.
    """

    music: Passage
    kind: Kind
    is_named: Callable[[What], bool]
    is_placed: Callable[[Finding], bool]
    earlier: tuple[Passage, ...] = ()


def length_of(line: Sequence[Spelled]) -> Fraction:
    """Add up the values of a line, in quarters."""
    return sum((Fraction(value) for _, value in line), Fraction(0))


def anywhere(_: Finding) -> bool:
    """Accept any place: the finding is about the whole passage."""
    return True


def leaping(rng: Draw, count: int, low: int = 40, high: int = 60) -> list[int]:
    """Draw pitches, none twice in a row."""
    line = rng.integers(low, high, count).tolist()
    return [p if k == 0 or p != line[k - 1] else p + 1 for k, p in enumerate(line)]


# ---- mirrors ---------------------------------------------------------------------------------


def _mirror(of: str, music: Passage, axis: Fraction) -> Plant:
    return Plant(
        music=music,
        kind=Kind.MIRROR,
        is_named=lambda what: isinstance(what, Mirror) and what.of == of,
        is_placed=lambda f: isinstance(f.what, Mirror) and f.what.axis_quarters == axis,
    )


def bent_rhythm(seed: int) -> Plant:
    """Values in reverse, one of them a sixteenth longer; the pitches do as they like."""
    rng = np.random.default_rng(seed)
    half = [Fraction(v, 4) for v in rng.choice([1, 2, 3, 4], 18).tolist()]
    image = half[::-1]
    image[10] += SIXTEENTH
    before, after = uniform_line(rng, 10), uniform_line(rng, 10)
    line = spelled(leaping(rng, 36), [*half, *image])
    axis = length_of(before) + sum(half, Fraction(0))
    return _mirror("rhythm", passage([*before, *line, *after], metres=[SEVEN_EIGHT]), axis)


def retrograde(seed: int) -> Plant:
    """A line that comes back in reverse about a note that both share."""
    rng = np.random.default_rng(seed)
    half = leaping(rng, 14)
    before, after = uniform_line(rng, 12), uniform_line(rng, 12)
    line = spelled([*half, 66, *half[::-1]], [EIGHTH] * 29)
    axis = length_of(before) + 14 * EIGHTH
    return _mirror("retrograde", passage([*before, *line, *after], metres=[SEVEN_EIGHT]), axis)


def inversion(seed: int) -> Plant:
    """A line that comes back upside down, in the same values."""
    rng = np.random.default_rng(seed)
    up, lengths = leaping(rng, 15, 44, 61), values(rng, 15)
    before, after = uniform_line(rng, 12), uniform_line(rng, 12)
    line = [*spelled(up, lengths), *spelled([104 - p for p in up], lengths)]
    axis = length_of(before) + sum(lengths, Fraction(0))
    return _mirror("inversion", passage([*before, *line, *after], metres=[FOUR_FOUR]), axis)


def stretched_gesture(seed: int) -> Plant:
    """A fall in eighths that is answered by the same climb in sixteenths."""
    rng = np.random.default_rng(seed)
    steps = rng.choice([1, 2, 3], 12).tolist()
    fall = [66 - sum(steps[:k]) for k in range(13)]
    line = [*spelled(fall, [EIGHTH] * 13), *spelled(fall[::-1], [SIXTEENTH] * 13)]
    around = [spelled(leaping(rng, 12, 50, 58), [SIXTEENTH] * 12) for _ in range(2)]
    axis = length_of(around[0]) + 13 * EIGHTH
    music = passage([*around[0], *line, *around[1]], metres=[SEVEN_EIGHT])
    return _mirror("gesture", music, axis)


def mirror_of_passes(seed: int) -> Plant:
    """Four riffs of two bars each, and back: A B C D C B A."""
    rng = np.random.default_rng(seed)
    riffs = {name: spelled(leaping(rng, 14), [EIGHTH] * 14) for name in "ABCD"}
    music = passage([x for name in "ABCDCBA" for x in riffs[name]], metres=[SEVEN_EIGHT])
    return _mirror("passes", music, Fraction(7, 2) * 7)


# ---- scales ----------------------------------------------------------------------------------


def two_scales(seed: int, first: Sequence[int], second: Sequence[int]) -> Plant:
    """Four bars in one scale, four in another, twice."""
    rng = np.random.default_rng(seed)
    parts = [_in_scale(rng, pcs, 28) for pcs in (first, second)]
    music = passage([*parts[0], *parts[1]] * 2, metres=[SEVEN_EIGHT])
    forms = {frozenset(first), frozenset(second)}
    return Plant(
        music=music,
        kind=Kind.COLLECTION_CHANGE,
        is_named=lambda what: (
            isinstance(what, CollectionChange)
            and {frozenset(what.from_pcs), frozenset(what.to_pcs)} == forms
        ),
        is_placed=lambda f: isinstance(f.what, CollectionChange) and f.what.at_quarters % 14 == 0,
    )


def _in_scale(rng: Draw, pcs: Sequence[int], count: int) -> list[Spelled]:
    """Draw a walk that touches every member of a scale."""
    scale = scale_between(40, 64, 0, pcs)
    line = walk(rng, count, scale, furthest=3)
    while {p % 12 for p in line} != set(pcs):
        line = walk(rng, count, scale, furthest=3)
    return spelled(line, [EIGHTH] * count)


def one_scale(seed: int, pcs: Sequence[int], times: int = 3) -> Plant:
    """A riff in one scale."""
    rng = np.random.default_rng(seed)
    music = passage(_in_scale(rng, pcs, 28) * times, metres=[SEVEN_EIGHT])
    return Plant(
        music=music,
        kind=Kind.COLLECTION,
        is_named=lambda what: isinstance(what, Collection) and set(what.pcs) == set(pcs),
        is_placed=anywhere,
    )


# ---- strings ---------------------------------------------------------------------------------


def crossing_drone(seed: int) -> Plant:
    """A string that rings while a line falls past it, three times."""
    rng = np.random.default_rng(seed)
    steps = rng.choice([1, 2], 9).tolist()
    fall = [63 - sum(steps[:k]) for k in range(10)]
    statement: list[Spelled] = [((55, fall[0]), Fraction(1)), *spelled(fall[1:], [EIGHTH] * 9)]
    music = passage(statement * 3, metres=[ELEVEN_EIGHT], ringing=[55])
    return Plant(
        music=music,
        kind=Kind.DRONE,
        is_named=lambda what: (
            isinstance(what, Drone) and what.pitch == 55 and what.position == "crossing"
        ),
        is_placed=anywhere,
    )


def leaning_anchor(seed: int) -> Plant:
    """Low strokes, each answered by notes of which half lie a semitone above, in some octave."""
    rng = np.random.default_rng(seed)
    line: list[Spelled] = []
    for _ in range(16):
        line += [(LOWEST, SIXTEENTH)] * 2
        for _ in range(3):
            near = rng.random() < 0.5
            line.append((48 if near else int(rng.choice([41, 45, 50, 51, 54])), SIXTEENTH))
    music = passage(line, metres=[FOUR_FOUR], muted=[LOWEST])
    return Plant(
        music=music,
        kind=Kind.ANCHOR,
        is_named=lambda what: isinstance(what, Anchor) and what.pitch == LOWEST,
        is_placed=anywhere,
    )


def moved_shape(seed: int) -> Plant:
    """Six strokes on two strings, played from six frets."""
    rng = np.random.default_rng(seed)
    shape = list(zip((0, 0, 1, 1, 0, 1), rng.permutation([0, 1, 2, 3, 0, 2]).tolist(), strict=True))
    stops: list[tuple[int, int]] = []
    for fret in rng.permutation([1, 3, 4, 6, 8, 11]).tolist():
        stops += [(6 - string, fret + up) for string, up in shape]
        stops += [(2, int(other)) for other in rng.integers(0, 12, 2)]
    return Plant(
        music=_stopped(stops),
        kind=Kind.HAND,
        is_named=lambda what: isinstance(what, Hand) and len(what.shapes) > 0,
        is_placed=lambda f: isinstance(f.what, Hand) and f.what.explains_share > 0.5,
    )


def _stopped(stops: Sequence[tuple[int, int]]) -> Passage:
    """Play eighths at given strings and frets."""
    builder = NoteTableBuilder()
    for k, (string, fret) in enumerate(stops):
        builder.add(
            onset_quarters=k * EIGHTH,
            duration_quarters=EIGHTH,
            string=string,
            fret=fret,
            pitch=SEVEN.pitch_at(string, fret),
        )
    return Passage(
        title="Test",
        tuning=SEVEN,
        bars=bars_in_row((SEVEN_EIGHT, None, n + 1) for n in range(-(-len(stops) // 7))),
        tempos=(TempoMark(at_quarters=Fraction(0), quarters_per_minute=120.0),),
        notes=builder.build(),
    )


# ---- what comes back -------------------------------------------------------------------------


def _passes(music: Passage, starts: Sequence[Fraction], fits: Callable[[Passes], bool]) -> Plant:
    def is_placed(found: Finding) -> bool:
        if not isinstance(found.what, Passes):
            return False
        return [one.span.start_quarters for one in found.what.readings[0].passes] == list(starts)

    return Plant(
        music=music,
        kind=Kind.PASSES,
        is_named=lambda what: isinstance(what, Passes) and fits(what),
        is_placed=is_placed,
    )


def edited_passes(seed: int) -> Plant:
    """A tag, then a riff stated five times: a note changed, a note added, the last one cut off."""
    rng = np.random.default_rng(seed)
    tag = spelled(leaping(rng, 5, 60, 70), [EIGHTH] * 5)
    riff = spelled(leaping(rng, 15), values(rng, 15))
    changed = list(riff)
    changed[7] = (62, changed[7][1])
    longer = [*riff[:9], (64, EIGHTH), *riff[9:]]
    statements = [riff, changed, riff, longer, riff[:10]]
    starts = [length_of(tag)]
    for one in statements[:-1]:
        starts.append(starts[-1] + length_of(one))

    def fits(what: Passes) -> bool:
        best = what.readings[0]
        edits = [edit.op for one in best.passes for edit in one.edits]
        return sorted(edits) == ["insert", "substitute"] and best.passes[-1].truncated == "right"

    music = passage([*tag, *(x for one in statements for x in one)], metres=[FOUR_FOUR])
    return _passes(music, starts, fits)


def moved_passes(seed: int) -> Plant:
    """A riff that is stated again two and five semitones higher, and as it was."""
    rng = np.random.default_rng(seed)
    pitches, lengths = leaping(rng, 16, 40, 55), values(rng, 16)
    line = [x for by in (0, 2, 5, 0) for x in spelled([p + by for p in pitches], lengths)]
    one = sum(lengths, Fraction(0))

    def fits(what: Passes) -> bool:
        return [p.transposition for p in what.readings[0].passes] == [0, 2, 5, 0]

    return _passes(passage(line, metres=[SEVEN_EIGHT]), [k * one for k in range(4)], fits)


def earlier_idea(seed: int) -> Plant:
    """A figure of an earlier passage that comes back a fourth lower, one note left out."""
    rng = np.random.default_rng(seed)
    figure, lengths = leaping(rng, 13, 48, 62), values(rng, 13)
    first = [*uniform_line(rng, 12), *spelled(figure, lengths), *uniform_line(rng, 12)]
    back = spelled([p - 5 for p in figure], lengths)
    back[5] = (back[5][0], Fraction(back[5][1]) + Fraction(back[6][1]))
    del back[6]
    before = uniform_line(rng, 16)
    music = passage([*before, *back, *uniform_line(rng, 16)], metres=[SEVEN_EIGHT])
    start = length_of(before)
    return Plant(
        music=music,
        kind=Kind.MOTIVE,
        is_named=lambda what: (
            isinstance(what, Motive)
            and what.source.passage < 0
            and what.transform.transposition == -5
        ),
        is_placed=lambda f: (
            isinstance(f.what, Motive) and abs(f.what.return_.span.start_quarters - start) < 1
        ),
        earlier=(passage(first, metres=[SEVEN_EIGHT], title="Before"),),
    )


def recurring_sonority(seed: int) -> Plant:
    """Chords of one set class, moved and turned over, between single notes."""
    rng = np.random.default_rng(seed)
    line: list[Spelled] = []
    for low in rng.integers(46, 56, 14).tolist():
        upper = (6, 13) if rng.random() < 0.5 else (7, 13)
        line.append(((low, *(low + step for step in upper)), EIGHTH))
        line += spelled(leaping(rng, 3), [SIXTEENTH] * 3)
    return Plant(
        music=passage(line, metres=[FOUR_FOUR]),
        kind=Kind.SONORITY,
        is_named=lambda what: (
            isinstance(what, Sonority) and what.prime_form == (0, 1, 6) and what.how == "struck"
        ),
        is_placed=lambda f: isinstance(f.what, Sonority) and len(f.what.occurrences) == 14,
    )


def hidden_grouping(seed: int) -> Plant:
    """Low strokes that group a bar of 4/4 as 3+3+2 eighths, other notes filling it up."""
    rng = np.random.default_rng(seed)
    line: list[Spelled] = []
    for _ in range(12):
        for group in (3, 3, 2):
            line.append((LOWEST, EIGHTH))
            line += spelled(leaping(rng, group - 1, 45, 60), [EIGHTH] * (group - 1))
    return Plant(
        music=passage(line, metres=[Metre(groups=(2, 2, 2, 2), unit=8)], muted=[LOWEST]),
        kind=Kind.METRE,
        is_named=lambda what: (
            isinstance(what, MetreAnswer)
            and len(what.grouping) > 0
            and what.grouping[0].groups == (3, 3, 2)
        ),
        is_placed=anywhere,
    )


def riff_against_bars(seed: int) -> Plant:
    """A riff of 23 sixteenths that runs on over bars of 4/4."""
    rng = np.random.default_rng(seed)
    sums = [2, 1, 3, 2, 1, 1, 2, 3, 1, 2, 2, 3]
    lengths = [Fraction(n, 4) for n in rng.permutation(sums).tolist()]
    riff = spelled(leaping(rng, len(lengths)), lengths)
    one = sum(lengths, Fraction(0))

    def fits(what: Passes) -> bool:
        lengths = [p.span.length_quarters for p in what.readings[0].passes]
        return all(length == one for length in lengths)

    return _passes(passage(riff * 6, metres=[FOUR_FOUR]), [k * one for k in range(6)], fits)


PLANTS: Final[Mapping[str, Callable[[int], Plant]]] = {
    "rhythm, bent": bent_rhythm,
    "retrograde": retrograde,
    "inversion": inversion,
    "gesture, twice as fast": stretched_gesture,
    "mirror of passes": mirror_of_passes,
    "hexatonic": partial(one_scale, pcs=HEX),
    "octatonic": partial(one_scale, pcs=OCT),
    "whole-tone": partial(one_scale, pcs=WHOLE_TONE),
    "hexatonic to octatonic": partial(two_scales, first=HEX, second=OCT),
    "one hexatonic to another": partial(two_scales, first=HEX, second=(2, 3, 6, 7, 10, 11)),
    "whole-tone to hexatonic": partial(two_scales, first=WHOLE_TONE, second=HEX),
    "drone, crossing": crossing_drone,
    "anchor, semitone": leaning_anchor,
    "moved hand shape": moved_shape,
    "passes, edited": edited_passes,
    "passes, transposed": moved_passes,
    "passes against the bars": riff_against_bars,
    "idea from before": earlier_idea,
    "sonority, struck": recurring_sonority,
    "grouping, hidden": hidden_grouping,
}
