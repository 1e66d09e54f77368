"""The parts of a thread: as much of the ringing string and the voice as finds room, with names."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Final

from riffract.analysis.finding import Colour as DroneColour
from riffract.analysis.finding import Drone
from riffract.analysis.saying import say
from riffract.analysis.spelling import pitch_spelled
from riffract.music import Span
from riffract.picture.bounds import Box, around, bounds_of
from riffract.picture.contour_view import Contour, Heights, Placed, contour_marks
from riffract.picture.fabric import Weave, fabric_marks, name_of, weave_of
from riffract.picture.layout import Layout, label
from riffract.picture.marks import Colour, Group, Mark, Role, Words, rectangle
from riffract.picture.placing import first_free
from riffract.picture.string_mark import LIT, Light
from riffract.picture.string_view import sound_end
from riffract.picture.type import CAP_HEIGHT_SHARE, text_width
from riffract.picture.voices import Voices, drone_letter
from riffract.weighing.study import Study

MOST_NOTES, NARROW_MOST_NOTES = 16, 14
"""How many notes of the moving voice are shown at once, so that each finds room for its name."""

MOST_PX_PER_QUARTER, MOST_PX_PER_SEMITONE = 420.0, 60.0
FEWEST_SEMITONES: Final = 8
HEAD_PX, FOOT_PX = 64.0, 76.0
LAST_NAME_PX: Final = 150.0
"""Room right of the last note at least, so that its name need not go back over the others."""

EDGE_NAMES: Final = 3
MOST_EDGE_SHARE: Final = 0.2
"""Of the width, what may be left free at an edge for the names of a climb or a fall."""

NAME_AIR_PX, STRING_NAME_AIR_PX = 12.0, 18.0
NEARER_PX: Final = 6.0
"""A name is taken for that of another note if that one is nearer by more than this."""

TIP_LIFT, OVER_LIFT = 1.9, 1.2
"""How far the name of an outermost note stands beyond it, over the height of a capital; and that of
another note that is long enough for it, if there it is clear of the string."""

LONGEST_LEAD_IN_QUARTERS: Final = Fraction(2)


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """What is seen at once.

    Attributes:
        contour: the stretch, true to time.
        drone_y: where the ringing string lies that the voice is set against.
        colours: its intervals with the moving voice there.
        voice: the moving voice's notes.
        strokes: those of all ringing strings that sound there; some began before.
        names: the interval's name at each note of the voice that finds room for it.
        string_names: what the ringing strings are called, as far as there is room.
    """

    contour: Contour
    drone_y: float
    colours: tuple[DroneColour, ...]
    voice: tuple[Placed, ...]
    strokes: tuple[Placed, ...]
    names: Mapping[int, Words]
    string_names: tuple[Words, ...]

    def placed(self, note: int) -> Placed:
        """Place a note."""
        return self.contour.placed(note)

    def starts_here(self, placed: Placed) -> bool:
        """Say whether a note is struck here; a string may ring on from before."""
        return self.contour.holds(placed.note.index)

    def marks_of(self, placed: Placed, light: Light) -> tuple[Mark, ...]:
        """Draw a note; of one that was struck before only what is heard here."""
        return _marks_of(self.contour, placed, light)

    def fabric(self, colour: DroneColour) -> tuple[Mark, ...]:
        """Draw the fabric between the string and a note."""
        return fabric_marks(weave_of(colour.semitones), self.fabric_box(colour))

    def fabric_box(self, colour: DroneColour) -> Box:
        """Give the room between the string and a note, while both sound."""
        placed = self.placed(colour.note)
        following = [p.x for p in self.voice if p.x > placed.x + 0.5]
        end = min([placed.end_x, *following[:1]])
        top, bottom = sorted((placed.y, self.drone_y))
        return Box(
            left=placed.x + 1.0, top=top, right=max(end - 1.0, placed.x + 6.0), bottom=bottom
        )


def thread_parts(study: Study, voices: Voices, drone: Drone, layout: Layout) -> tuple[Part, ...]:
    """Cut a drone's colours into parts that each fill the page; at least one, even without any."""
    room = layout.picture_above_note
    heights = _heights(study, drone, voices, layout)
    most = NARROW_MOST_NOTES if layout.page.is_narrow else MOST_NOTES
    groups = _groups(drone.colours, voices, most)
    spans = [_span_of(study, voices, group) for group in groups] or [study.passage.span]
    parts = []
    for span, colours in zip(spans, groups or [()], strict=True):
        length = float(span.length_quarters)
        first_px, last_px = _edge_names_px(colours, span, room.width / length, layout)
        scale = min((room.width - first_px - last_px) / length, MOST_PX_PER_QUARTER)
        width = first_px + length * scale + last_px
        contour = Contour(
            passage=study.passage,
            voices=voices,
            span=span,
            left=room.left + (room.width - width) / 2 + first_px,
            px_per_quarter=scale,
            heights=heights,
        )
        parts.append(_named(contour, tuple(colours), drone, layout))
    return tuple(parts)


