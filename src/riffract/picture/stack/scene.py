"""The stack scene: the passes under one another, in step, so that departures stand out."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Final

from riffract.analysis.finding import Kind, Passes, Reading
from riffract.analysis.saying import say
from riffract.analysis.wording import capital, listed
from riffract.essay.shots import Shot
from riffract.picture.bounds import Box, bounds_of
from riffract.picture.contour_view import (
    base_line,
    mass_marks,
)
from riffract.picture.hearing import moment_heard_seconds, now_heard
from riffract.picture.layout import APPEAR_SECONDS, Layout, captions, claim_marks, label, layout_of
from riffract.picture.legend_lines import Entry, broken, written
from riffract.picture.marks import (
    Colour,
    Mark,
    Role,
    Shape,
    Stroke,
    Words,
    polyline,
)
from riffract.picture.now_ring import clear_radius, now_ring
from riffract.picture.scene import Cue, Page, Scene
from riffract.picture.stack.departures import BEND_PX, WAITS, departures_in, note_marks
from riffract.picture.stack.legend import stack_entries
from riffract.picture.stack.rows import StackRow, stack_rows
from riffract.picture.string_mark import FAINT, LIT, Posture
from riffract.picture.type import CAP_HEIGHT_SHARE, text_width
from riffract.picture.voices import Voices, chosen, voices_of
from riffract.weighing.study import Study

NUMBER_SIZE: Final = 44.0
LABELS_PX: Final = 150.0
"""The names of rows stand in this, if they need no more."""

BEFORE_NUMBER_PX, AFTER_NAME_PX = 16.0, 24.0
NOW_RADIUS_PX, LEAST_NOW_RADIUS_PX = 24.0, 12.0
NOW_INSET_PX: Final = 8.0


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
    rows, lines = _explained_rows(study, voices, reading, shot, layout)
    ground: list[Mark] = [*claim_marks(layout), *written(layout, lines)]
    for row in rows:
        ground += _standing(row, layout)
    cues: list[Cue] = []
    words: list[Box] = []
    foot = layout.picture_above_notes(max(len(lines), 1)).bottom
    for departure, marks in departures_in(rows, voices, layout, foot_y=foot):
        if not shot.plays:
            ground += marks
            continue
        words += [box for m in marks if isinstance(m, Words) and (box := bounds_of(m)) is not None]
        # What is not played is marked when all that is has been heard.
        last = shot.plays[-1]
        heard = moment_heard_seconds(shot, departure.start_quarters)
        at = last.at_seconds + last.length_seconds if heard is None else heard
        cues.append(Cue(at_seconds=at, marks=marks, fade_seconds=APPEAR_SECONDS))
    now, speak = _now(study, shot, voices, rows, words), captions(layout, shot.lines)
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


def _explained_rows(
    study: Study, voices: Voices, reading: Reading, shot: Shot, layout: Layout
) -> tuple[tuple[StackRow, ...], tuple[tuple[Entry, ...], ...]]:
    """Place the rows above as many lines of notes as they need: that depends on what they show."""
    rows: tuple[StackRow, ...] = ()
    lines: tuple[tuple[Entry, ...], ...] = ((),)
    left = layout.left + _names_width(reading, layout)
    count = 0
    while len(lines) > count:
        count = len(lines)
        room = layout.picture_above_notes(count)
        rows = stack_rows(study.passage, voices, reading, shot, replace(room, left=left))
        lines = broken(layout, stack_entries(rows, reading))
    return rows, lines


def _names_width(reading: Reading, layout: Layout) -> float:
    """Give the room that the names of rows take before their notes, in the language of the film."""
    size = layout.sizes.label
    number = text_width(str(len(reading.passes)), NUMBER_SIZE, 600)
    widest = max(
        text_width(say("pass"), size, 500) + BEFORE_NUMBER_PX + number,
        text_width(say("tag"), size, 600),
    )
    return max(LABELS_PX, widest + AFTER_NAME_PX)


def _standing(row: StackRow, layout: Layout) -> list[Mark]:
    """Draw a row: masses, notes, its name; a repeat is faint."""
    light = LIT if row.is_model or row.is_tag else FAINT
    marks: list[Mark] = [base_line(row.box.left, row.box.right, row.box.bottom)]
    for posture, notes in row.limbs:
        marks += mass_marks(notes, posture, row.heights.base_y, light)
    ringing = [placed for placed in row.notes if placed.posture is Posture.RINGS]
    others = [placed for placed in row.notes if placed.posture is not Posture.RINGS]
    for placed in (*ringing, *others):
        marks += note_marks(row, placed, light)
    for start, end in row.waits:
        line = polyline([(start + 6.0, row.heights.anchor_y), (end - 6.0, row.heights.anchor_y)])
        marks.append(Shape(path=line, stroke=WAITS))
    if row.is_tag:
        marks += _tag_bracket(row, layout)
    return [*marks, *_name(row, layout)]


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
    x = layout.left + text_width(row.heading, layout.sizes.label, 500) + BEFORE_NUMBER_PX
    number = Words(
        x=x, y=y, text=row.number, size=NUMBER_SIZE, weight=600, colour=Colour(Role.TEXT)
    )
    return [label(layout, layout.left, y, row.heading), number]


def _now(
    study: Study, shot: Shot, voices: Voices, rows: Sequence[StackRow], words: Sequence[Box]
) -> Callable[[float], tuple[Mark, ...]]:
    """Make what rings the note that sounds, smaller beside words."""
    heard_at = now_heard(shot, tuple(study.passage.notes), voices.attacks)
    lead = frozenset(voices.lead)

    def ring(seconds: float) -> tuple[Mark, ...]:
        attack = heard_at(seconds)
        if attack is None:
            return ()
        shown = [p for row in rows for n in attack.notes if (p := row.placed(n)) is not None]
        shown.sort(key=lambda placed: placed.note.index not in lead)
        rings = []
        for placed in shown[:1]:
            x, y = placed.x + NOW_INSET_PX, placed.y
            radius = clear_radius(x, y, words, least=LEAST_NOW_RADIUS_PX, most=NOW_RADIUS_PX)
            rings.append(now_ring(x, y, radius))
        return tuple(rings)

    return ring


def _description(rows: Sequence[StackRow]) -> str:
    """Tell the picture in words."""
    told = []
    for row in rows:
        name = f"{row.heading} {row.number}".strip()
        changes = listed([departure.words for departure in row.departures])
        if not changes:
            changes = say("the riff") if row.is_model else say("nothing changed")
        told.append(f"{name}: {changes}")
    return say(
        "The passes of the riff under one another, in step. {rows}.", rows=capital("; ".join(told))
    )
