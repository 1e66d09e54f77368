"""The contour: the moving voice by the height of its pitches, with what lies under it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from math import cos, radians, sin
from typing import Final

from riffract.essay.shots import Doubt
from riffract.music import Note, Passage, Span, Technique
from riffract.music.notes import HARMONIC
from riffract.picture.doubt_signs import LEAST_SIGN_PX, SIGN_PX, doubt_marks
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
from riffract.picture.pitch_ways import start_pitch, way_marks
from riffract.picture.string_mark import HATCH_DEGREES, Light, Pluck, Posture, pluck_marks
from riffract.picture.string_view import sound_end
from riffract.picture.voices import Voices, posture_of

FALL_MASS, RISE_MASS, PLAIN_MASS = 0.135, 0.07, 0.06
RISE_HATCH: Final = 0.55
MASS_HATCH_PX: Final = 15.0
USUAL_MARK_PX, TALLEST_MARK_PX = 30.0, 42.0
SEMITONE_SHARE: Final = 1.25
"""A semitone is no higher than so many marks: else a line falls apart into single notes. Few
pitches in a high room therefore get taller marks."""

ANCHOR_LANE_SHARE: Final = 1.65
FEWEST_SEMITONES: Final = 5
DOUBT_AIR_PX: Final = 11.0


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


def heights_for(pitches: Sequence[int], *, top: float, base_y: float, has_anchor: bool) -> Heights:
    """Fit pitches between a top and a base line.

    Args:
        pitches: of the moving voice; may be empty.
        top: the highest that anything may reach.
        base_y: the base line.
        has_anchor: whether a lane is kept free on the base line for the lowest open string.
    """
    low, high = min(pitches, default=40), max(pitches, default=52)
    semitones = max(high - low, FEWEST_SEMITONES)
    lanes = 2.0 + (ANCHOR_LANE_SHARE if has_anchor else 0.0)
    # So tall that the semitones fill the rest of the room.
    filling = (base_y - top) / (SEMITONE_SHARE * semitones + lanes)
    mark = min(TALLEST_MARK_PX, max((base_y - top) * 0.11, 8.0), max(filling, USUAL_MARK_PX))
    lane = ANCHOR_LANE_SHARE * mark if has_anchor else 0.0
    room = base_y - lane - top
    scale = min((room - 2.0 * mark) / semitones, mark * SEMITONE_SHARE)
    return Heights(
        base_y=base_y,
        anchor_y=base_y - lane / 2,
        low_pitch=low,
        low_y=base_y - lane - mark,
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

    @property
    def middle_x(self) -> float:
        """The middle of its sound."""
        return self.x + self.length / 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Contour:
    """A stretch of a passage as a contour, true to time.

    Attributes:
        passage, voices: what is shown, and the part of each note.
        span: the stretch.
        left: where it starts, px.
        px_per_quarter: its scale.
        heights: where pitches lie.
    """

    passage: Passage
    voices: Voices
    span: Span
    left: float
    px_per_quarter: float
    heights: Heights

    @property
    def right(self) -> float:
        """Where it ends."""
        return self.x(self.span.end_quarters)

    def x(self, quarters: Fraction) -> float:
        """Tell where a moment lies."""
        return self.left + float(quarters - self.span.start_quarters) * self.px_per_quarter

    def placed(self, index: int) -> Placed:
        """Place a note; what rings on beyond the end is cut there, what has no pitch lies low."""
        note = self.passage.notes[index]
        posture = self.voices.postures[index]
        is_low = posture is Posture.ANCHORS or note.pitch is None
        end = min(sound_end(note), self.span.end_quarters)
        return Placed(
            note=note,
            x=self.x(note.onset_quarters),
            length=self.x(end) - self.x(note.onset_quarters),
            y=self.heights.anchor_y if is_low else self.heights.y(start_pitch(note)),
            posture=posture,
        )

    def holds(self, index: int) -> bool:
        """Say whether a note starts in the stretch."""
        return self.span.holds(self.passage.notes[index].onset_quarters)

    def lead(self) -> tuple[Placed, ...]:
        """Place the moving voice."""
        return tuple(self.placed(i) for i in self.voices.lead if self.holds(i))

    def anchors(self) -> tuple[Placed, ...]:
        """Place the lowest open string."""
        postures = enumerate(self.voices.postures)
        own = (i for i, posture in postures if posture is Posture.ANCHORS and self.holds(i))
        return tuple(self.placed(i) for i in own)

    def drone(self) -> tuple[Placed, ...]:
        """Place the ringing strings."""
        return tuple(self.placed(i) for i in sorted(self.voices.ringing_notes) if self.holds(i))

    def masses(self) -> tuple[tuple[Posture, tuple[Placed, ...]], ...]:
        """Place the notes of each limb in the stretch; without limbs those of the moving voice."""
        own = [
            (posture_of(limb), tuple(self.placed(i) for i in limb.notes if self.holds(i)))
            for limb in self.voices.limbs
        ]
        found = tuple((posture, notes) for posture, notes in own if notes)
        if found or not self.lead():
            return found
        return ((Posture.PLAIN, self.lead()),)


def contour_marks(placed: Placed, heights: Heights, light: Light) -> tuple[Shape, ...]:
    """Draw one note: its mark, and the way of its pitch where that moves."""
    at, scale = (placed.x, placed.y), heights.px_per_semitone
    ways: tuple[Shape, ...] = ()
    if placed.posture is not Posture.ANCHORS:  # its lane has no heights
        ways = way_marks(placed.note, at, placed.length, light, px_per_semitone=scale)
    plucked = pluck_marks(_pluck(placed, heights), light)
    return (*plucked, *ways)


def doubt_beside(placed: Placed, heights: Heights, doubt: Doubt, light: Light) -> tuple[Mark, ...]:
    """Draw a doubt about a note where its mark is not: above what hangs, below what stands.

    The lowest open string has its own above it, since the line of bars runs below.
    """
    pluck = _pluck(placed, heights)
    is_above = placed.posture in {Posture.HANGS, Posture.ANCHORS}
    y = placed.y - pluck.up - DOUBT_AIR_PX if is_above else placed.y + pluck.down + DOUBT_AIR_PX
    width = min(max(placed.length, LEAST_SIGN_PX), SIGN_PX)
    return doubt_marks(doubt, placed.x, y, light, width=width)


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
    notes: Sequence[Placed],
    posture: Posture,
    base_y: float,
    light: Light,
    *,
    hatch_px: float = MASS_HATCH_PX,
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
    strokes = leaning_strokes(notes[0].x, notes[-1].end_x, top, base_y, hatch_px)
    lines = Shape(
        path=strokes, stroke=Stroke(colour=light.colour(Role.RISE, RISE_HATCH), width=1.4)
    )
    return (wash, Group(marks=(lines,), clip=path))


def mass_column(
    notes: Sequence[Placed], index: int, posture: Posture, base_y: float, light: Light
) -> tuple[Mark, ...]:
    """Draw the part of a limb's mass that one of its notes stands for, up to the next note."""
    placed = notes[index]
    if index + 1 == len(notes):
        return mass_marks([placed], posture, base_y, light)
    following = notes[index + 1]
    column = replace(placed, length=min(placed.length, following.x - placed.x))
    edge = replace(following, length=0.0)
    return mass_marks([column, edge], posture, base_y, light)


def leaning_strokes(left: float, right: float, top: float, bottom: float, spacing: float) -> Path:
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


def _pluck(placed: Placed, heights: Heights) -> Pluck:
    techniques = placed.note.techniques
    return Pluck(
        x=placed.x,
        y=placed.y,
        length=placed.length,
        height=heights.mark_height,
        posture=placed.posture,
        is_muted=bool(techniques & Technique.PALM_MUTE),
        is_dead=bool(techniques & Technique.DEAD),
        is_harmonic=bool(techniques & HARMONIC),
        is_accented=bool(techniques & Technique.ACCENT),
    )
