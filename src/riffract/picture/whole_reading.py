"""The ray of the whole: which note it reads when, and how it runs to its partner and the clock."""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from riffract.essay.shots import Shot
from riffract.music import Passage
from riffract.picture.bent_mirror import mirror_x
from riffract.picture.hearing import heard_attacks
from riffract.picture.marks import Colour, Mark, Role, Shape, Stroke, circle, polyline
from riffract.picture.motion import moved_share
from riffract.picture.pitch_ways import start_semitone
from riffract.picture.scene import shown_share
from riffract.picture.string_view import StringRow, number_centre
from riffract.picture.voices import Voices
from riffract.picture.whole_plan import WholePlan, Window, written

LEAST_REST_SECONDS: Final = 1 / 3
"""The ray rests this long at least; in faster runs it reads each beat's first note only."""

GO_SECONDS: Final = 0.24
GONE_AFTER_SECONDS: Final = 0.5
RING_PX: Final = 24.0
INSET_PX: Final = 8.0
RAY_PX, DIAMOND_PX = 2.4, 12.0
DASH: Final = (7.0, 6.0)

Point = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """A note that is read, from one moment of the shot to another."""

    note: int
    start_seconds: float
    end_seconds: float


def targets_of(passage: Passage, shot: Shot, voices: Voices) -> tuple[Target, ...]:
    """List what the ray reads: notes of the moving voice, with time to rest on each."""
    lead = frozenset(voices.lead)
    chosen: list[tuple[int, float, float]] = []
    before_seconds = float("-inf")
    for heard in heard_attacks(shot, tuple(passage.notes), voices.attacks):
        note = next((i for i in heard.audible if i in lead), None)
        if note is None:
            continue
        is_quick = heard.start_seconds - before_seconds < LEAST_REST_SECONDS
        before_seconds = heard.start_seconds
        rested = not chosen or heard.start_seconds - chosen[-1][1] >= LEAST_REST_SECONDS
        if rested and (not is_quick or _starts_a_beat(passage, note)):
            chosen.append((note, heard.start_seconds, heard.end_seconds))
        elif chosen:
            last_note, start, _ = chosen[-1]
            chosen[-1] = (last_note, start, heard.end_seconds)
    ends = [*(start for _, start, _ in chosen), float("inf")][1:]
    return tuple(
        Target(
            note=note,
            start_seconds=start,
            end_seconds=min(following, end + GONE_AFTER_SECONDS),
        )
        for (note, start, end), following in zip(chosen, ends, strict=True)
    )


def target_at(targets: Sequence[Target], seconds: float) -> int | None:
    """Give the index of what is read at a moment; `None` if nothing is."""
    index = bisect_right([t.start_seconds for t in targets], seconds) - 1
    if index < 0 or seconds >= targets[index].end_seconds:
        return None
    return index


@dataclass(frozen=True, slots=True, kw_only=True)
class Stations:
    """Where the ray passes for one note.

    Attributes:
        note: in the contour.
        number: of its fret number; `None` if its row is not seen.
        elbow: heights between which the plumb line runs aslant.
        leaves_number: whether the ray leaves from the fret number, since the panel lies below.
        edge: of the glass panel.
        clock: its point on the clock.
        mirror: where it meets the mirror; `None` if the note has no partner.
        partner: that note.
        is_off: whether they miss in pitch.
    """

    note: Point
    number: Point | None
    elbow: tuple[float, float]
    leaves_number: bool
    edge: Point
    clock: Point
    mirror: Point | None
    partner: Point | None
    is_off: bool


def stations_of(
    index: int, window: Window, row: StringRow, plan: WholePlan, voices: Voices
) -> Stations:
    """Find where the ray passes for a note in a window."""
    contour = window.contour
    placed = contour.placed(index)
    note = (placed.x + INSET_PX, placed.y)
    shown = row.span.holds(placed.note.onset_quarters)
    pitch = start_semitone(placed.note) or 0
    mirror, partner, is_off = None, None, False
    if window.mirror is not None and index in window.mirror.partners:
        pair = window.mirror.partners[index]
        other = written(contour, pair.right if index == pair.left else pair.left)
        mirror = (mirror_x(window.mirror.points, placed.y), placed.y)
        partner = (other.x + INSET_PX, other.y)
        is_off = pair.semitones_off != 0
    number = number_centre(voices, row, placed.note) if shown else None
    leaves_number = plan.is_stacked and number is not None
    beside = (note[0], plan.panel.top) if plan.is_stacked else (plan.panel.left, placed.y)
    return Stations(
        note=note,
        number=number,
        elbow=(contour.heights.base_y + 12.0, row.top - 0.9 * row.fret_size),
        leaves_number=leaves_number,
        edge=(number[0], plan.panel.top) if leaves_number and number else beside,
        clock=plan.face.at(pitch % 12),
        mirror=mirror,
        partner=partner,
        is_off=is_off,
    )


