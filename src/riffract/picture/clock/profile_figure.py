"""The figure of the profile beside the clock: at how many evenly spaced places notes gather.

A row for each of one to six places, all on one scale. A set's bar is its magnitude; a stroke says
how far the best set of as many notes comes, since magnitudes grow with the number of notes.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from riffract.analysis.saying import say
from riffract.picture.bounds import Box
from riffract.picture.clock.face import NOTES, Face, ring_marks
from riffract.picture.clock.profile import QUALITIES, Profile, magnitude_text
from riffract.picture.contour_view import leaning_strokes
from riffract.picture.layout import Layout, label
from riffract.picture.marks import (
    Colour,
    Group,
    Mark,
    Role,
    Shape,
    Stroke,
    Words,
    circle,
    polyline,
    rectangle,
)
from riffract.picture.type import CAP_HEIGHT_SHARE, shortened, text_width, wrap

RING_PX: Final = 21.0
AIR_PX: Final = 18.0
LEADING: Final = 1.32
MOST_PITCH_PX: Final = 92.0
"""From one row to the next; further apart they are no figure any more."""

LEAST_BARS_PX: Final = 260.0
"""Where names would leave less for the bars, they stand above them."""

BAR_SHARE: Final = 0.62
"""Of a row, or of what its name leaves of it, for its bars."""

HATCH_PX, EDGE_PX, MOST_STROKE_PX = 8.0, 2.4, 3.2
SWATCH_PX: Final = 44.0
NOTES_ABOVE_SHARE, NOTES_BELOW_SHARE = 0.4, 0.35
"""Air above the notes of how to read it, and below the last one's baseline, over a label's size."""


def profile_marks(profiles: Sequence[Profile], layout: Layout, room: Box) -> list[Mark]:
    """Draw profiles: what they are of, a row for each number of places, how to read it."""
    plan = _plan(profiles, layout, room)
    marks: list[Mark] = []
    y = plan.top
    for profile in profiles:
        y, drawn = _heading_marks(profile, layout, plan, y)
        marks += drawn
    x, unit = plan.bars_x, (room.right - plan.numbers_px - plan.bars_x) / _reach(profiles)
    for k in range(len(QUALITIES)):
        marks += _row_marks(profiles, k, plan, layout, unit)
    bottom = plan.rows_top + len(QUALITIES) * plan.pitch
    axis = polyline([(x, plan.rows_top), (x, bottom)])
    marks.append(Shape(path=axis, stroke=Stroke(colour=Colour(Role.STRING), width=1.8)))
    y = bottom + NOTES_ABOVE_SHARE * layout.sizes.label
    for line in plan.notes:
        y += LEADING * layout.sizes.label
        marks.append(label(layout, room.left, y, line))
    return marks


@dataclass(frozen=True, slots=True, kw_only=True)
class _Plan:
    """Where a figure's parts stand.

    Attributes:
        room: of all of it.
        top: of the headings.
        with_names: whether notes are named below a heading.
        rows_top: of the first row.
        pitch: from one row to the next.
        bars_x: where bars start.
        is_stacked: whether a row's name stands above its bars.
        numbers_px: room for numbers at the right; 0 where rows are too low for them.
        notes: lines that say how to read it.
    """

    room: Box
    top: float
    with_names: bool
    rows_top: float
    pitch: float
    bars_x: float
    is_stacked: bool
    numbers_px: float
    notes: tuple[str, ...]


def _plan(profiles: Sequence[Profile], layout: Layout, room: Box) -> _Plan:
    """Give the rows what they need: notes of how to read them go first, names of notes, numbers."""
    size = layout.sizes.label
    names_px = max(text_width(say(name), size, 500) for name in QUALITIES) + AIR_PX
    numbers_px = text_width(magnitude_text(6.0), size, 600) + AIR_PX
    left = room.left + 2 * RING_PX + AIR_PX
    is_stacked = room.right - numbers_px - left - names_px < LEAST_BARS_PX
    least = size * (1.1 * len(profiles) + (1.2 if is_stacked else 0.0))
    notes = _notes(profiles, layout, room)
    headings = sum(len(profile.headings) for profile in profiles)
    words_px = room.width - SWATCH_PX - AIR_PX
    are_short = all(
        text_width(names, size, 500) <= words_px for profile in profiles for names in profile.names
    )
    for with_names, shown in ((are_short, notes), (are_short, ()), (False, ())):
        above = LEADING * headings * (layout.sizes.caption + (size if with_names else 0.0))
        below = (LEADING * len(shown) + NOTES_ABOVE_SHARE + NOTES_BELOW_SHARE) * size
        rows = room.height - above - below - AIR_PX
        if rows >= len(QUALITIES) * least:
            break
    pitch = min(rows / len(QUALITIES), MOST_PITCH_PX)
    top = room.top + (rows - pitch * len(QUALITIES)) / 2
    return _Plan(
        room=room,
        top=top,
        with_names=with_names,
        rows_top=top + above + AIR_PX,
        pitch=pitch,
        bars_x=left if is_stacked else left + names_px,
        is_stacked=is_stacked,
        numbers_px=numbers_px if rows >= len(QUALITIES) * least else 0.0,
        notes=tuple(shown),
    )


def _notes(profiles: Sequence[Profile], layout: Layout, room: Box) -> tuple[str, ...]:
    is_one = len(profiles) == 1 and len(profiles[0].headings) == 1
    said = [
        say("Bars: how much the notes gather at so many evenly spaced places."),
        say("Strokes: the most that any set of as many notes does."),
    ]
    if not is_one and len(profiles) == 1:
        said.insert(0, say("Both have the same profile."))
    return tuple(line for text in said for line in wrap(text, layout.sizes.label, 500, room.width))


def _heading_marks(
    profile: Profile, layout: Layout, plan: _Plan, y: float
) -> tuple[float, list[Mark]]:
    """Write what a profile is of, below one another; give where the next one starts."""
    marks: list[Mark] = []
    size, small, x = layout.sizes.caption, layout.sizes.label, plan.room.left
    for (text, role), names in zip(profile.headings, profile.names, strict=True):
        y += LEADING * size
        middle = y - size * CAP_HEIGHT_SHARE / 2
        swatch = Box(left=x, top=middle - 9.0, right=x + SWATCH_PX, bottom=middle + 9.0)
        marks += _bar_marks(profile, swatch)
        words_x = x + SWATCH_PX + AIR_PX
        shown = shortened(text, size, 600, plan.room.right - words_x)
        marks.append(Words(x=words_x, y=y, text=shown, size=size, weight=600, colour=Colour(role)))
        if plan.with_names:
            y += LEADING * small
            marks.append(label(layout, words_x, y, names, Role.TEXT))
    return y, marks


def _row_marks(
    profiles: Sequence[Profile], k: int, plan: _Plan, layout: Layout, unit: float
) -> list[Mark]:
    """Draw a row: the places on a small ring, their name, and each set's bar, stroke and number."""
    size, top = layout.sizes.label, plan.rows_top + k * plan.pitch
    middle, cap = top + plan.pitch / 2, size * CAP_HEIGHT_SHARE
    name_x = plan.room.left + 2 * RING_PX + AIR_PX
    name_y = top + 1.0 * size if plan.is_stacked else middle + cap / 2
    marks: list[Mark] = [
        *_places_marks(Face(x=plan.room.left + RING_PX, y=middle, radius=RING_PX), k + 1),
        label(layout, name_x + (8.0 if plan.is_stacked else 0.0), name_y, say(QUALITIES[k])),
    ]
    taken = 1.2 * size if plan.is_stacked else 0.0
    height = (plan.pitch - taken) / len(profiles)
    bars_top = top + taken
    if not plan.is_stacked:
        height *= (1.0 + BAR_SHARE) / 2
        bars_top += (plan.pitch - len(profiles) * height) / 2
    for i, profile in enumerate(profiles):
        box = Box(
            left=plan.bars_x,
            top=bars_top + i * height,
            right=plan.room.right,
            bottom=bars_top + (i + 1) * height,
        )
        marks += _set_marks(profile, k, box, unit, layout.sizes.label if plan.numbers_px else 0.0)
    return marks


