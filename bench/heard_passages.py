"""Passages of our own that are played for the listening parts: what guitarists find hard to hear.

Low tunings, muted strokes on one pitch, open strings that ring into the next chord, odd metres,
dissonant dyads, fast lines, long rests, riffs that repeat themselves almost.
"""

from collections.abc import Callable, Mapping
from dataclasses import replace
from fractions import Fraction
from typing import Final

from bench import controls, plants
from tests.making import Spelled, passage

from riffract.music import Metre, Passage, TempoMark, Tuning

STANDARD: Final = Tuning(open_pitches=(40, 45, 50, 55, 59, 64))
EIGHT: Final = Tuning(open_pitches=(30, 35, 40, 45, 50, 55, 59, 64))
E, S, Q, H = (Fraction(n, 4) for n in (2, 1, 4, 8))
DOTTED: Final = Fraction(3, 4)


def at_tempo(music: Passage, quarters_per_minute: float) -> Passage:
    """Give a passage one tempo."""
    mark = TempoMark(at_quarters=Fraction(0), quarters_per_minute=quarters_per_minute)
    return replace(music, tempos=(mark,))


def low_chug() -> Passage:
    """Seven strings, 7/8 = 2+2+3: muted open B against fifths, the last bar different."""
    bar: list[Spelled] = [
        (35, E), (35, E), ((38, 45), E), (35, S), (35, S), ((41, 48), E), (35, E), (36, E),
    ]  # fmt: skip
    last: list[Spelled] = [
        (35, E), ((40, 47), E), (35, S), (35, S), ((39, 46), E), ((36, 43), E), (35, E), (41, E),
    ]  # fmt: skip
    music = passage(
        [*bar * 3, *last] * 2,
        metres=[Metre(groups=(2, 2, 3), unit=8)],
        muted=[35],
        title="Low chug",
    )
    return at_tempo(music, 150.0)


def ringing_eleven() -> Passage:
    """Standard tuning, 11/8: the open third string rings while voices move past it."""
    one: list[Spelled] = [
        ((55, 42), E), (54, E), (55, E), (66, E), (55, E), (61, E), (55, E), (57, E), (58, E),
        ((55, 54), Q),
    ]  # fmt: skip
    two: list[Spelled] = [
        ((55, 44), E), (56, E), (55, E), (63, E), (55, E), (62, E), (55, E), (51, E), (52, E),
        ((55, 50), Q),
    ]  # fmt: skip
    music = passage(
        [*one, *two, *one, *two],
        metres=[Metre(groups=(3, 3, 3, 2), unit=8)],
        tuning=STANDARD,
        ringing=[55],
        title="Ringing eleven",
    )
    return at_tempo(music, 144.0)


def eight_strings() -> Passage:
    """Eight strings down to F♯1, 9/8: strokes on the lowest, semitones rubbing above."""
    one: list[Spelled] = [
        (30, S), (30, S), (31, E), (30, E), ((42, 47), E), (30, S), (30, S), (33, E), (32, E),
        ((43, 48), E), (36, E),
    ]  # fmt: skip
    two: list[Spelled] = [
        (30, S), (30, S), (34, E), (30, E), ((37, 42), E), (30, S), (30, S), ((54, 55), E), (31, E),
        ((41, 46), E), (39, E),
    ]  # fmt: skip
    music = passage(
        [*one, *two] * 2,
        metres=[Metre(groups=(2, 2, 2, 3), unit=8)],
        tuning=EIGHT,
        muted=[30],
        title="Eight strings",
    )
    return at_tempo(music, 132.0)


def fast_line() -> Passage:
    """Sixteenths at 180 in a hexatonic scale, up and down, with a turn each bar."""
    scale = [45, 46, 49, 50, 53, 54, 57, 58, 61, 62]
    order = [0, 1, 2, 3, 2, 3, 4, 5, 4, 5, 6, 7, 6, 7, 8, 9]
    back = [9, 8, 7, 6, 7, 6, 5, 4, 5, 4, 3, 2, 3, 2, 1, 0]
    turn = [1, 0, 2, 1, 3, 2, 4, 3, 5, 4, 6, 5, 7, 6, 8, 9]
    line: list[Spelled] = [(scale[k], S) for k in [*order, *back, *turn, *back]]
    return at_tempo(passage(line * 2, tuning=STANDARD, title="Fast line"), 180.0)


def chords_and_rests() -> Passage:
    """Slow chords in 5/4 with ninths and added seconds, and rests that last."""
    line: list[Spelled] = [
        ((40, 47, 54, 59), H), (None, Q), ((43, 50, 57), Q), ((45, 52, 53), Q),
        ((41, 48, 55, 64), H), (None, H), (47, E), (48, E),
        ((40, 47, 54, 59), Q), (None, H), ((46, 53, 60), Q), ((45, 51), Q),
        ((42, 49, 56, 59), H), (None, Fraction(5, 2)), (52, E),
    ]  # fmt: skip
    music = passage(
        [*line, *line],
        metres=[Metre(groups=(3, 2), unit=4)],
        tuning=STANDARD,
        title="Chords, rests",
    )
    return at_tempo(music, 96.0)


def one_pitch() -> Passage:
    """Strokes on one pitch in a rhythm of threes against four: only time tells them apart."""
    cell: list[Spelled] = [(35, E), (35, S), (35, DOTTED), (35, S), (35, S)]
    other: list[Spelled] = [(35, E), (35, E), (35, S), (35, S), (35, E)]
    music = passage(
        [*cell, *cell, *other, *cell, *cell, *other, *cell, (35, E), (36, E), (None, E), (35, E)]
        * 2,
        muted=[35],
        title="One pitch",
    )
    return at_tempo(music, 120.0)


def syncopated() -> Passage:
    """Octaves, fourths and single notes off the beat, 13/8."""
    bar: list[Spelled] = [
        ((45, 57), DOTTED), ((45, 57), DOTTED), (52, E), ((48, 53), E), (None, E), ((47, 59), E),
        (46, E), ((45, 50), DOTTED), (44, DOTTED), (43, E), (42, E),
    ]  # fmt: skip
    after: list[Spelled] = [*bar[:5], ((46, 58), E), (47, E), ((44, 49), DOTTED), *bar[8:]]
    music = passage(
        [*bar, *after] * 2, metres=[Metre(groups=(3, 3, 2, 3, 2), unit=8)], title="Syncopated"
    )
    return at_tempo(music, 160.0)


PASSAGES: Final[Mapping[str, Callable[[], Passage]]] = {
    "low-chug": low_chug,
    "ringing-eleven": ringing_eleven,
    "eight-strings": eight_strings,
    "fast-line": fast_line,
    "chords-rests": chords_and_rests,
    "one-pitch": one_pitch,
    "syncopated": syncopated,
    "drone-falls": lambda: at_tempo(plants.crossing_drone(3).music, 138.0),
    "edited-passes": lambda: at_tempo(plants.edited_passes(5).music, 126.0),
    "moved-shape": lambda: at_tempo(plants.moved_shape(2).music, 110.0),
    "plain-line": lambda: at_tempo(plants.retrograde(4).music, 168.0),
    "odd-values": lambda: at_tempo(controls.CONTROLS["odd metre, mixed values"].draw(3), 130.0),
    "mixed-chords": lambda: at_tempo(controls.CONTROLS["mixed chords"].draw(3), 100.0),
    "chugging": lambda: at_tempo(controls.CONTROLS["chugging between notes"].draw(2), 140.0),
}
