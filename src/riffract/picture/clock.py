"""The clock scene: which notes are used, how the sets look, what they share, what is heard now."""

from bisect import bisect_right
from collections.abc import Callable
from typing import Final

from riffract.essay.shots import Shot
from riffract.picture.clock_column import column_box, column_marks, description, place_now
from riffract.picture.clock_face import (
    Face,
    chord_marks,
    dot_marks,
    fin_marks,
    name_marks,
    ring_marks,
    runs,
    turn_arrow,
    turn_between,
)
from riffract.picture.clock_subject import Subject, subject_of
from riffract.picture.clock_words import turn_words
from riffract.picture.hearing import heard_attacks
from riffract.picture.layout import APPEAR_SECONDS, Layout, captions, claim_marks, label, layout_of
from riffract.picture.marks import Colour, Mark, Role, Shape, Stroke, circle
from riffract.picture.motion import TURN_SECONDS, moved_share
from riffract.picture.pitch_ways import start_semitone
from riffract.picture.scene import Cue, Page, Scene
from riffract.picture.type import text_width
from riffract.picture.voices import Voices, voices_of
from riffract.weighing.study import Study

JOINED: Final = 3
"""How many different notes, back from now, are joined by lines."""

TURN_START_SECONDS: Final = 1.0
TURN_END_SECONDS: Final = TURN_START_SECONDS + TURN_SECONDS
ARROW_SHARE: Final = 1.56
ARROW_WORDS_DOWN_PX: Final = 4.0
CHORD_PX: Final = 4.0
FAINT_FINS: Final = 0.5
WIDE_RADIUS_SHARE, NARROW_RADIUS_SHARE = 0.155, 0.135
"""Of the page's width, where words stand beside the clock."""

TALL_RADIUS_SHARE, TALL_HEIGHT_SHARE = 0.22, 0.17
"""Of the page's width and the picture's height; on the tall page words stand below the clock."""


def clock_scene(study: Study, shot: Shot, page: Page) -> Scene:
    """Show up to two collections and a chord on the ring, and the notes as they are heard.

    If the second collection is the first one turned, it turns out of its place at the start.
    """
    layout = layout_of(shot, page)
    voices = voices_of(study, shot)
    subject = subject_of(study, shot, voices)
    face = face_in(layout)
    turn = _turn(subject)
    column = column_box(face, layout)
    points = tuple(_points(face, subject, layout))
    shown = FAINT_FINS if subject.leads_with_chord else 1.0
    second = tuple(m for form in subject.forms[1:] for m in fin_marks(face, form, shown=shown))
    ground = [
        *claim_marks(layout),
        ring_marks(face),
        *(m for form in subject.forms[:1] for m in fin_marks(face, form, shown=shown)),
        *(second if turn is None else ()),
        *points,
        *column_marks(study, voices, subject, layout, column),
    ]
    cues = []
    if turn is not None:
        arrow = tuple(_arrow(face, subject, turn, layout))
        cues = [
            Cue(at_seconds=TURN_END_SECONDS, marks=(*second, *points), fade_seconds=0.0),
            Cue(at_seconds=TURN_END_SECONDS, marks=arrow, fade_seconds=APPEAR_SECONDS),
        ]
    joined = _joined(study, shot, voices, face, subject)
    place, speak = place_now(study, shot, voices, subject, column), captions(layout, shot.lines)

    def moving(seconds: float) -> tuple[Mark, ...]:
        if turn is not None and seconds <= TURN_END_SECONDS:
            return (*_turning(face, subject, turn, seconds), *points, *speak(seconds))
        return (*joined(seconds), *place(seconds), *speak(seconds))

    return Scene(
        page=page,
        ground=tuple(ground),
        cues=tuple(cues),
        length_seconds=shot.length_seconds,
        description=description(subject),
        moving=moving,
        places=lambda _seconds: {
            note.index: face.at(pitch % 12)
            for note in study.passage.notes
            if (pitch := start_semitone(note)) is not None
        },
    )


def face_in(layout: Layout) -> Face:
    """Place the clock left of its column, on the tall page above it, with room for the arrow."""
    room = layout.picture
    if layout.page.is_tall:
        radius = min(TALL_RADIUS_SHARE * layout.page.width, TALL_HEIGHT_SHARE * room.height)
        return Face(x=layout.page.width / 2, y=room.top + 1.66 * radius, radius=radius)
    share = NARROW_RADIUS_SHARE if layout.page.is_narrow else WIDE_RADIUS_SHARE
    radius = min(room.height / 3.15, share * layout.page.width)
    return Face(x=room.left + 1.75 * radius, y=room.top + 1.66 * radius, radius=radius)


def now_dot(face: Face, pc: int) -> list[Mark]:
    """Draw the dot and ring around the note that sounds now."""
    x, y = face.at(pc)
    white = Colour(Role.TEXT)
    return [
        Shape(path=circle(x, y, 13.0), fill=white),
        Shape(path=circle(x, y, 24.0), stroke=Stroke(colour=white, width=2.8)),
    ]


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


def _arrow(face: Face, subject: Subject, turn: int, layout: Layout) -> list[Mark]:
    """Draw how far the first set is turned to give the second, above the fin nearest the top."""
    middles = [run[0] + (len(run) - 1) / 2 for run in runs(subject.forms[0].pcs)]
    start = min((((m + 6) % 12 - 6) for m in middles), key=lambda m: abs(m + turn / 2))
    words = turn_words(turn)
    arrow = turn_arrow(face, start, start + turn, ARROW_SHARE)
    higher = min((start, start + turn), key=abs)
    if abs(higher) > 2.0:
        return arrow
    x, y = face.at(higher, ARROW_SHARE)
    width = text_width(words, layout.sizes.label, 600)
    is_left_end = higher == min(start, start + turn)
    x = x - 16.0 - width if is_left_end else x + 16.0
    return [*arrow, label(layout, x, y + ARROW_WORDS_DOWN_PX, words, Role.TEXT, strong=True)]


def _joined(
    study: Study, shot: Shot, voices: Voices, face: Face, subject: Subject
) -> Callable[[float], tuple[Mark, ...]]:
    """Make what joins the last notes heard; in silence the chord that is the subject."""
    notes = tuple(study.passage.notes)
    pcs_so_far: list[int] = []
    moments = []
    for heard in heard_attacks(shot, notes, voices.attacks):
        pitches = (start_semitone(notes[i]) for i in heard.audible)
        new = [pitch % 12 for pitch in pitches if pitch is not None]
        for pc in new:
            pcs_so_far = [*(p for p in pcs_so_far if p != pc), pc][-JOINED:]
        if new:
            moments.append((heard.start_seconds, heard.end_seconds, tuple(pcs_so_far), new))
    starts = [start for start, *_ in moments]
    chord = subject.sonority.occurrence_pcs[0] if subject.sonority else ()
    at_rest = (*chord_marks(face, chord, width=CHORD_PX), *_chord_dots(face, chord))

    def at(seconds: float) -> tuple[Mark, ...]:
        index = bisect_right(starts, seconds) - 1
        if index < 0 or seconds >= moments[index][1]:
            return at_rest
        _, _, pcs, new = moments[index]
        marks = [*chord_marks(face, pcs, width=CHORD_PX), *_chord_dots(face, pcs)]
        for pc in new[-1:]:
            marks += now_dot(face, pc)
        return tuple(marks)

    return at


def _chord_dots(face: Face, pcs: tuple[int, ...]) -> list[Mark]:
    return [Shape(path=circle(*face.at(pc), 9.0), fill=Colour(Role.TEXT)) for pc in pcs]
