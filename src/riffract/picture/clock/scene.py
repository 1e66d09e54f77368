"""The clock scene: which notes are used, how the sets look, what they share, what is heard now."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from riffract.essay.shots import Shot
from riffract.picture.bounds import Box, bounds_of
from riffract.picture.clock.column import column_box, column_marks, description, entries_shown
from riffract.picture.clock.face import (
    Face,
    dot_marks,
    fin_marks,
    name_marks,
    ring_marks,
    runs,
    turn_arrow,
    turn_between,
)
from riffract.picture.clock.joined import joined_marks
from riffract.picture.clock.legend import above, clock_legend, legend_lines
from riffract.picture.clock.profile import profile_words, profiles_of
from riffract.picture.clock.profile_figure import profile_marks
from riffract.picture.clock.strips import place_now
from riffract.picture.clock.subject import Subject, subject_of
from riffract.picture.clock.words import turn_words
from riffract.picture.layout import APPEAR_SECONDS, Layout, captions, claim_marks, label, layout_of
from riffract.picture.marks import Mark, Role, Words
from riffract.picture.motion import TURN_SECONDS, moved_share
from riffract.picture.pitch_ways import start_semitone
from riffract.picture.placing import first_free
from riffract.picture.scene import Cue, Page, Scene, nothing_moves
from riffract.picture.type import text_width
from riffract.picture.voices import voices_of
from riffract.weighing.study import Study

TURN_START_SECONDS: Final = 1.0
TURN_END_SECONDS: Final = TURN_START_SECONDS + TURN_SECONDS
ARROW_SHARE: Final = 1.56
ARROW_WORDS_DOWN_PX, ARROW_WORDS_UP_PX = 4.0, 12.0
ARC_STEP, ARC_AIR_PX = 0.1, 3.0
"""In semitones: the arrow's arc is kept clear of words in pieces of this length."""

FAINT_FINS: Final = 0.5
WIDE_RADIUS_SHARE, NARROW_RADIUS_SHARE = 0.155, 0.135
"""Of the page's width, where words stand beside the clock."""

FINS_ROOM_SHARE, ARROW_ROOM_SHARE, BESIDE_ROOM_SHARE = 1.49, 1.66, 1.6
"""From the clock's middle to the end of its room, over its radius: fins, the arrow above them, and
at its sides names."""

TALL_RADIUS_SHARE, TALL_HEIGHT_SHARE = 0.22, 0.17
"""Of the page's width and the picture's height; on the tall page words stand below the clock."""


def clock_scene(study: Study, shot: Shot, page: Page) -> Scene:
    """Show up to two collections and a chord on the ring, and the notes as they are heard.

    If the second collection is the first one turned, it turns out of its place at the start. A shot
    with a profile tells beside the clock how the sets are spread instead of what they are called.
    """
    layout = layout_of(shot, page)
    voices = voices_of(study, shot)
    subject = subject_of(study, shot, voices)
    turn = _turn(subject)
    face = face_in(layout, has_arrow=turn is not None)
    whole_column = column_box(face, layout)
    profiles = profiles_of(subject) if shot.with_profile else ()
    lines = () if profiles else legend_lines(subject, shot, whole_column, layout)
    if entries_shown(subject, layout, above(lines, whole_column, layout)) < entries_shown(
        subject, layout, whole_column
    ):
        # The sets come before what explains the ring.
        lines = ()
    column = above(lines, whole_column, layout)
    points = tuple(_points(face, subject, layout))
    shown = FAINT_FINS if subject.leads_with_chord else 1.0
    beside = (
        profile_marks(profiles, layout, column)
        if profiles
        else column_marks(study, voices, subject, layout, column)
    )
    second = tuple(m for form in subject.forms[1:] for m in fin_marks(face, form, shown=shown))
    ground = [
        *claim_marks(layout),
        ring_marks(face),
        *(m for form in subject.forms[:1] for m in fin_marks(face, form, shown=shown)),
        *(second if turn is None else ()),
        *points,
        *beside,
        *clock_legend(lines, whole_column, layout),
    ]
    cues = []
    if turn is not None:
        arrow = tuple(_arrow(face, subject, turn, layout, (*points, *beside)))
        cues = [
            Cue(at_seconds=TURN_END_SECONDS, marks=(*second, *points), fade_seconds=0.0),
            Cue(at_seconds=TURN_END_SECONDS, marks=arrow, fade_seconds=APPEAR_SECONDS),
        ]
    joined = joined_marks(study, shot, voices, face, subject)
    speak = captions(layout, shot.lines)
    place = nothing_moves if profiles else place_now(study, shot, voices, subject, column)

    def moving(seconds: float) -> tuple[Mark, ...]:
        if turn is not None and seconds <= TURN_END_SECONDS:
            return (*_turning(face, subject, turn, seconds), *points, *speak(seconds))
        return (*joined(seconds), *place(seconds), *speak(seconds))

    return Scene(
        page=page,
        ground=tuple(ground),
        cues=tuple(cues),
        length_seconds=shot.length_seconds,
        description=" ".join(
            [description(subject), *([profile_words(profiles)] if profiles else [])]
        ),
        moving=moving,
        places=lambda _seconds: {
            note.index: face.at(pitch % 12)
            for note in study.passage.notes
            if (pitch := start_semitone(note)) is not None
        },
    )


