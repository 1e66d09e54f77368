"""The plan of a fold: where each note of a limb lies, where its image goes, and what it meets.

An image is followed through stages. Over an upright mirror it first swings across (mirrored in
time), then, if the other limb runs at another pace, draws in until partners meet. Over a level
mirror (an inversion) it first turns upside down where it is, then moves to where it is heard. A
line that comes back both ways does one after the other.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from typing import Final, Literal

from riffract.analysis.finding import Mirror, MirrorPair
from riffract.music import Span
from riffract.picture.bent_mirror import bent_mirror
from riffract.picture.bounds import Box
from riffract.picture.contour_view import Contour, Heights, Placed, heights_for
from riffract.picture.fold.limbs import is_even, lengths_stood_for, limb_notes, mirror_quarters
from riffract.picture.mapped import Mapping
from riffract.picture.pitch_ways import pitches_reached, start_pitch
from riffract.picture.string_mark import Posture
from riffract.picture.voices import Voices
from riffract.weighing.study import Study

HEAD_PX: Final = 28.0
FLAT_MARK_PX: Final = 64.0
MOST_PX_PER_QUARTER: Final = 300.0
FLAT_KINDS: Final = frozenset({"rhythm", "weight", "passes"})
"""Mirrors in which pitch is not at issue: all notes lie on one line, their images on another."""

LATE_PX: Final = 5.0
"""An image off by less than this in time is level with its partner."""

FLAT_DROP_PX: Final = 150.0
"""How far the line of images lies below that of the notes."""

Upright = Literal["upright", "level", "both"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Seat:
    """Where an image lies: its onset's edge, its end, its height, and whether it is upside down."""

    onset_x: float
    end_x: float
    y: float
    y_scale: float = 1.0

    def towards(self, other: "Seat", share: float) -> "Seat":
        """Give the seat part of the way to another one."""

        def between(a: float, b: float) -> float:
            return a + (b - a) * share

        return Seat(
            onset_x=between(self.onset_x, other.onset_x),
            end_x=between(self.end_x, other.end_x),
            y=between(self.y, other.y),
            y_scale=between(self.y_scale, other.y_scale),
        )

    @property
    def middle_x(self) -> float:
        """The middle of the sound."""
        return (self.onset_x + self.end_x) / 2

    def mapping_from(self, placed: Placed) -> Mapping:
        """Tell how a note's own marks are moved to lie here."""
        x_scale = (self.end_x - self.onset_x) / placed.length if placed.length else 1.0
        return Mapping(
            x_scale=x_scale,
            x_shift=self.onset_x - x_scale * placed.x,
            y_scale=self.y_scale,
            y_shift=self.y - self.y_scale * placed.y,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class FoldNote:
    """A note of the first limb with its image.

    Attributes:
        placed: where it is heard.
        seats: its image's seats, from where it is heard to where it ends up.
        partner: what it meets; `None` if nothing.
        semitones_off: how much higher the partner is than the image; 0 where pitch is no matter.
    """

    placed: Placed
    seats: tuple[Seat, ...]
    partner: Placed | None
    semitones_off: int

    @property
    def last(self) -> Seat:
        """Where the image ends up."""
        return self.seats[-1]

    @property
    def agrees(self) -> bool:
        """Whether image and partner are one note."""
        return self.partner is not None and self.semitones_off == 0


@dataclass(frozen=True, slots=True, kw_only=True)
class FoldPlan:
    """A fold.

    Attributes:
        mirror: what was found.
        contour: the stretch of the passage, true to time.
        room: of the picture, glass included.
        stands: whether the mirror is upright, level, or turned from one to the other.
        axis_quarters, axis_x: where an upright mirror stands: halfway between most partners.
        axis_y: where a level one lies; of no meaning otherwise.
        notes: of the first limb, with their images.
        others: the second limb's notes.
        draws_in: whether there is a second stage.
        bent: points of the mirror once it has bent, from the top; empty if it stays straight.
    """

    mirror: Mirror
    contour: Contour
    room: Box
    stands: Upright
    axis_quarters: Fraction
    axis_x: float
    axis_y: float
    notes: tuple[FoldNote, ...]
    others: tuple[Placed, ...]
    draws_in: bool
    bent: tuple[tuple[float, float], ...]

    @property
    def is_flat(self) -> bool:
        """Whether all notes lie on one line, because pitch is not at issue."""
        return self.mirror.of in FLAT_KINDS

    def is_on_axis(self, placed: Placed) -> bool:
        """Say whether a note is its own partner.

        It is if an upright mirror runs through it, and if notes come back in reverse order and it
        is the only one between the innermost pair.
        """
        if self.stands != "upright":
            return False
        is_between = self.mirror.of == "retrograde" and self._between() == (placed.note.index,)
        return is_between or placed.x < self.axis_x < placed.end_x

    def _between(self) -> tuple[int, ...]:
        """List the notes between the innermost partners."""
        paired = [(n.placed.x, n.partner.x) for n in self.notes if n.partner is not None]
        if not paired:
            return ()
        left, right = max(x for x, _ in paired), min(x for _, x in paired)
        shown = [*(n.placed for n in self.notes), *self.others]
        return tuple(p.note.index for p in shown if left < p.x < right)

    def image_back(self, other: Placed) -> Seat:
        """Give the place in the first limb where a note of the second would have its partner."""
        met = [(n.last, n.placed) for n in self.notes if n.partner is not None]
        if self.stands == "level":
            knots = _rising([(seat.onset_x, placed.x) for seat, placed in met])
            start, end = (_through(knots, x, 1.0) for x in (other.x, other.end_x))
        else:
            # Time runs backwards on the far side: places there are counted from right to left.
            ends = [(seat.end_x, -placed.end_x) for seat, placed in met]
            knots = _rising([*ends, *((seat.onset_x, -placed.x) for seat, placed in met)])
            pace = self.mirror.scale if self.draws_in else 1.0
            start, end = (-_through(knots, x, pace) for x in (other.end_x, other.x))
        y = 2 * self.axis_y - other.y if self.stands != "upright" else other.y
        return Seat(onset_x=start, end_x=end, y=y)


def plan_fold(
    study: Study, voices: Voices, mirror: Mirror, room: Box, *, base_y: float, beside_px: float
) -> FoldPlan:
    """Lay out a mirror with its limbs and leave room for the image.

    Args:
        study: what is shown.
        voices: the part of each note.
        mirror: the one that is shown.
        room: of the picture.
        base_y: the line that its masses stand on.
        beside_px: room to be left right of the limbs.
    """
    stands = _stands(mirror)
    start = min(mirror.left.start_quarters, mirror.right.start_quarters)
    end = max(mirror.left.end_quarters, mirror.right.end_quarters)
    is_flat = mirror.of in FLAT_KINDS
    even = is_flat or is_even(study.passage.notes, mirror)
    axis = mirror_quarters(study.passage.notes, mirror, is_even=even)
    reach = end
    if stands != "level":
        reach = max(end, 2 * axis - mirror.left.start_quarters)
    scale = min(
        room.width / float(reach - start),
        (room.width - beside_px) / float(end - start),
        MOST_PX_PER_QUARTER,
    )
    left_notes = limb_notes(voices, mirror, mirror.left, [p.left for p in mirror.pairs])
    right_notes = limb_notes(voices, mirror, mirror.right, [p.right for p in mirror.pairs])
    both = {*left_notes, *right_notes}
    used = max(float(reach - start) * scale, float(end - start) * scale + beside_px)
    contour = Contour(
        passage=study.passage,
        voices=voices,
        span=Span(start, end),
        left=room.left + max((room.width - used) / 2, 0.0),
        px_per_quarter=scale,
        heights=_heights(
            [p for i in both for p in pitches_reached(study.passage.notes[i])],
            mirror,
            has_anchor=Posture.ANCHORS in voices.postures and not is_flat,
            top=room.top + HEAD_PX,
            base_y=base_y,
        ),
    )
    stand_for = lengths_stood_for(voices, mirror)
    placed = {i: _placed(contour, i, stand_for, is_flat=is_flat) for i in both}
    axis_x = contour.x(axis)
    axis_y = contour.heights.y(float(mirror.axis_pitch or 0))
    axes = _Axes(stands=stands, x=axis_x, y=axis_y, scale=mirror.scale, is_flat=is_flat)
    draws_in = stands != "upright" or not even
    if is_flat:
        pairs = [(placed[pair.left], placed[pair.right]) for pair in mirror.pairs]
        draws_in = any(abs(axes.first(a).end_x - b.x) > LATE_PX for a, b in pairs)
    notes = _with_seats(
        [placed[i] for i in left_notes], placed, mirror.pairs, axes, draws_in=draws_in
    )
    bends = stands == "upright" and draws_in and not is_flat
    return FoldPlan(
        mirror=mirror,
        contour=contour,
        room=room,
        stands=stands,
        axis_quarters=axis,
        axis_x=axis_x,
        axis_y=axis_y,
        notes=notes,
        others=tuple(placed[i] for i in right_notes),
        draws_in=draws_in,
        bent=bent_mirror(_middles(notes), axis_x, room.top, base_y) if bends else (),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Axes:
    stands: Upright
    x: float
    y: float
    scale: float
    is_flat: bool

    def first(self, placed: Placed) -> Seat:
        """Give the seat of a note's image after the first movement."""
        if self.stands == "level":
            return Seat(onset_x=placed.x, end_x=placed.end_x, y=2 * self.y - placed.y, y_scale=-1.0)
        return Seat(
            onset_x=2 * self.x - placed.x,
            end_x=2 * self.x - placed.end_x,
            y=placed.y + FLAT_DROP_PX if self.is_flat else placed.y,
        )

    def second(self, placed: Placed, partner: Placed) -> Seat:
        """Give the seat at which an image meets its partner in time."""
        if self.stands == "level":
            x, end = partner.x, partner.end_x
        elif self.is_flat:
            x, end = partner.x + placed.length, partner.x
        else:
            x, end = partner.end_x, partner.x
        flips = self.stands != "upright"
        y = 2 * self.y - placed.y if flips else self.first(placed).y
        return Seat(onset_x=x, end_x=end, y=y, y_scale=-1.0 if flips else 1.0)


def _stands(mirror: Mirror) -> Upright:
    if mirror.of == "inversion" and mirror.axis_pitch is not None:
        return "level"
    if mirror.of == "retrograde_inversion" and mirror.axis_pitch is not None:
        return "both"
    return "upright"


def _heights(
    pitches: Sequence[int], mirror: Mirror, *, has_anchor: bool, top: float, base_y: float
) -> Heights:
    """Fit the notes and, over a level mirror, their images; without pitch all lie on one line."""
    if mirror.axis_pitch is not None:
        twice = int(2 * mirror.axis_pitch)
        pitches = [*pitches, *(twice - pitch for pitch in pitches)]
    heights = heights_for(pitches, top=top, base_y=base_y, has_anchor=has_anchor)
    if mirror.of not in FLAT_KINDS:
        return heights
    upper = (top + base_y - FLAT_DROP_PX) / 2
    return replace(heights, low_y=upper, px_per_semitone=0.0, mark_height=FLAT_MARK_PX)


def _placed(
    contour: Contour, index: int, stand_for: dict[int, Fraction], *, is_flat: bool
) -> Placed:
    """Place a note by its written value: what rings on would run into its neighbours' images.

    What stands for an attack or for a pass does not tell which way the voice goes.
    """
    placed = contour.placed(index)
    note = placed.note
    quarters = min(note.duration_quarters, note.ring_end_quarters - note.onset_quarters)
    posture = placed.posture
    if index in stand_for:
        quarters, posture = stand_for[index], Posture.PLAIN if is_flat else posture
    y = contour.heights.y(contour.heights.low_pitch if note.pitch is None else start_pitch(note))
    return replace(placed, length=float(quarters) * contour.px_per_quarter, y=y, posture=posture)


def _with_seats(
    placed: Sequence[Placed],
    known: dict[int, Placed],
    pairs: Sequence[MirrorPair],
    axes: _Axes,
    *,
    draws_in: bool,
) -> tuple[FoldNote, ...]:
    partner_of = {pair.left: pair for pair in pairs}
    knots: list[tuple[float, float]] = []
    for one in placed:
        pair = partner_of.get(one.note.index)
        if pair is not None:
            folded, met = axes.first(one), axes.second(one, known[pair.right])
            knots += [(folded.onset_x, met.onset_x), (folded.end_x, met.end_x)]
    knots = _rising(knots)
    notes = []
    for one in placed:
        pair = partner_of.get(one.note.index)
        partner = known[pair.right] if pair is not None else None
        first = axes.first(one)
        seats = [Seat(onset_x=one.x, end_x=one.end_x, y=one.y), first]
        if draws_in:
            seats.append(
                axes.second(one, partner) if partner is not None else _carried(first, knots, axes)
            )
        is_flat = axes.is_flat
        notes.append(
            FoldNote(
                placed=one,
                seats=tuple(seats),
                partner=partner,
                semitones_off=0 if pair is None or is_flat else pair.semitones_off,
            )
        )
    return tuple(notes)


def _carried(first: Seat, knots: Sequence[tuple[float, float]], axes: _Axes) -> Seat:
    """Carry an image without a partner along with its neighbours."""
    pace = 1.0 if axes.stands == "level" else 1.0 / axes.scale
    flips = axes.stands == "both"
    return Seat(
        onset_x=_through(knots, first.onset_x, pace),
        end_x=_through(knots, first.end_x, pace),
        y=2 * axes.y - first.y if flips else first.y,
        y_scale=-first.y_scale if flips else first.y_scale,
    )


def _through(knots: Sequence[tuple[float, float]], x: float, pace: float) -> float:
    if not knots:
        return x
    for (xa, to_a), (xb, to_b) in pairwise(knots):
        if xa <= x <= xb:
            return to_a if xb == xa else to_a + (to_b - to_a) * (x - xa) / (xb - xa)
    edge, to_edge = knots[0] if x < knots[0][0] else knots[-1]
    return to_edge + (x - edge) * pace


def _rising(knots: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Keep the knots that rise on both sides, so that nothing is carried backwards."""
    kept: list[tuple[float, float]] = []
    for x, to_x in sorted(set(knots)):
        if not kept or (x > kept[-1][0] and to_x >= kept[-1][1]):
            kept.append((x, to_x))
    return kept


def _middles(notes: Sequence[FoldNote]) -> list[tuple[float, float]]:
    """Give the points halfway in time and height between partners, from the axis outwards."""
    return [
        (
            (n.placed.middle_x + n.partner.middle_x) / 2,
            (n.placed.y + n.partner.y) / 2,
        )
        for n in reversed(notes)
        if n.partner is not None
    ]