def _set_marks(profile: Profile, k: int, box: Box, unit: float, number_size: float) -> list[Mark]:
    """Draw what a row has of one set: its bar, the stroke, its number if that has a size."""
    at = (box.top + box.bottom) / 2
    half = BAR_SHARE * box.height / 2
    bar = replace(box, top=at - half, right=box.left + profile.values[k] * unit, bottom=at + half)
    most_x = box.left + profile.most[k] * unit
    line = polyline([(most_x, bar.top - 3.0), (most_x, bar.bottom + 3.0)])
    stroke = Stroke(colour=Colour(Role.TEXT), width=MOST_STROKE_PX)
    marks: list[Mark] = [*_bar_marks(profile, bar), Shape(path=line, stroke=stroke)]
    if number_size:
        number = Words(
            x=box.right,
            y=at + number_size * CAP_HEIGHT_SHARE / 2,
            text=magnitude_text(profile.values[k]),
            size=number_size,
            weight=600,
            colour=Colour(profile.role),
            align="end",
        )
        marks.append(number)
    return marks


def _places_marks(face: Face, places: int) -> list[Mark]:
    """Draw a small ring with evenly spaced places on it."""
    dots = (face.at(i * NOTES / places) for i in range(places))
    return [
        ring_marks(face, 1.8),
        *(Shape(path=circle(x, y, 4.6), fill=Colour(Role.TEXT)) for x, y in dots),
    ]


def _bar_marks(profile: Profile, box: Box) -> list[Mark]:
    """Fill a bar as the set's fins are filled: solid, or hatched."""
    if box.width < 1.0:
        return []
    body = rectangle(box.left, box.top, box.width, box.height)
    edge = Stroke(colour=Colour(profile.role), width=EDGE_PX)
    outline = Shape(path=body, stroke=edge)
    if profile.side == "inward":
        return [Shape(path=body, fill=Colour(profile.role, 0.44)), outline]
    strokes = leaning_strokes(box.left, box.right, box.top, box.bottom, HATCH_PX)
    ink = Stroke(colour=Colour(profile.role, 0.9), width=1.4)
    return [
        Shape(path=body, fill=Colour(profile.role, 0.1)),
        Group(marks=(Shape(path=strokes, stroke=ink),), clip=body),
        outline,
    ]


def _reach(profiles: Sequence[Profile]) -> float:
    """Give the greatest number that is drawn; all rows share one scale."""
    return max(value for profile in profiles for value in (*profile.values, *profile.most)) or 1.0
