"""The ray of the whole: which note it reads when, and how it runs to its partner and the clock."""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import accumulate
from typing import Final

from riffract.essay.shots import Shot
from riffract.music import Passage
from riffract.picture.bent_mirror import mirror_x
from riffract.picture.hearing import heard_attacks
from riffract.picture.marks import Colour, Mark, Role, Shape, Stroke, circle, polyline
from riffract.picture.motion import moved_share
from riffract.picture.pitch_ways import start_semitone
from riffract.picture.string_view import StringRow, number_centre
from riffract.picture.voices import Voices
from riffract.picture.whole_plan import WholePlan, Window, written

LEAST_REST_SECONDS: Final = 1 / 3
"""From one note that is read to the next at least; what is faster is read by its beats."""

ALIKE_SECONDS: Final = 1e-6
"""Moments this close are one: eighths at three a second lie 1/3 s apart but for a rounding."""

GO_SECONDS: Final = 0.24
MOST_ON_THE_WAY_SHARE: Final = 0.5
"""Of the time between two notes, for which the ray is on its way at most."""

GONE_AFTER_SECONDS: Final = 0.5
RING_PX: Final = 24.0
INSET_PX: Final = 8.0
RAY_PX, DIAMOND_PX = 2.4, 12.0
DASH: Final = (7.0, 6.0)

Point = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """A note that is read, from one moment of the shot to another.

    Attributes:
        note: which.
        leaves_seconds: when the ray leaves the note before; `start_seconds` if it comes from none.
        start_seconds: when it is heard; the ray lands on it at that moment.
        end_seconds: when the ray leaves it, or is gone.
    """

    note: int
    leaves_seconds: float
    start_seconds: float
    end_seconds: float

    def way_share(self, seconds: float) -> float:
        """Tell how far the ray has come on its way here at a moment, 0..1."""
        if seconds >= self.start_seconds:
            return 1.0
        return moved_share(seconds, self.leaves_seconds, self.start_seconds - self.leaves_seconds)


def targets_of(passage: Passage, shot: Shot, voices: Voices) -> tuple[Target, ...]:
    """List what the ray reads: notes of the moving voice, with time to rest on each.

    Where there is no time for all, the beat is read rather than what stands between the beats. The
    ray leaves early enough to land on each note as it sounds.
    """
    lead = frozenset(voices.lead)
    heard = [
        (note, each)
        for each in heard_attacks(shot, tuple(passage.notes), voices.attacks)
        for note in [i for i in each.audible if i in lead][:1]
    ]
    starts = [each.start_seconds for _, each in heard]
    chosen = _read(starts, [_starts_a_beat(passage, note) for note, _ in heard])
    targets: list[Target] = []
    for k, place in enumerate(chosen):
        note, each = heard[place]
        following = chosen[k + 1] if k + 1 < len(chosen) else len(heard)
        rests_until = heard[following - 1][1].end_seconds + GONE_AFTER_SECONDS
        leaves = each.start_seconds
        if targets:
            before = targets[-1]
            since = each.start_seconds - before.start_seconds
            leaves -= min(GO_SECONDS, MOST_ON_THE_WAY_SHARE * since)
            if before.end_seconds < leaves:
                leaves = each.start_seconds
            targets[-1] = replace(before, end_seconds=min(before.end_seconds, leaves))
        targets.append(
            Target(
                note=note,
                leaves_seconds=leaves,
                start_seconds=each.start_seconds,
                end_seconds=rests_until,
            )
        )
    return tuple(targets)


def _read(starts: Sequence[float], on_beat: Sequence[bool]) -> list[int]:
    """Choose what is read of some notes: beats first, then what there is time for between them."""
    least = LEAST_REST_SECONDS - ALIKE_SECONDS
    is_quick = [i > 0 and start - starts[i - 1] < least for i, start in enumerate(starts)]
    beats = [i for i in range(len(starts)) if on_beat[i]]
    others = [i for i in range(len(starts)) if not on_beat[i] and not is_quick[i]]
    chosen: list[int] = []
    for i in (*beats, *others):
        place = bisect_left(chosen, i)
        near = [*chosen[max(place - 1, 0) : place], *chosen[place : place + 1]]
        if all(abs(starts[i] - starts[k]) >= least for k in near):
            chosen.insert(place, i)
    return chosen


def target_at(targets: Sequence[Target], seconds: float) -> int | None:
    """Give the index of what is read, or gone to, at a moment; `None` if nothing is."""
    index = bisect_right([t.leaves_seconds for t in targets], seconds) - 1
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
        is_underway: whether it is between two notes.
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
    is_underway: bool = False


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


def on_the_way(before: Stations, now: Stations, share: float) -> Stations | None:
    """Find where the ray passes between two notes; `None` if only one of them is in the row."""
    number: Point | None = None
    if before.number is not None and now.number is not None:
        number = _between(before.number, now.number, share)
    elif before.number is not None or now.number is not None:
        return None
    return replace(
        now,
        note=_between(before.note, now.note, share),
        number=number,
        edge=_between(before.edge, now.edge, share),
        clock=_between(before.clock, now.clock, share),
        mirror=None,
        partner=None,
        is_underway=True,
    )


def ray_marks(at: Stations, fret_size: float, *, partner_share: float = 1.0) -> list[Mark]:
    """Draw plumb line and ray; mirror and partner as far as they have come up."""
    edge, number = at.edge, at.number
    white = Stroke(colour=Colour(Role.TEXT), width=RAY_PX)
    marks: list[Mark] = [Shape(path=circle(*at.note, RING_PX), stroke=white)]
    if number is not None:
        marks += _plumb(at, number, fret_size, white)
    start = (at.note[0] + RING_PX, at.note[1])
    if at.leaves_number and number is not None:
        start = (number[0], number[1] + 0.86 * fret_size)
        edge = (number[0], edge[1])
    marks.append(Shape(path=polyline([start, edge, at.clock]), stroke=white))
    marks.append(Shape(path=circle(*edge, 5.0), fill=Colour(Role.TEXT)))
    marks.append(Shape(path=circle(*at.clock, 11.0), fill=Colour(Role.TEXT)))
    marks.append(Shape(path=circle(*at.clock, 21.0), stroke=white))
    if at.mirror is not None and at.partner is not None and partner_share > 0.0:
        marks += _partner(at, partner_share)
    return marks


def _plumb(at: Stations, number: Point, fret_size: float, stroke: Stroke) -> list[Mark]:
    """Drop a plumb line from the contour to the fret number, aslant where they are not in line."""
    note, elbow = at.note, at.elbow
    radius = 0.86 * fret_size
    end = (number[0], number[1] - radius)
    way: list[Point] = [(note[0], note[1] + RING_PX)]
    if abs(note[0] - number[0]) > 30.0:
        way += [(note[0], elbow[0]), (number[0], elbow[1])]
    else:
        way = [(number[0], note[1] + RING_PX)]
    # Fainter on its way, when it crosses numbers that are still dim.
    alpha = 0.45 if at.is_underway else 0.75
    thin = Stroke(colour=Colour(Role.TEXT, alpha), width=1.8)
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
    """Say whether a note starts a beat of its metre; a bar longer than that counts on from 0."""
    onset = passage.notes[note].onset_quarters
    bar = passage.bar_at(onset)
    units = (onset - bar.start_quarters) / bar.metre.unit_quarters
    return units % bar.metre.units in {0, *accumulate(bar.metre.beats)}


def _between(a: Point, b: Point, share: float) -> Point:
    return (a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share)
