"""How a note's pitch moves, drawn at its true height in a contour: bends, trills, slides."""

from math import ceil, floor
from typing import Final

import numpy as np

from riffract.analysis.attacks import IN_TUNE_CENTS
from riffract.music import Note, Technique
from riffract.picture.marks import Path, Role, Shape, Stroke, polyline
from riffract.picture.string_mark import Light
from riffract.sound.glide import Leg, cents_along

LINE_PX: Final = 2.2
TRILL_STEP_PX: Final = 7.0
NOWHERE_SEMITONES, NOWHERE_PX, NOWHERE_SHARE = 2, 16.0, 0.4
"""How far a slide from or to nowhere is drawn, and over how much of a note at most."""

_POINTS: Final = 33


def start_pitch(note: Note) -> float:
    """Give the pitch that a note with a pitch starts with: its fret's, unless it is bent before."""
    assert note.pitch is not None
    return note.pitch + (note.bend[0] / 100 if note.bend else 0.0)


def start_semitone(note: Note) -> int | None:
    """Give the pitch that a note is named by, as the analyses do: see `with_start_pitches`."""
    if note.pitch is None or not note.bend:
        return note.pitch
    semitones = round(note.bend[0] / 100)
    is_in_tune = abs(note.bend[0] - 100 * semitones) <= IN_TUNE_CENTS
    return note.pitch + (semitones if is_in_tune else 0)


def pitches_reached(note: Note) -> tuple[int, ...]:
    """List the lowest and the highest pitch that a note comes to, outwards; none if it is dead.

    >>> from fractions import Fraction
    >>> from riffract.music.notes import PLAIN
    >>> one = Fraction(1)
    >>> bent = Note(index=0, onset_quarters=one, duration_quarters=one, ring_end_quarters=2 * one,
    ...             string=2, fret=8, pitch=67, techniques=PLAIN, line=0, column=0, bend=(0, 150))
    >>> pitches_reached(bent)
    (67, 69)
    """
    if note.pitch is None:
        return ()
    semitones = [cents / 100 for cents in note.bend or (0,)]
    if Technique.TRILL in note.techniques and note.other_fret is not None:
        semitones.append(note.other_fret - note.fret)
    return (note.pitch + floor(min(semitones)), note.pitch + ceil(max(semitones)))


def way_marks(
    note: Note,
    start: tuple[float, float],
    length: float,
    light: Light,
    *,
    px_per_semitone: float,
) -> tuple[Shape, ...]:
    """Draw how a note's pitch moves.

    Args:
        note: which; a dead one gives nothing.
        start: where it starts, px.
        length: how long it is drawn, px.
        light: how strongly.
        px_per_semitone: the scale of heights.
    """
    if note.pitch is None:
        return ()
    how, (x, y) = note.techniques, start
    paths: list[Path] = []
    if len(note.bend) > 1:
        leg = Leg(start_seconds=0.0, end_seconds=1.0, cents=0.0, bend=tuple(map(float, note.bend)))
        shares = np.linspace(0.0, 1.0, _POINTS)
        semitones = (cents_along([leg], shares) - note.bend[0]) / 100
        points = zip(shares.tolist(), semitones.tolist(), strict=True)
        paths.append(polyline([(x + s * length, y - n * px_per_semitone) for s, n in points]))
    if Technique.TRILL in how and note.other_fret is not None:
        away = (note.other_fret - note.fret) * px_per_semitone
        steps = int(length / TRILL_STEP_PX)
        zigzag = [(x + k * TRILL_STEP_PX, y - (k % 2) * away) for k in range(steps + 1)]
        paths += [polyline(zigzag)] if steps else []
    reach, run = NOWHERE_SEMITONES * px_per_semitone, min(NOWHERE_PX, NOWHERE_SHARE * length)
    if how & (Technique.SCOOP | Technique.PLOP):
        side = 1 if Technique.SCOOP in how else -1
        paths.append(polyline([(x - run, y + side * reach), (x, y)]))
    if how & (Technique.DOIT | Technique.FALLOFF):
        side = 1 if Technique.FALLOFF in how else -1
        last = y - (note.bend[-1] - note.bend[0]) / 100 * px_per_semitone if note.bend else y
        paths.append(polyline([(x + length - run, last), (x + length, last + side * reach)]))
    stroke = Stroke(colour=light.number_colour(Role.TEXT), width=LINE_PX, cap="round")
    return tuple(Shape(path=path, stroke=stroke) for path in paths)
