"""The lines below the clock's column: what the ring and the marks on it are."""

from collections.abc import Callable
from dataclasses import replace
from typing import Final

from riffract.essay.shots import Shot
from riffract.picture.bounds import Box
from riffract.picture.clock.column import NARROWEST_WITH_CLOCK_PX
from riffract.picture.clock.face import Face, chord_marks, square_mark
from riffract.picture.clock.subject import Subject
from riffract.picture.layout import Layout
from riffract.picture.legend_lines import Entry, broken, written
from riffract.picture.marks import Colour, Group, Mark, Role, Shape, Stroke, circle
from riffract.picture.type import CAP_HEIGHT_SHARE

SAMPLE_SHARE: Final = 0.44
"""Radius of a sample, over the size of a label."""

ABOVE_SHARE: Final = 1.6
"""From the room for the column to the first line's baseline, over the size of a label."""

Lines = tuple[tuple[Entry, ...], ...]


def legend_lines(subject: Subject, shot: Shot, column: Box, layout: Layout) -> Lines:
    """Explain the ring, what sounds, what is joined and the lowest string, as far as they occur.

    A column too narrow for small clocks has no room for it.
    """
    if column.width < NARROWEST_WITH_CLOCK_PX:
        return ()
    size = layout.sizes.label
    radius = SAMPLE_SHARE * size

    def entry(words: str, *marks: Mark) -> Entry:
        return Entry(width=2 * radius, draw=_at(marks, size), words=words)

    face = Face(x=radius, y=0.0, radius=radius)
    entries = [entry("twelve notes, neighbours a semitone apart", *_ring(face))]
    if shot.plays:
        joined = "the sound shown" if subject.leads_with_chord else "the last three notes"
        entries.append(entry("sounds now", *_now(face)))
        entries.append(entry(joined, *chord_marks(face, (11, 3, 7), width=2.4)))
    if subject.anchor_pc is not None:
        entries.append(entry("lowest string", square_mark(radius, 0.0, 0.62 * radius)))
    return broken(replace(layout, picture=column), entries)


def above(lines: Lines, column: Box, layout: Layout) -> Box:
    """Give what the lines leave of the column."""
    if not lines:
        return column
    size = layout.sizes.label
    first = replace(layout, picture=column).note_baselines(len(lines))[0]
    return replace(column, bottom=first - ABOVE_SHARE * size)


def clock_legend(lines: Lines, column: Box, layout: Layout) -> tuple[Mark, ...]:
    """Draw the lines at the foot of the column."""
    return written(replace(layout, picture=column), lines)


def _ring(face: Face) -> list[Mark]:
    stroke = Stroke(colour=Colour(Role.QUIET), width=1.4)
    dots = tuple(piece for pc in range(12) for piece in circle(*face.at(pc), 1.9))
    return [
        Shape(path=circle(face.x, face.y, face.radius), stroke=stroke),
        Shape(path=dots, fill=Colour(Role.TEXT)),
    ]


def _now(face: Face) -> list[Mark]:
    white = Colour(Role.TEXT)
    return [
        Shape(path=circle(face.x, face.y, 0.5 * face.radius), fill=white),
        Shape(
            path=circle(face.x, face.y, 0.95 * face.radius), stroke=Stroke(colour=white, width=2.2)
        ),
    ]


def _at(marks: tuple[Mark, ...], size: float) -> Callable[[float, float], tuple[Mark, ...]]:
    def draw(x: float, baseline: float) -> tuple[Mark, ...]:
        return (Group(marks=marks, shift=(x, baseline - size * CAP_HEIGHT_SHARE / 2)),)

    return draw
