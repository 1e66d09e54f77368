"""The stack scene: the passes under one another, in step, so that departures stand out."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Final

from riffract.analysis.attacks import Attack
from riffract.analysis.finding import Kind, Passes, Reading
from riffract.analysis.saying import say, say_count
from riffract.analysis.wording import listed
from riffract.essay.shots import Shot
from riffract.picture.bounds import Box, around, bounds_of
from riffract.picture.contour_view import (
    Placed,
    base_line,
    contour_marks,
    mass_marks,
    mass_path,
)
from riffract.picture.departures import Departure
from riffract.picture.hearing import moment_heard_seconds, now_heard
from riffract.picture.layout import APPEAR_SECONDS, Layout, captions, claim_marks, label, layout_of
from riffract.picture.marks import (
    Colour,
    Mark,
    Path,
    Role,
    Shape,
    Stroke,
    Words,
    polyline,
    rectangle,
)
from riffract.picture.now_ring import now_ring
from riffract.picture.placing import first_free
from riffract.picture.scene import Cue, Page, Scene
from riffract.picture.stack_rows import StackRow, note_of, notes_of, stack_rows
from riffract.picture.string_mark import FAINT, LIT, Light, Posture
from riffract.picture.type import CAP_HEIGHT_SHARE, text_width
from riffract.picture.voices import Voices, chosen, voices_of
from riffract.weighing.study import Study

NUMBER_SIZE: Final = 44.0
LABELS_PX: Final = 150.0
BEND_PX: Final = 2.8
DASH: Final = (7.0, 6.0)
DOTS: Final = (2.5, 7.0)
NOW_RADIUS_PX: Final = 24.0
NOW_INSET_PX: Final = 8.0
MOST_NAMED: Final = 4
MOST_DIAMOND_PX: Final = 76.0
RINGING_SHARE: Final = 0.4
"""How tall the ringing string is beside the moving voice, whose departures are to be seen."""
LIT_OVER_FAINT: Final = Light(1.0, 1.0, under=FAINT.marks)


def stack_scene(study: Study, shot: Shot, page: Page) -> Scene:
    """Show how each pass departs from the riff.

    Raises:
        ValueError: if the study has no passes to show.
    """
    finding = chosen(study, shot, Kind.PASSES)
    if finding is None or not isinstance(finding.what, Passes):
        raise ValueError("a stack needs a finding of the kind `passes`, and the study has none")
    reading = finding.what.readings[0]
    layout = layout_of(shot, page)
    voices = voices_of(study, shot)
    room = layout.picture_above_note
    room = Box(left=room.left + LABELS_PX, top=room.top, right=room.right, bottom=room.bottom)
    rows = stack_rows(study.passage, voices, reading, shot, room)
    ground: list[Mark] = [*claim_marks(layout), *_note_line(rows, reading, layout)]
    for row in rows:
        ground += _standing(row, layout)
    cues = []
    for departure, marks in _departures(rows, voices, layout):
        if not shot.plays:
            ground += marks
            continue
        # What is not played is marked when all that is has been heard.
        last = shot.plays[-1]
        heard = moment_heard_seconds(shot, departure.start_quarters)
        at = last.at_seconds + last.length_seconds if heard is None else heard
        cues.append(Cue(at_seconds=at, marks=marks, fade_seconds=APPEAR_SECONDS))
    now, speak = _now(study, shot, voices, rows), captions(layout, shot.lines)
    return Scene(
        page=page,
        ground=tuple(ground),
        cues=tuple(sorted(cues, key=lambda cue: cue.at_seconds)),
        length_seconds=shot.length_seconds,
        description=_description(rows),
        moving=lambda seconds: (*now(seconds), *speak(seconds)),
        places=lambda _seconds: {
            p.note.index: (p.x + NOW_INSET_PX, p.y) for row in rows for p in row.notes
        },
    )


def _standing(row: StackRow, layout: Layout) -> list[Mark]:
    """Draw a row: masses, notes, its name; a repeat is faint."""
    light = LIT if row.is_model or row.is_tag else FAINT
    marks: list[Mark] = [base_line(row.box.left, row.box.right, row.box.bottom)]
    for posture, notes in row.limbs:
        marks += mass_marks(notes, posture, row.heights.base_y, light)
    ringing = [placed for placed in row.notes if placed.posture is Posture.RINGS]
    others = [placed for placed in row.notes if placed.posture is not Posture.RINGS]
    for placed in (*ringing, *others):
        marks += _note_marks(row, placed, light)
    for start, end in row.empty_slots:
        if any(placed.x < end and placed.end_x > start for placed in others):
            continue
        line = polyline([(start + 6.0, row.heights.anchor_y), (end - 6.0, row.heights.anchor_y)])
        stroke = Stroke(colour=Colour(Role.STRING), width=2.5, dash=DOTS)
        marks.append(Shape(path=line, stroke=stroke))
    if row.is_tag:
        marks += _tag_bracket(row, layout)
    return [*marks, *_name(row, layout)]


def _note_marks(row: StackRow, placed: Placed, light: Light) -> tuple[Shape, ...]:
    heights = row.heights
    if placed.posture is Posture.RINGS:
        heights = replace(heights, mark_height=RINGING_SHARE * heights.mark_height)
    return contour_marks(placed, heights, light)


def _tag_bracket(row: StackRow, layout: Layout) -> list[Mark]:
    """Say left of a tag where it belongs."""
    left = row.notes[0].x - 12.0
    top = min(placed.y for placed in row.notes) - row.heights.mark_height - 6.0
    corners = [
        (left + 10.0, top),
        (left, top),
        (left, row.box.bottom),
        (left + 10.0, row.box.bottom),
    ]
    bracket = Shape(path=polyline(corners), stroke=Stroke(colour=Colour(Role.BEND), width=BEND_PX))
    x = left - 12.0 - text_width(row.borrowed, layout.sizes.label, 600)
    y = (top + row.box.bottom + layout.sizes.label * CAP_HEIGHT_SHARE) / 2
    return [bracket, label(layout, x, y, row.borrowed, Role.BEND, strong=True)]


def _name(row: StackRow, layout: Layout) -> list[Mark]:
    y = row.box.bottom - 0.3 * row.box.height
    if row.is_tag:
        return [label(layout, layout.left, y, row.heading, Role.TEXT, strong=True)]
    x = layout.left + text_width(row.heading, layout.sizes.label, 500) + 16.0
    number = Words(
        x=x, y=y, text=row.number, size=NUMBER_SIZE, weight=600, colour=Colour(Role.TEXT)
    )
    return [label(layout, layout.left, y, row.heading), number]


def _departures(
    rows: Sequence[StackRow], voices: Voices, layout: Layout
) -> list[tuple[Departure, tuple[Mark, ...]]]:
    """Draw all departures with their words, which stand where nothing else does."""
    taken = [
        box
        for row in rows
        for placed in row.notes
        for box in [around(_boxes(_note_marks(row, placed, LIT)))]
        if box is not None
    ]
    found: list[tuple[Departure, tuple[Mark, ...]]] = []
    for row in rows:
        for departure, expected in zip(row.departures, row.expected, strict=True):
            shapes = _shapes(row, departure, expected, voices.attacks)
            box = around(_boxes(shapes))
            if box is None:
                continue
            candidates = _candidates(departure, box, row, expected, layout)
            own_room = Box(
                left=layout.left,
                top=row.box.top - layout.sizes.label,
                right=layout.right,
                bottom=row.box.bottom + 1.3 * layout.sizes.label,
            )
            words = first_free(candidates, taken, within=own_room)
            taken += [box, *_boxes([words] if words else [])]
            lit = [
                mark
                for placed in notes_of(row, departure, voices.attacks)
                for mark in _note_marks(row, placed, LIT_OVER_FAINT)
            ]
            found.append((departure, (*lit, *shapes, *([words] if words else []))))
    return found


def _shapes(
    row: StackRow,
    departure: Departure,
    expected: Sequence[Placed],
    attacks: Sequence[Attack],
) -> tuple[Mark, ...]:
    stroke = Stroke(colour=Colour(Role.BEND), width=BEND_PX)
    dashed = Stroke(colour=Colour(Role.BEND), width=BEND_PX, dash=DASH)
    found = notes_of(row, departure, attacks)
    # What rings on reaches far beyond the departure.
    notes = [placed for placed in found if placed.posture is not Posture.RINGS] or found
    match departure.kind:
        case "missing":
            return (Shape(path=_outline(row, expected), stroke=dashed),) if expected else ()
        case "changed":
            note = note_of(row, departure, attacks)
            return () if note is None else _diamond(row, note, expected, stroke)
        case "added" | "stretched" if notes:
            top = min(box.top for box in _boxes(_all_marks(row, notes))) - 10.0
            right = max(placed.end_x for placed in notes)
            left = min(placed.x for placed in notes)
            corners = [(left, top + 10.0), (left, top), (right, top), (right, top + 10.0)]
            return (Shape(path=polyline(corners), stroke=stroke),)
        case _:
            return ()


def _diamond(
    row: StackRow, note: Placed, expected: Sequence[Placed], stroke: Stroke
) -> tuple[Mark, ...]:
    """Draw a diamond around a changed note, and a dotted line where the old one stood."""
    marks: list[Mark] = []
    old = next((p for p in expected if p.posture is note.posture), None)
    if old is not None and old.y != note.y:
        dots = Stroke(colour=Colour(Role.TEXT), width=2.0, dash=DOTS)
        marks.append(Shape(path=polyline([(old.x, old.y), (old.end_x, old.y)]), stroke=dots))
    width = min(note.length, MOST_DIAMOND_PX)
    half_width = width / 2 + 14.0
    half_height = row.heights.mark_height + 14.0
    x, y = note.x + width / 2, note.y + row.heights.mark_height / 4
    corners = [(x, y - half_height), (x + half_width, y), (x, y + half_height), (x - half_width, y)]
    return (*marks, Shape(path=polyline(corners, closed=True), stroke=stroke))


def _outline(row: StackRow, expected: Sequence[Placed]) -> Path:
    """Outline the mass that missing notes would have; their places if they would have none."""
    lead = [placed for placed in expected if placed.posture is not Posture.ANCHORS]
    if lead:
        return mass_path(lead, row.heights.base_y)
    top = row.heights.anchor_y - row.heights.mark_height * 0.75
    bottom = row.heights.base_y - 2.0
    left, right = expected[0].x, expected[-1].end_x
    return rectangle(left, top, right - left, bottom - top)


def _candidates(
    departure: Departure, shape: Box, row: StackRow, expected: Sequence[Placed], layout: Layout
) -> list[Words]:
    """List places for the words, best first."""
    width = text_width(departure.words, layout.sizes.label, 600)
    cap = layout.sizes.label * CAP_HEIGHT_SHARE
    centre, middle = (shape.left + shape.right - width) / 2, (shape.top + shape.bottom + cap) / 2
    left, right = shape.left - width - 14.0, shape.right + 14.0
    above, low = shape.top - 10.0, row.heights.base_y - 14.0
    if departure.kind == "missing":
        inner = shape.right - width - 18.0
        over = [p.y for p in expected if p.x < inner + width and p.end_x > inner]
        has_room = inner > shape.left and max(over, default=low) < low - 1.6 * cap
        inside = [(inner, low)] if has_room else []
        places = [*inside, (shape.left + 16.0, above), (left, middle), (right, middle)]
    elif departure.kind == "changed":
        places = [(right, shape.top + cap), (right, middle), (left, middle), (centre, above)]
    else:
        places = [(centre, above), (shape.right - width - 20.0, above), (left, above)]
    clamped = min(centre, layout.right - width - 2.0)  # bounds are a little wider than the words
    places += [(clamped, above), (shape.left, above), (left, low), (right, low)]
    places += [(clamped, row.heights.base_y + cap + 9.0)]
    return [
        label(layout, x, y, departure.words, Role.BEND, strong=True, halo=3.0) for x, y in places
    ]


def _note_line(rows: Sequence[StackRow], reading: Reading, layout: Layout) -> tuple[Mark, ...]:
    """Tell what the shapes mean, and what is not shown."""
    kinds = {d.kind for row in rows for d in row.departures}
    meanings = [
        ("missing", "Open shape: missing."),
        ("added", "Bracket: added."),
        ("stretched", "" if "added" in kinds else "Bracket: longer or shorter."),
        ("changed", "Diamond: changed."),
    ]
    said = [say(text) for kind, text in meanings if kind in kinds and text]
    model = next((row.number for row in rows if row.is_model), "")
    if model and any(not (row.is_tag or row.is_model) for row in rows):
        said.append(say("Faint: as in pass {number}.", number=model))
    shown = {row.number for row in rows}
    left_out = [str(i + 1) for i in range(len(reading.passes)) if str(i + 1) not in shown]
    if len(left_out) > MOST_NAMED:
        whole = len(reading.passes)
        said.append(
            say("{count} of {whole} passes are not shown.", count=len(left_out), whole=whole)
        )
    elif left_out:
        said.append(
            say_count(
                len(left_out),
                "Not shown: pass {passes}.",
                "Not shown: passes {passes}.",
                passes=listed(left_out),
            )
        )
    while said and text_width("   ".join(said), layout.sizes.label, 500) > layout.picture.width:
        said.pop(0)
    return (label(layout, layout.left, layout.note_baseline, "   ".join(said)),) if said else ()


def _now(
    study: Study, shot: Shot, voices: Voices, rows: Sequence[StackRow]
) -> Callable[[float], tuple[Mark, ...]]:
    """Make what rings the note that sounds."""
    heard_at = now_heard(shot, tuple(study.passage.notes), voices.attacks)
    lead = frozenset(voices.lead)

    def ring(seconds: float) -> tuple[Mark, ...]:
        attack = heard_at(seconds)
        if attack is None:
            return ()
        shown = [p for row in rows for n in attack.notes if (p := row.placed(n)) is not None]
        shown.sort(key=lambda placed: placed.note.index not in lead)
        return tuple(
            now_ring(placed.x + NOW_INSET_PX, placed.y, NOW_RADIUS_PX) for placed in shown[:1]
        )

    return ring


def _all_marks(row: StackRow, notes: Sequence[Placed]) -> list[Mark]:
    return [mark for placed in notes for mark in _note_marks(row, placed, LIT)]


def _boxes(marks: Sequence[Mark]) -> list[Box]:
    return [box for box in map(bounds_of, marks) if box is not None]


def _description(rows: Sequence[StackRow]) -> str:
    """Tell the picture in words."""
    told = []
    for row in rows:
        name = f"{row.heading} {row.number}".strip()
        changes = listed([departure.words for departure in row.departures])
        told.append(f"{name}: {changes or ('the riff' if row.is_model else 'nothing changed')}")
    return f"The passes of the riff under one another, in step. {'; '.join(told)}."