def face_in(layout: Layout, *, has_arrow: bool) -> Face:
    """Place the clock left of its column, on the tall page above it, with room for the arrow."""
    room = layout.picture
    share = ARROW_ROOM_SHARE if has_arrow else FINS_ROOM_SHARE
    if layout.page.is_tall:
        radius = min(TALL_RADIUS_SHARE * layout.page.width, TALL_HEIGHT_SHARE * room.height)
        return Face(x=layout.page.width / 2, y=room.top + share * radius, radius=radius)
    widest = NARROW_RADIUS_SHARE if layout.page.is_narrow else WIDE_RADIUS_SHARE
    radius = min(room.height / (share + FINS_ROOM_SHARE), widest * layout.page.width)
    left = room.height - (share + FINS_ROOM_SHARE) * radius
    y = room.top + left / 2 + share * radius
    return Face(x=room.left + BESIDE_ROOM_SHARE * radius, y=y, radius=radius)


def _points(face: Face, subject: Subject, layout: Layout) -> list[Mark]:
    return [
        *dot_marks(
            face,
            subject.forms,
            anchor_pc=subject.anchor_pc,
            used=subject.used,
            strays=subject.strays,
        ),
        *name_marks(
            face,
            subject.forms,
            names=subject.names,
            size=layout.sizes.length,
            strong=subject.used,
        ),
    ]


def _turn(subject: Subject) -> int | None:
    """Tell by how much the second collection is the first one turned.

    `None` if it is not, and where the shot is about a chord: one thing moves at a time.
    """
    if len(subject.forms) < 2 or subject.leads_with_chord:
        return None
    return turn_between(subject.forms[0].pcs, subject.forms[1].pcs) or None


def _turning(face: Face, subject: Subject, turn: int, seconds: float) -> list[Mark]:
    share = moved_share(seconds, TURN_START_SECONDS, TURN_SECONDS)
    if share <= 0.0:
        return []
    shown = min(1.0, 5.0 * share)
    return fin_marks(face, subject.forms[1], turned=(1.0 - share) * turn, shown=shown)


def _arrow(
    face: Face, subject: Subject, turn: int, layout: Layout, others: Sequence[Mark]
) -> list[Mark]:
    """Draw how far the first set is turned to give the second, above the fin nearest the top.

    Its words stand at one of its ends or over its top, clear of all else and of the column; where
    there is no room the column alone tells the turn.
    """
    middles = [run[0] + (len(run) - 1) / 2 for run in runs(subject.forms[0].pcs)]
    start = min((((m + 6) % 12 - 6) for m in middles), key=lambda m: abs(m + turn / 2))
    ends = sorted((start, start + turn))
    steps = range(round((ends[1] - ends[0]) / ARC_STEP) + 1)
    points = [face.at(ends[0] + ARC_STEP * i, ARROW_SHARE) for i in steps]
    arc = [Box(left=x, top=y, right=x, bottom=y).grown(ARC_AIR_PX) for x, y in points]
    taken = [box for mark in others if (box := bounds_of(mark)) is not None]
    right = layout.right if layout.page.is_tall else column_box(face, layout).left
    words = first_free(
        _arrow_words(face, turn_words(turn), ends, layout),
        [*taken, *arc],
        within=replace(layout.picture, right=right),
    )
    arrow = turn_arrow(face, start, start + turn, ARROW_SHARE)
    return arrow if words is None else [*arrow, words]


def _arrow_words(face: Face, text: str, ends: Sequence[float], layout: Layout) -> list[Words]:
    """List where the words of a turn may stand: beside its higher end, the other one, or on top."""
    width = text_width(text, layout.sizes.label, 600)
    places = []
    for end in sorted(ends, key=abs):
        x, y = face.at(end, ARROW_SHARE)
        outside = x - 16.0 - width if end == min(ends) else x + 16.0
        places.append((outside, y + ARROW_WORDS_DOWN_PX))
    top_x, top_y = face.at(min(max(0.0, ends[0]), ends[1]), ARROW_SHARE)
    places.append((top_x - width / 2, top_y - ARROW_WORDS_UP_PX))
    return [label(layout, x, y, text, Role.TEXT, strong=True) for x, y in places]
