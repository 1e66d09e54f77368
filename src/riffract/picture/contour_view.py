"""The contour: the moving voice by the height of its pitches, with what lies under it."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, radians, sin
from typing import Final

from riffract.music import Note, Technique
from riffract.picture.marks import (
    Close,
    Colour,
    Group,
    LineTo,
    Mark,
    MoveTo,
    Path,
    Role,
    Shape,
    Stroke,
)
from riffract.picture.string_mark import HATCH_DEGREES, Light, Pluck, Posture, pluck_marks

FALL_MASS, RISE_MASS, PLAIN_MASS = 0.135, 0.07, 0.06
RISE_HATCH: Final = 0.55
MASS_HATCH_PX: Final = 15.0
TALLEST_MARK_PX: Final = 30.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Heights:
    """Where pitches lie.

    Attributes:
        base_y: the line that masses stand on.
        anchor_y: where the lowest open string lies, just above it.
        low_pitch: the lowest pitch of the moving voice.
        low_y: where that one lies.
        px_per_semitone: the scale.
        mark_height: of a note's edge.
    """

    base_y: float
    anchor_y: float
    low_pitch: int
    low_y: float
    px_per_semitone: float
    mark_height: float

    def y(self, pitch: float) -> float:
        """Tell where a pitch lies."""
        return self.low_y - (pitch - self.low_pitch) * self.px_per_semitone


def heights_for(pitches: Sequence[int], *, top: float, base_y: float, anchor_px: float) -> Heights:
    """Fit pitches between a top and a base line, above a lane for the lowest open string.

    Args:
        pitches: of the moving voice; may be empty.
        top: the highest that anything may reach.
        base_y: the base line.
        anchor_px: height of the lane for the lowest open string; 0 for none.
    """
    low, high = min(pitches, default=40), max(pitches, default=52)
    room = base_y - anchor_px - top
    mark = min(TALLEST_MARK_PX, max(room * 0.13, 8.0))
    semitones = max(high - low, 5)
    scale = min((room - 2.0 * mark) / semitones, mark * 1.25)
    low_y = base_y - anchor_px - mark
    return Heights(
        base_y=base_y,
        anchor_y=base_y - anchor_px / 2,
        low_pitch=low,
        low_y=low_y,
        px_per_semitone=scale,
        mark_height=mark,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """A note in a contour.

    Attributes:
        note: which.
        x: where it starts.
        length: how long it is drawn, px.
        y: its height.
        posture: how it stands.
    """

    note: Note
    x: float
    length: float
    y: float
    posture: Posture

    @property
    def end_x(self) -> float:
        """Where it ends."""
        return self.x + self.length


def contour_marks(placed: Placed, heights: Heights, light: Light) -> tuple[Shape, ...]:
    """Draw one note."""
    is_muted = bool(placed.note.techniques & Technique.PALM_MUTE)
    return pluck_marks(
        Pluck(
            x=placed.x,
            y=placed.y,
            length=placed.length,
            height=heights.mark_height,
            posture=placed.posture,
            is_muted=is_muted,
            is_dead=bool(placed.note.techniques & Technique.DEAD),
            is_harmonic=bool(placed.note.techniques & Technique.NATURAL_HARMONIC),
            is_accented=bool(placed.note.techniques & Technique.ACCENT),
        ),
        light,
    )


def skyline(notes: Sequence[Placed]) -> tuple[tuple[float, float], ...]:
    """Trace the upper edge of what a voice's notes stand for, from its start to its end."""
    points: list[tuple[float, float]] = []
    for i, placed in enumerate(notes):
        end = placed.end_x
        if i + 1 < len(notes):
            end = min(end, notes[i + 1].x)
        points += [(placed.x, placed.y), (end, placed.y)]
    return tuple(points)


def mass_path(notes: Sequence[Placed], base_y: float) -> Path:
    """Outline the mass from a voice's notes down to the base line."""
    edge = skyline(notes)
    if not edge:
        return ()
    start = MoveTo(edge[0][0], base_y)
    up = tuple(LineTo(x, y) for x, y in edge)
    return (start, *up, LineTo(edge[-1][0], base_y), Close())


def mass_marks(
    notes: Sequence[Placed], posture: Posture, base_y: float, light: Light
) -> tuple[Mark, ...]:
    """Draw the mass under a limb: solid under a falling one, hatched under a rising one."""
    path = mass_path(notes, base_y)
    if not path:
        return ()
    if posture is Posture.HANGS:
        return (Shape(path=path, fill=light.colour(Role.FALL, FALL_MASS)),)
    if posture is not Posture.STANDS:
        return (Shape(path=path, fill=light.colour(Role.QUIET, PLAIN_MASS)),)
    wash = Shape(path=path, fill=light.colour(Role.RISE, RISE_MASS))
    top = min(placed.y for placed in notes)
    strokes = leaning_strokes(notes[0].x, notes[-1].end_x, top, base_y)
    lines = Shape(
        path=strokes, stroke=Stroke(colour=light.colour(Role.RISE, RISE_HATCH), width=1.4)
    )
    return (wash, Group(marks=(lines,), clip=path))


def leaning_strokes(
    left: float, right: float, top: float, bottom: float, spacing: float = MASS_HATCH_PX
) -> Path:
    """Draw strokes at -58 degrees over a box; they are to be clipped to a mass."""
    step = spacing / sin(radians(HATCH_DEGREES))
    lean = cos(radians(HATCH_DEGREES)) / sin(radians(HATCH_DEGREES))
    height = bottom - top
    path: Path = ()
    # Strokes lie on a grid of their own, so that neighbouring masses are hatched alike.
    first = int((left - lean * height) / step)
    for i in range(first, int(right / step) + 1):
        x = i * step
        path += (MoveTo(x, bottom), LineTo(x + lean * height, top))
    return path


def base_line(left: float, right: float, y: float) -> Shape:
    """Draw the line that masses stand on."""
    return Shape(
        path=(MoveTo(left, y), LineTo(right, y)),
        stroke=Stroke(colour=Colour(Role.BAR), width=1.6),
    )