def _groups(
    colours: Sequence[DroneColour], voices: Voices, most: int
) -> list[tuple[DroneColour, ...]]:
    """Gather colours into parts of a limb or more, none with more notes than can be named."""
    limb_of = {note: i for i, limb in enumerate(voices.limbs) for note in limb.notes}
    runs: list[list[DroneColour]] = []
    for colour in colours:
        is_same = bool(runs) and limb_of.get(runs[-1][-1].note) == limb_of.get(colour.note)
        if is_same and len(runs[-1]) < most:
            runs[-1].append(colour)
        else:
            runs.append([colour])
    groups: list[list[DroneColour]] = []
    for run in runs:
        if groups and len(groups[-1]) + len(run) <= most:
            groups[-1] += run
        else:
            groups.append(run)
    return [tuple(group) for group in groups]


def _edge_names_px(
    colours: Sequence[DroneColour], span: Span, most_scale: float, layout: Layout
) -> tuple[float, float]:
    """Tell how far names would reach beyond both edges, to a limit: left of a climb, right of a
    fall.
    """
    scale = min(most_scale * (1.0 - 2 * MOST_EDGE_SHARE), MOST_PX_PER_QUARTER)
    climbs = [(a, a.at_quarters - span.start_quarters) for a, b in pairwise(colours) if _out(a, b)]
    ends = [*(colour.at_quarters for colour in colours[2:]), span.end_quarters]
    falls = [
        (b, span.end_quarters - end)
        for (a, b), end in zip(pairwise(colours), ends, strict=False)
        if _out(b, a)
    ]
    longest = [
        max(
            (
                text_width(name_of(colour.semitones), layout.sizes.label, 500)
                + 2 * NAME_AIR_PX
                - float(distance) * scale
                for colour, distance in edge
            ),
            default=0.0,
        )
        for edge in (climbs[:EDGE_NAMES], falls[-EDGE_NAMES:])
    ]
    first, last = (min(px, layout.picture.width * MOST_EDGE_SHARE) for px in longest)
    return max(first, 0.0), max(last, LAST_NAME_PX)


def _out(colour: DroneColour, after: DroneColour) -> bool:
    """Whether the voice moves away from the string."""
    return abs(after.semitones) > abs(colour.semitones)


def _span_of(study: Study, voices: Voices, colours: Sequence[DroneColour]) -> Span:
    """Give the stretch of some colours, from the stroke of the string that they sound over."""
    notes = study.passage.notes
    first, last = colours[0].at_quarters, notes[colours[-1].note]
    strokes = [notes[i].onset_quarters for i in sorted(voices.drone_notes)]
    before = [onset for onset in strokes if onset <= first]
    is_near = bool(before) and first - before[-1] <= LONGEST_LEAD_IN_QUARTERS
    return Span(before[-1] if is_near else first, max(last.end_quarters, first))


