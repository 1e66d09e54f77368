"""Strips beside the clock: where in the passage a chord is heard, moved, mirrored."""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from riffract.essay.shots import Shot
from riffract.music import Span
from riffract.picture.bounds import Box
from riffract.picture.clock.face import Face, chord_marks, ring_marks, turn_between
from riffract.picture.clock.subject import Subject
from riffract.picture.clock.words import occurrence_groups
from riffract.picture.contour_view import Contour, base_line, heights_for, mass_marks
from riffract.picture.layout import Layout
from riffract.picture.marks import Colour, Mark, Role, Shape, Stroke, Words, circle, polyline
from riffract.picture.string_mark import LIT
from riffract.picture.type import text_width, wrap
from riffract.picture.voices import Voices
from riffract.weighing.study import Study

STRIP_PX, LEAST_STRIP_PX = 112.0, 16.0
"""Height of a strip's skyline at most, and at least where the room is low."""

HEAD_PX, LEAST_HEAD_PX = 96.0, 58.0
"""What a strip's small clock and heading take above its skyline."""

DOT_BELOW_PX, BELOW_PX = 22.0, 34.0
"""How far below the skyline the dots stand, and what a strip takes there."""

STRIP_HATCH_PX: Final = 9.0
MOST_LINES: Final = 2
DOT_PX, LEAST_DOT_PX, DOT_SHARE = 8.5, 3.0, 0.4
"""Radius of a place on a strip at most and at least, and over the distance to the next one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """One way in which a chord is heard, on the skyline of the passage."""

    heading: str
    pcs: tuple[int, ...]
    spans: tuple[Span, ...]
    contour: Contour
    top: float
    head_px: float
    height_px: float
    is_dashed: bool

    @property
    def middle_y(self) -> float:
        """Give the middle of its small clock and its heading."""
        return self.top + 0.46 * self.head_px

    def dot(self, span: Span) -> tuple[float, float]:
        """Give the point that says where it is heard."""
        return (self.contour.x(span.start_quarters), self.contour.heights.base_y + DOT_BELOW_PX)


def place_now(
    study: Study, shot: Shot, voices: Voices, subject: Subject, room: Box
) -> Callable[[float], tuple[Mark, ...]]:
    """Make what rings the place where the chord is heard now; nothing if places are not shown."""
    strips = strips_of(study, voices, subject, room) if subject.leads_with_chord else []

    def at(seconds: float) -> tuple[Mark, ...]:
        quarters = shot.sounding_quarters(seconds)
        if quarters is None:
            return ()
        return tuple(
            Shape(
                path=circle(*strip.dot(span), 17.0),
                stroke=Stroke(colour=Colour(Role.TEXT), width=2.6),
            )
            for strip in strips
            for span in strip.spans
            if span.start_quarters <= quarters < span.end_quarters
        )

    return at


def strips_of(study: Study, voices: Voices, subject: Subject, room: Box) -> list[Strip]:
    """Lay out a strip for each way in which the chord of a clock is heard, as many as fit."""
    found = subject.sonority
    assert found is not None
    least = LEAST_HEAD_PX + LEAST_STRIP_PX + BELOW_PX
    groups = occurrence_groups(found)[: max(1, int(room.height // least))]
    first = set(found.occurrence_pcs[0])
    pitch = min(room.height / len(groups), 300.0)
    first_top = room.top + (room.height - pitch * len(groups)) / 2
    passage = study.passage
    head_px = max(LEAST_HEAD_PX, min(HEAD_PX, pitch - BELOW_PX - STRIP_PX / 2))
    height_px = max(LEAST_STRIP_PX, min(STRIP_PX, pitch - BELOW_PX - head_px))
    pitches = [p for i in voices.lead if (p := passage.notes[i].pitch) is not None]
    strips = []
    for i, (heading, pcs, indices) in enumerate(groups):
        top = first_top + i * pitch
        base_y = top + head_px + height_px
        contour = Contour(
            passage=passage,
            voices=voices,
            span=passage.span,
            left=room.left,
            px_per_quarter=room.width / float(passage.length_quarters),
            heights=heights_for(pitches, top=top + head_px, base_y=base_y, has_anchor=False),
        )
        strips.append(
            Strip(
                heading=heading,
                pcs=pcs,
                spans=tuple(found.occurrences[k] for k in indices if k < len(found.occurrences)),
                contour=contour,
                top=top,
                head_px=head_px,
                height_px=height_px,
                is_dashed=turn_between(first, set(pcs)) is None,
            )
        )
    return strips


def strip_marks(strip: Strip, layout: Layout) -> list[Mark]:
    """Draw a strip: which notes, how often, and where in the passage."""
    contour, base_y = strip.contour, strip.contour.heights.base_y
    face = Face(x=contour.left + 34.0, y=strip.middle_y, radius=34.0 * strip.head_px / HEAD_PX)
    marks: list[Mark] = [
        ring_marks(face, 1.6),
        *chord_marks(face, strip.pcs, width=2.6, dashed=strip.is_dashed),
        *(Shape(path=circle(*face.at(pc), 4.0), fill=Colour(Role.TEXT)) for pc in strip.pcs),
        *_strip_heading(strip, layout),
    ]
    for posture, notes in contour.masses():
        marks += mass_marks(notes, posture, base_y, LIT, hatch_px=STRIP_HATCH_PX)
    marks.append(base_line(contour.left, contour.right, base_y))
    dash = (6.0, 5.0) if strip.is_dashed else ()
    stroke = Stroke(colour=Colour(Role.TEXT), width=2.6, dash=dash)
    radius = _dot_radius(strip)
    for span in strip.spans:
        x, y = strip.dot(span)
        post = polyline([(x, base_y - strip.height_px - 8.0), (x, y - 2.0)])
        marks += [
            Shape(path=post, stroke=stroke),
            Shape(path=circle(x, y, radius), fill=stroke.colour),
        ]
    return marks


def _strip_heading(strip: Strip, layout: Layout) -> list[Mark]:
    """Write what a strip shows beside its small clock: in one line, else in smaller ones."""
    left, size = strip.contour.left + 90.0, layout.sizes.heading
    room = strip.contour.right - left
    lines: tuple[str, ...] = (strip.heading,)
    if text_width(strip.heading, size, 600) > room:
        size = layout.sizes.label
        lines = wrap(strip.heading, size, 600, room)[:MOST_LINES]
    first = strip.middle_y + 0.34 * size - 0.6 * size * (len(lines) - 1)
    return [
        Words(
            x=left,
            y=first + 1.2 * size * i,
            text=line,
            size=size,
            weight=600,
            colour=Colour(Role.TEXT),
        )
        for i, line in enumerate(lines)
    ]


def _dot_radius(strip: Strip) -> float:
    """Make dots small enough to stand apart where a chord is heard often."""
    xs = sorted(strip.dot(span)[0] for span in strip.spans)
    closest = min((b - a for a, b in pairwise(xs)), default=2 * DOT_PX)
    return min(DOT_PX, max(DOT_SHARE * closest, LEAST_DOT_PX))