def ray_marks(
    now: Stations, before: Stations | None, since_seconds: float, fret_size: float
) -> list[Mark]:
    """Draw plumb line and ray on their way to a note; mirror and partner once they have come."""
    share = moved_share(since_seconds, 0.0, GO_SECONDS)
    can_go = before is not None and (before.number is None) == (now.number is None)
    came = before if before is not None and can_go and share < 1.0 else None
    note = _between(came.note, now.note, share) if came else now.note
    edge = _between(came.edge, now.edge, share) if came else now.edge
    clock = _between(came.clock, now.clock, share) if came else now.clock
    number = now.number
    if came is not None and came.number is not None and now.number is not None:
        number = _between(came.number, now.number, share)
    arrived = 1.0 if before is None and since_seconds > 1.0 else share
    white = Stroke(colour=Colour(Role.TEXT), width=RAY_PX)
    marks: list[Mark] = []
    marks.append(Shape(path=circle(*note, RING_PX), stroke=white))
    if number is not None:
        marks += _plumb(note, number, now.elbow, fret_size, white)
    start = (note[0] + RING_PX, note[1])
    if now.leaves_number and number is not None:
        start = (number[0], number[1] + 0.86 * fret_size)
        edge = (number[0], edge[1])
    marks.append(Shape(path=polyline([start, edge, clock]), stroke=white))
    marks.append(Shape(path=circle(*edge, 5.0), fill=Colour(Role.TEXT)))
    marks.append(Shape(path=circle(*clock, 11.0), fill=Colour(Role.TEXT)))
    marks.append(Shape(path=circle(*clock, 21.0), stroke=white))
    if arrived >= 1.0 and now.mirror is not None and now.partner is not None:
        shown = shown_share(since_seconds - GO_SECONDS, 0.15) if before is not None else 1.0
        marks += _partner(now, shown)
    return marks


def _plumb(
    note: Point, number: Point, elbow: tuple[float, float], fret_size: float, stroke: Stroke
) -> list[Mark]:
    """Drop a plumb line from the contour to the fret number, aslant where they are not in line."""
    radius = 0.86 * fret_size
    end = (number[0], number[1] - radius)
    way: list[Point] = [(note[0], note[1] + RING_PX)]
    if abs(note[0] - number[0]) > 30.0:
        way += [(note[0], elbow[0]), (number[0], elbow[1])]
    else:
        way = [(number[0], note[1] + RING_PX)]
    thin = Stroke(colour=Colour(Role.TEXT, 0.75), width=1.8)
    marks: list[Mark] = []
    if end[1] > way[0][1]:
        marks.append(Shape(path=polyline([*way, end]), stroke=thin))
    return [*marks, Shape(path=circle(*number, radius), stroke=stroke)]


def _partner(now: Stations, shown: float) -> list[Mark]:
    """Draw the way by the mirror to the partner, kinked and dashed where they miss."""
    assert now.mirror is not None
    assert now.partner is not None
    role = Role.BEND if now.is_off else Role.TEXT
    x, y = now.partner
    corners = [
        (x, y - DIAMOND_PX),
        (x + DIAMOND_PX, y),
        (x, y + DIAMOND_PX),
        (x - DIAMOND_PX, y),
    ]
    white = Stroke(colour=Colour(Role.TEXT, shown), width=RAY_PX)
    colour = Colour(role, shown)
    second = Stroke(colour=colour, width=RAY_PX, dash=DASH if now.is_off else ())
    way = [now.mirror, now.partner]
    return [
        Shape(path=polyline([now.note, now.mirror]), stroke=white),
        Shape(path=polyline(way), stroke=second),
        Shape(path=circle(*now.mirror, 6.0), fill=Colour(Role.TEXT, shown)),
        Shape(
            path=polyline(corners, closed=True),
            fill=Colour(Role.GROUND, shown),
            stroke=Stroke(colour=colour, width=2.8),
        ),
    ]


def _starts_a_beat(passage: Passage, note: int) -> bool:
    """Say whether a note starts a beat: a group of the metre, or a unit where none are told."""
    onset = passage.notes[note].onset_quarters
    bar = passage.bar_at(onset)
    units = (onset - bar.start_quarters) / bar.metre.unit_quarters
    groups = bar.metre.groups
    if len(groups) == 1:
        return units.denominator == 1
    return units in {sum(groups[:i]) for i in range(len(groups))}


def _between(a: Point, b: Point, share: float) -> Point:
    return (a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share)