def _heights(study: Study, drone: Drone, voices: Voices, layout: Layout) -> Heights:
    room, pitch = layout.picture_above_note, study.passage.notes.pitch
    pitches = [int(pitch[c.note]) for c in drone.colours]
    pitches += [drone.pitch, *(one.pitch for one in voices.drones)]
    low, high = min(pitches), max(pitches)
    height = room.height - HEAD_PX - FOOT_PX
    scale = min(height / max(high - low, FEWEST_SEMITONES), MOST_PX_PER_SEMITONE)
    low_y = room.bottom - FOOT_PX - (height - (high - low) * scale) / 2
    return Heights(
        base_y=room.bottom,
        # The voice may touch the lowest open string; it is a pitch like any other here.
        anchor_y=low_y - (study.passage.tuning.lowest_pitch - low) * scale,
        low_pitch=low,
        low_y=low_y,
        px_per_semitone=scale,
        mark_height=min(30.0, max(scale * 0.95, 14.0)),
    )


def _named(
    contour: Contour, colours: tuple[DroneColour, ...], drone: Drone, layout: Layout
) -> Part:
    """Place the names where neither notes nor fabric nor other names stand."""
    voice = tuple(contour.placed(c.note) for c in colours)
    part = Part(
        contour=contour,
        drone_y=contour.heights.y(drone.pitch),
        colours=colours,
        voice=voice,
        strokes=tuple(_strokes(contour)),
        names={},
        string_names=(),
    )
    boxes = [part.fabric_box(c) for c in colours if weave_of(c.semitones) is not Weave.SOLID]
    taken = [*boxes, *_boxes(contour, (*voice, *part.strokes))]
    own_boxes = _boxes(contour, voice)
    names: dict[int, Words] = {}
    before = ""
    for place, (colour, placed) in enumerate(zip(colours, voice, strict=True)):
        name = name_of(colour.semitones)
        if name == before:
            continue
        before = name
        beside = (*voice[max(place - 1, 0) : place], *voice[place + 1 : place + 2])
        outwards = 1.0 if colour.semitones < 0 else -1.0
        is_tip = all(outwards * (placed.y - p.y) > 0.0 for p in beside)
        others = [box for p, box in zip(voice, own_boxes, strict=True) if p is not placed]
        places = _name_places(colour, placed, layout, is_tip=is_tip)
        words = first_free(
            (words for words in places if _is_beside(words, own_boxes[place], others)),
            taken,
            within=layout.picture_above_note,
        )
        if words is not None:
            names[colour.note] = words
            taken += [box for box in [bounds_of(words)] if box is not None]
    return Part(
        contour=contour,
        drone_y=part.drone_y,
        colours=colours,
        voice=voice,
        strokes=part.strokes,
        names=names,
        string_names=_string_names(part, drone, taken, layout),
    )


def _strokes(contour: Contour) -> Iterator[Placed]:
    """Place the strokes of ringing strings that sound in a stretch, by time on each string."""
    notes, span = contour.passage.notes, contour.span
    for index in sorted(contour.voices.ringing_notes):
        note = notes[index]
        if note.onset_quarters < span.end_quarters and sound_end(note) > span.start_quarters:
            yield contour.placed(index)


def _marks_of(contour: Contour, placed: Placed, light: Light) -> tuple[Mark, ...]:
    marks = contour_marks(placed, contour.heights, light)
    if placed.x >= contour.left:
        return marks
    height = contour.heights.mark_height
    window = rectangle(
        contour.left, placed.y - height, contour.right - contour.left + 1.0, 2.0 * height
    )
    return (Group(marks=marks, clip=window),)


def _is_beside(words: Words, own: Box, others: Sequence[Box]) -> bool:
    """Whether a name is seen as that of its note: no other one is much nearer."""
    box = bounds_of(words)
    assert box is not None
    nearest = min((_apart(box, other) for other in others), default=float("inf"))
    return _apart(box, own) <= nearest + NEARER_PX


def _apart(one: Box, other: Box) -> float:
    """Tell how far two boxes are from each other, px."""
    across = max(one.left - other.right, other.left - one.right, 0.0)
    along = max(one.top - other.bottom, other.top - one.bottom, 0.0)
    return float((across**2 + along**2) ** 0.5)


def _boxes(contour: Contour, placed: Sequence[Placed]) -> list[Box]:
    drawn = [_marks_of(contour, p, LIT) for p in placed]
    boxes = [around(b for b in map(bounds_of, marks) if b is not None) for marks in drawn]
    return [box for box in boxes if box is not None]


