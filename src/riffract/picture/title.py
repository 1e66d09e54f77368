"""The title card: what the essay is called, over the riff as a horizon."""

from fractions import Fraction
from typing import Final

from riffract.essay.shots import Shot
from riffract.music import Span
from riffract.picture.bounds import Box
from riffract.picture.contour_view import Contour, base_line, contour_marks, heights_for, mass_marks
from riffract.picture.layout import layout_of
from riffract.picture.marks import Colour, Mark, Role, Weight, Words
from riffract.picture.pitch_ways import pitches_reached
from riffract.picture.scene import Page, Scene
from riffract.picture.string_mark import LIT, Light, Posture
from riffract.picture.type import wrap
from riffract.picture.voices import Voices, voices_of
from riffract.weighing.study import Study

TITLE_SIZE: Final = 84.0
QUIET_LINE_SIZE: Final = 34.0
HORIZON_SHARE: Final = 0.3
"""How much of the page's height the horizon fills."""

LEAST_PX_PER_QUARTER: Final = 30.0


def title_scene(study: Study, shot: Shot, page: Page) -> Scene:
    """Write the title and a quiet line or two; below them the whole passage's contour."""
    layout = layout_of(shot, page)
    width = layout.right - layout.left
    title = wrap(shot.title, TITLE_SIZE, 600, width)
    quiet = [row for line in shot.details for row in wrap(line, QUIET_LINE_SIZE, 400, width)]
    horizon = Box(
        left=0.0,
        top=page.height * (0.95 - HORIZON_SHARE),
        right=float(page.width),
        bottom=page.height * 0.95,
    )
    used = 1.16 * TITLE_SIZE * len(title) + 1.5 * QUIET_LINE_SIZE * len(quiet)
    y = max((horizon.top - used) * 0.62 + TITLE_SIZE * 0.7, 2.0 * TITLE_SIZE)
    marks: list[Mark] = [*horizon_marks(study, voices_of(study, shot), horizon, LIT)]
    for line in title:
        marks.append(_line(layout.left, y, line, TITLE_SIZE, Role.TEXT))
        y += 1.16 * TITLE_SIZE
    y += 0.1 * TITLE_SIZE
    for line in quiet:
        marks.append(_line(layout.left, y, line, QUIET_LINE_SIZE, Role.QUIET))
        y += 1.5 * QUIET_LINE_SIZE
    return Scene(
        page=page,
        ground=tuple(marks),
        cues=(),
        length_seconds=shot.length_seconds,
        description=f"Title card: {shot.title}. {' '.join(shot.details)}".strip(),
    )


def horizon_marks(study: Study, voices: Voices, box: Box, light: Light) -> tuple[Mark, ...]:
    """Draw the passage as a skyline from edge to edge; of a long one the start."""
    passage = study.passage
    most = Fraction(round(box.width / LEAST_PX_PER_QUARTER))
    span = Span(Fraction(0), min(passage.length_quarters, most))
    pitches = [p for i in voices.lead for p in pitches_reached(passage.notes[i])]
    contour = Contour(
        passage=passage,
        voices=voices,
        span=span,
        left=box.left,
        px_per_quarter=box.width / float(span.length_quarters),
        heights=heights_for(
            pitches,
            top=box.top,
            base_y=box.bottom,
            has_anchor=Posture.ANCHORS in voices.postures,
        ),
    )
    marks: list[Mark] = []
    for posture, notes in contour.masses():
        marks += mass_marks(notes, posture, box.bottom, light)
    for placed in (*contour.anchors(), *contour.lead()):
        marks += contour_marks(placed, contour.heights, light)
    return (*marks, base_line(box.left, box.right, box.bottom))


def _line(x: float, y: float, text: str, size: float, role: Role) -> Words:
    weight: Weight = 600 if role is Role.TEXT else 400
    return Words(x=x, y=y, text=text, size=size, weight=weight, colour=Colour(role))
