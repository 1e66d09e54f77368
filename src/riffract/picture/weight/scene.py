"""The weight scene: how a finding stands against chance, counted out in dots.

Each dot is a random version of the passage, placed by how well it does; the riff's own stroke
stands where the riff does, and beyond it, on glass, lies what does as well. Where the chance was
computed instead of drawn, one dot stands among as many as it takes on average until chance does as
well. The figure beside it says the same in a word.
"""

from dataclasses import replace
from typing import Final

import numpy as np

from riffract.analysis.saying import say
from riffract.analysis.wording import capital
from riffract.essay.shots import Shot
from riffract.picture.bounds import Box
from riffract.picture.layout import APPEAR_SECONDS, Layout, captions, claim_marks, label, layout_of
from riffract.picture.marks import (
    Colour,
    Mark,
    Path,
    Role,
    Shape,
    Stroke,
    Words,
    circle,
    polyline,
    rectangle,
)
from riffract.picture.page.scene import page_scene
from riffract.picture.scene import Cue, Page, Scene
from riffract.picture.type import text_width
from riffract.picture.weight.dots import Dots, dots_of
from riffract.picture.weight.words import WeightWords, bottom_of, weight_words, word_marks
from riffract.weighing.study import VERDICT_NAMES, Study, WeighedFinding

STROKE_PX: Final = 4.5
OWN_DOT_PX: Final = 9.0
RING_AIR_PX, LEAST_RING_PX = 9.0, 17.0
RING_PX: Final = 3.2
"""Of the ring around a small dot in a field: seen on a phone, where the dot is one pixel."""

FILLING_STEPS: Final = 6
FILLING_SECONDS: Final = 1.8
"""The dots come up in so many steps over this time, the riff's own stroke after them."""

COLUMN_SHARE, NARROW_SHARE = 0.34, 0.46
"""Of the picture's width for the words beside it; of its height for those below it."""

GAP_PX: Final = 40.0
DROP_SHARE: Final = 0.4
"""Of the height that the words beside the picture leave free, what lies above them; below the
picture they take no more than they need, and the picture has the rest."""

ROUNDING_PX: Final = 0.01


def weight_scene(study: Study, shot: Shot, page: Page) -> Scene:
    """Show how often chance does as well as what a shot claims; a page if no chance is involved."""
    weighed = next((one for one in shot.findings if one.chance is not None), None)
    if weighed is None or weighed.chance is None:
        return page_scene(study, shot, page)
    layout = layout_of(shot, page)
    field, column = _rooms(layout)
    dots, words, said = _told(weighed, study, field, column, layout)
    spare = max(column.bottom - bottom_of(said) - ROUNDING_PX, 0.0)
    if page.is_narrow:
        field, column = replace(field, bottom=field.bottom + spare), _lowered(column, spare)
    else:
        column = _lowered(column, DROP_SHARE * spare)
    dots, words, said = _told(weighed, study, field, column, layout)
    stroke = _own_stroke(dots, field, layout)
    batches = _batches(dots)
    ground: list[Mark] = [
        *claim_marks(layout),
        *_glass(dots, field, layout),
        *said,
        *_base(dots, field, layout),
    ]
    cues: list[Cue] = []
    if shot.plays or shot.lines:
        step = FILLING_SECONDS / FILLING_STEPS
        for number, batch in enumerate(batches):
            cues.append(Cue(at_seconds=number * step, marks=batch, fade_seconds=step))
        cues.append(
            Cue(at_seconds=FILLING_SECONDS + step, marks=stroke, fade_seconds=APPEAR_SECONDS)
        )
    else:
        ground += [*(mark for batch in batches for mark in batch), *stroke]
    verdict = capital(say(VERDICT_NAMES[weighed.verdict]))
    return Scene(
        page=page,
        ground=tuple(ground),
        cues=tuple(cues),
        length_seconds=shot.length_seconds,
        description=f"{verdict}. {words.sentences}",
        moving=captions(layout, shot.lines),
    )


def _told(
    weighed: WeighedFinding, study: Study, field: Box, column: Box, layout: Layout
) -> tuple[Dots, WeightWords, list[Words]]:
    """Place the dots in their field, and set what is said of them in its column."""
    assert weighed.chance is not None
    dots = dots_of(weighed.chance, _dots_room(field, layout))
    words = weight_words(weighed, dots.versions_a_dot, study)
    return dots, words, word_marks(words, column, layout)


def _lowered(column: Box, by_px: float) -> Box:
    return replace(column, top=column.top + by_px)