def _name_places(
    colour: DroneColour, placed: Placed, layout: Layout, *, is_tip: bool
) -> list[Words]:
    """List places for an interval's name: on the far side of the note from the string first.

    A name that is no longer than its note stands over its middle, and so does that of a note that
    sticks out beyond its neighbours: beside it, it would seem to be that of the next one.
    """
    size = layout.sizes.label
    name = name_of(colour.semitones)
    width = text_width(name, size, 500)
    cap = size * CAP_HEIGHT_SHARE
    right, left = placed.end_x + 14.0, placed.x - width - NAME_AIR_PX
    outwards = -1.0 if colour.semitones >= 0 else 1.0
    lifts = (0.0, 0.9, 1.9, 2.9, 3.9) if outwards < 0 else (1.4, 0.0, 2.4, 3.4, 4.4)
    sides = (right, left) if outwards < 0 else (left, right)
    level = placed.y + cap / 2
    places = [(x, level + outwards * lift * cap) for lift in lifts for x in sides]
    middle = (placed.x + placed.end_x - width) / 2
    over = [(middle, level + outwards * lift * cap) for lift in (OVER_LIFT, TIP_LIFT)]
    if is_tip:
        places = [*over[1:], *places]
    elif width <= placed.end_x - placed.x:
        places = [*over, *places]
    places += [(placed.x, level + outwards * lift * cap) for lift in (2.2, 3.4)]
    places += [(x, level - outwards * 1.5 * cap) for x in sides]
    return [label(layout, x, y, name) for x, y in places]


def _string_names(
    part: Part, drone: Drone, taken: Sequence[Box], layout: Layout
) -> tuple[Words, ...]:
    """Name the ringing strings, that which the voice is set against first; all in one form.

    Where not all find room for words, they are told by their pitches.
    """
    others = (one for one in part.contour.voices.drones if one.string != drone.string)
    drones = (drone, *others)
    found: list[Words] = []
    for is_short in (False, True):
        found = []
        for one in drones:
            named = [box for box in map(bounds_of, found) if box is not None]
            words = _string_name(part, one, (*taken, *named), layout, is_short=is_short)
            found += [] if words is None else [words]
        if len(found) == len(drones):
            break
    return tuple(found)


def _string_name(
    part: Part, drone: Drone, taken: Sequence[Box], layout: Layout, *, is_short: bool
) -> Words | None:
    """Name a string beside its line, as far right as there is room."""
    voices, size = part.contour.voices, layout.sizes.caption
    name = drone_letter(voices, drone)
    text = say("{note}, ringing", note=name)
    if drone.is_open:
        text = say("open {note}, ringing", note=name)
    if is_short:
        text = pitch_spelled(drone.pitch, voices.names)
    level, beside = _string_name_places(part, drone, text_width(text, size, 600), layout)
    candidates = [
        Words(x=x, y=y, text=text, size=size, weight=600, colour=Colour(Role.DRONE))
        for x, y in (level if is_short else (*beside, *level))
    ]
    return first_free(candidates, taken, within=layout.picture_above_note, air=STRING_NAME_AIR_PX)


def _string_name_places(
    part: Part, drone: Drone, width: float, layout: Layout
) -> tuple[list[tuple[float, float]], list[tuple[float, float]]]:
    """List places for a string's name: behind and before its line; above and below it."""
    y, size = part.contour.heights.y(drone.pitch), layout.sizes.caption
    lift, cap = 1.1 * size, size * CAP_HEIGHT_SHARE
    own = [placed for placed in part.strokes if placed.y == y]
    level = []
    if own:
        behind = max(placed.end_x for placed in own) + 1.2 * STRING_NAME_AIR_PX
        first = max(min(placed.x for placed in own), part.contour.left)
        before = first - width - 1.2 * STRING_NAME_AIR_PX
        level = [(behind, y + cap / 2), (before, y + cap / 2)]
    ends = [part.contour.right - step * 60.0 for step in range(28)]
    beside = [
        (end - width, y + offset)
        for offset in (-lift, lift + cap, -1.4 * lift, -2.2 * lift)
        for end in ends
        if end - width >= layout.left
    ]
    return level, beside
