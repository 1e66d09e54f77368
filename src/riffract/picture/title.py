"""The title card: what the essay is called, over the riff as a horizon that lights up in time."""

from collections.abc import Iterator
from fractions import Fraction
from typing import Final

from riffract.analysis.saying import say
from riffract.analysis.wording import in_sentences
from riffract.essay.shots import Shot
from riffract.music import Span
from riffract.picture.bidi import is_leftward
from riffract.picture.bounds import Box
from riffract.picture.contour_view import (
    Contour,
    Placed,
    base_line,
    contour_marks,
    heights_for,
    mass_column,
    mass_marks,
)
from riffract.picture.layout import Layout, layout_of, line_start
from riffract.picture.marks import Colour, Mark, Role, Weight, Words
from riffract.picture.pitch_ways import pitches_reached
from riffract.picture.scene import Cue, Page, Scene
from riffract.picture.string_mark import AHEAD, RAISED, Light, Posture
from riffract.picture.type import wrap
from riffract.picture.voices import Voices, voices_of
from riffract.weighing.study import Study

TITLE_SIZES: Final = (124.0, 104.0, 84.0)
"""The largest is taken at which the title keeps to `TITLE_LINES`, else the smallest."""

TITLE_LINES, NARROW_TITLE_LINES = 1, 2
QUIET_LINE_SIZE: Final = 34.0
HORIZON_SHARE: Final = 0.3
"""How much of the page's height the horizon fills."""

RISES_FROM_SECONDS, RISES_FOR_SECONDS = 0.3, 2.4
"""When the horizon lights up, note after note, each at its place in time."""

LEAST_PX_PER_QUARTER: Final = 30.0


def title_scene(study: Study, shot: Shot, page: Page) -> Scene:
    """Write the title and a quiet line or two; below them the whole passage's contour."""
    layout = layout_of(shot, page)
    width = layout.right - layout.left
    size = _title_size(shot.title, layout)
    title = [(row, is_leftward(shot.title)) for row in wrap(shot.title, size, 600, width)]
    quiet = [
        (row, is_leftward(line))
        for line in shot.details
        for row in wrap(line, QUIET_LINE_SIZE, 400, width)
    ]
    box = horizon_box(page, HORIZON_SHARE)
    used = 1.16 * size * len(title) + 1.5 * QUIET_LINE_SIZE * len(quiet)
    y = max((box.top - used) * 0.62 + size * 0.7, 2.0 * size)
    horizon = horizon_of(study, voices_of(study, shot), box)
    marks: list[Mark] = [*horizon_marks(horizon, AHEAD)]
    for line, is_turned in title:
        x = line_start(layout, line, size, 600, is_turned=is_turned)
        marks.append(_line(x, y, line, size, Role.TEXT))
        y += 1.16 * size
    y += 0.1 * size
    for line, is_turned in quiet:
        x = line_start(layout, line, QUIET_LINE_SIZE, 400, is_turned=is_turned)
        marks.append(_line(x, y, line, QUIET_LINE_SIZE, Role.QUIET))
        y += 1.5 * QUIET_LINE_SIZE
    return Scene(
        page=page,
        ground=tuple(marks),
        cues=_rising(horizon),
        length_seconds=shot.length_seconds,
        description=say(
            "Title card: {title}. {details}", title=shot.title, details=in_sentences(shot.details)
        ).strip(),
    )


def horizon_box(page: Page, share: float) -> Box:
    """Give the room of a horizon that fills a share of the page's height."""
    return Box(
        left=0.0,
        top=page.height * (0.95 - share),
        right=float(page.width),
        bottom=page.height * 0.95,
    )


def horizon_of(study: Study, voices: Voices, box: Box) -> Contour:
    """Lay the passage out as a skyline from edge to edge; of a long one the start."""
    passage = study.passage
    most = Fraction(round(box.width / LEAST_PX_PER_QUARTER))
    span = Span(Fraction(0), min(passage.length_quarters, most))
    pitches = [p for i in voices.lead for p in pitches_reached(passage.notes[i])]
    return Contour(
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


def horizon_marks(horizon: Contour, light: Light) -> tuple[Mark, ...]:
    """Draw a horizon."""
    base_y = horizon.heights.base_y
    masses = [m for p, notes in horizon.masses() for m in mass_marks(notes, p, base_y, light)]
    plucked = [
        mark
        for placed in _placed(horizon)
        for mark in contour_marks(placed, horizon.heights, light)
    ]
    return (*masses, *plucked, base_line(horizon.left, horizon.right, base_y))


def _rising(horizon: Contour) -> tuple[Cue, ...]:
    """Let the horizon light up from left to right, the masses below their notes."""
    lit = [*_lit_masses(horizon), *_lit_notes(horizon)]
    cues = [Cue(at_seconds=_lit_at(horizon, x), marks=marks) for x, marks in lit]
    return tuple(sorted(cues, key=lambda cue: cue.at_seconds))


def _lit_masses(horizon: Contour) -> Iterator[tuple[float, tuple[Mark, ...]]]:
    """Give for each note of a limb where it stands, and its part of the limb's mass."""
    for posture, notes in horizon.masses():
        for index, placed in enumerate(notes):
            yield (
                placed.x,
                mass_column(notes, index, posture, horizon.heights.base_y, RAISED),
            )


def _lit_notes(horizon: Contour) -> Iterator[tuple[float, tuple[Mark, ...]]]:
    for placed in _placed(horizon):
        yield placed.x, contour_marks(placed, horizon.heights, RAISED)


def _lit_at(horizon: Contour, x: float) -> float:
    share = (x - horizon.left) / (horizon.right - horizon.left)
    return round(RISES_FROM_SECONDS + RISES_FOR_SECONDS * share, 3)


def _placed(horizon: Contour) -> tuple[Placed, ...]:
    return (*horizon.anchors(), *horizon.lead())


def _title_size(title: str, layout: Layout) -> float:
    most = NARROW_TITLE_LINES if layout.page.is_narrow else TITLE_LINES
    width = layout.right - layout.left
    fitting = (size for size in TITLE_SIZES if len(wrap(title, size, 600, width)) <= most)
    return next(fitting, TITLE_SIZES[-1])


def _line(x: float, y: float, text: str, size: float, role: Role) -> Words:
    weight: Weight = 600 if role is Role.TEXT else 400
    return Words(x=x, y=y, text=text, size=size, weight=weight, colour=Colour(role))