def _rooms(layout: Layout) -> tuple[Box, Box]:
    """Part the picture into a field and a column of words; on a narrow page below one another."""
    room = layout.picture
    if layout.page.is_narrow:
        middle = room.bottom - NARROW_SHARE * room.height
        field = Box(left=room.left, top=room.top, right=room.right, bottom=middle - GAP_PX)
        return field, Box(left=room.left, top=middle + GAP_PX, right=room.right, bottom=room.bottom)
    middle = room.right - COLUMN_SHARE * room.width
    field = Box(left=room.left, top=room.top, right=middle, bottom=room.bottom)
    top = room.top + GAP_PX
    return field, Box(left=middle + GAP_PX, top=top, right=room.right - GAP_PX, bottom=room.bottom)


def _dots_room(field: Box, layout: Layout) -> Box:
    """Leave room over the dots for the name of the stroke, and for the scale below them."""
    size = layout.sizes.label
    return Box(
        left=field.left, top=field.top + 1.7 * size, right=field.right, bottom=_base_y(field, size)
    )


def _base_y(field: Box, size: float) -> float:
    return field.bottom - 1.7 * size


def _glass(dots: Dots, field: Box, layout: Layout) -> list[Mark]:
    """Draw the glass beyond the riff's own stroke; beside the picture the words stand on it too."""
    if dots.stroke_x is None:
        return []
    right = field.right if layout.page.is_narrow else layout.right
    height = _base_y(field, layout.sizes.label) - field.top
    glass = rectangle(dots.stroke_x, field.top, right - dots.stroke_x, height)
    return [Shape(path=glass, fill=Colour(Role.GLASS))]


def _batches(dots: Dots) -> list[tuple[Mark, ...]]:
    """Part the dots into the steps in which they come up, here and there; the best come last."""
    batches: list[tuple[Mark, ...]] = []
    order = np.random.default_rng(0).permutation(len(dots.usual))
    for step in range(FILLING_STEPS):
        some = [dots.usual[i] for i in order[step::FILLING_STEPS].tolist()]
        if some:
            path = tuple(piece for x, y in some for piece in circle(x, y, dots.radius))
            batches.append((Shape(path=path, fill=Colour(Role.STRING)),))
    if dots.as_good:
        batches.append(tuple(_as_good(dots)))
    return batches


def _as_good(dots: Dots) -> list[Mark]:
    """Draw the dots that do as well brighter; a small one in a field with a ring of its own."""
    path: Path = tuple(piece for x, y in dots.as_good for piece in circle(x, y, dots.radius))
    bright = Shape(path=path, fill=Colour(Role.TEXT))
    if dots.stroke_x is not None or dots.radius >= LEAST_RING_PX:
        return [bright]
    radius = max(dots.radius + RING_AIR_PX, LEAST_RING_PX)
    stroke = Stroke(colour=Colour(Role.TEXT), width=RING_PX)
    # The ring's inside is cleared: among ten thousand dots it would not be seen.
    rings = [
        Shape(path=circle(x, y, radius), fill=Colour(Role.GROUND), stroke=stroke)
        for x, y in dots.as_good
    ]
    return [*rings, bright]


def _base(dots: Dots, field: Box, layout: Layout) -> list[Mark]:
    """Draw the line that the dots stand on, and say which way is better."""
    if dots.stroke_x is None:
        return []
    size = layout.sizes.label
    base_y = _base_y(field, size)
    line = polyline([(field.left, base_y), (field.right, base_y)])
    y = base_y + 1.4 * size
    better = say("stronger →")
    right = field.right - text_width(better, size, 500)
    return [
        Shape(path=line, stroke=Stroke(colour=Colour(Role.STRING), width=2.0)),
        label(layout, field.left, y, say("← weaker")),
        label(layout, right, y, better),
    ]


def _own_stroke(dots: Dots, field: Box, layout: Layout) -> tuple[Mark, ...]:
    """Draw the riff's own stroke with its name beside it, on the side where there is room."""
    if dots.stroke_x is None:
        return ()
    size = layout.sizes.label
    x, base_y = dots.stroke_x, _base_y(field, size)
    line = polyline([(x, field.top), (x, base_y)])
    is_right = x > (field.left + field.right) / 2.0
    name = Words(
        x=x - 16.0 if is_right else x + 16.0,
        y=field.top + size,
        text=say("this riff"),
        size=size,
        weight=600,
        colour=Colour(Role.TEXT),
        align="end" if is_right else "start",
    )
    stroke = Stroke(colour=Colour(Role.TEXT), width=STROKE_PX)
    # The riff is one version more, so it has a dot like theirs, at the foot of its stroke.
    dot = circle(x, base_y, max(1.6 * dots.radius, OWN_DOT_PX))
    return (Shape(path=line, stroke=stroke), Shape(path=dot, fill=Colour(Role.TEXT)), name)
