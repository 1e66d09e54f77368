"""The whole: contour, strings, mirror and clock at once, and a ray from each note to its places."""

from dataclasses import replace
from typing import Final

from riffract.analysis.saying import say
from riffract.essay.shots import Shot
from riffract.picture.clock.subject import subject_of
from riffract.picture.hearing import first_heard_seconds, visits
from riffract.picture.layout import captions, claim_marks, layout_of
from riffract.picture.legend import doubt_legend, doubt_lines
from riffract.picture.page.scene import page_scene
from riffract.picture.scene import Page, Scene
from riffract.picture.string_view import notes_before
from riffract.picture.voices import Voices, voices_of
from riffract.picture.whole.plan import WholePlan, plan_whole
from riffract.picture.whole.reading import Target, targets_of
from riffract.picture.whole.sheets import WholeDrawing
from riffract.weighing.study import Study

LEAST_CONTOUR_PX: Final = 60.0
"""A lower contour has no shape."""


def whole_scene(study: Study, shot: Shot, page: Page) -> Scene:
    """Show everything at once; what a passage lacks (mirror, drone, sets) is left out.

    In a shot without music all is lit, and the ray rests on one note that has a partner. A page too
    small for contour, strings and clock together shows the strings alone.
    """
    whole, voices = layout_of(shot, page), voices_of(study, shot)
    layout = replace(whole, picture=whole.picture_above_notes(len(doubt_lines(whole))))
    plan = plan_whole(study, shot, voices, layout)
    if plan.contour_px < LEAST_CONTOUR_PX:
        return page_scene(study, shot, page)
    subject = subject_of(study, shot, voices)
    notes = tuple(study.passage.notes)
    drawing = WholeDrawing(
        study=study,
        shot=shot,
        layout=layout,
        voices=voices,
        plan=plan,
        subject=subject,
        notes=notes,
        before=notes_before(notes),
        heard={note.index: first_heard_seconds(shot, note) for note in notes},
    )
    still = _still_target(plan, voices)
    seen = visits(shot, [[row.span] for _, row in plan.rows])
    if not shot.plays and still is not None:
        seen = (replace(seen[0], page=plan.row_of(notes[still.note])),)
    targets = targets_of(study.passage, shot, voices)
    if not shot.plays:
        targets = () if still is None else (still,)
    cues = [cue for i, visit in enumerate(seen) for cue in drawing.cues(visit, seen[:i][-1:])]
    read, speak = drawing.reading(seen, targets), captions(layout, shot.lines)
    return Scene(
        page=page,
        ground=(
            *claim_marks(layout),
            *doubt_legend(whole),
            *drawing.panel(),
            *drawing.sheet(seen[0], is_new=True),
        ),
        cues=tuple(sorted(cues, key=lambda cue: cue.at_seconds)),
        length_seconds=shot.length_seconds,
        description=_description(study, plan),
        moving=lambda seconds: (*read(seconds), *speak(seconds)),
        places=lambda seconds: drawing.places(seen, seconds),
    )


def _still_target(plan: WholePlan, voices: Voices) -> Target | None:
    """Choose the note that stands for all: the middle one of those that meet in the mirror."""
    for window in plan.windows:
        if window.mirror is not None:
            partners = window.mirror.partners
            lefts = sorted(i for i, pair in partners.items() if i == pair.left)
            shown = [i for i in lefts if partners[i].semitones_off == 0] or lefts
            return _resting_on(shown[len(shown) // 2])
    return _resting_on(voices.lead[len(voices.lead) // 2]) if voices.lead else None


def _resting_on(note: int) -> Target:
    return Target(note=note, leaves_seconds=-10.0, start_seconds=-10.0, end_seconds=float("inf"))


def _description(study: Study, plan: WholePlan) -> str:
    """Tell the picture in words."""
    title = study.passage.title or say("The passage")
    if any(window.mirror is not None for window in plan.windows):
        return say(
            "{title} as a whole: the moving voice as a contour, the mirror between its limbs, its "
            "strings below it, the twelve notes on a ring; a ray joins each note to its places.",
            title=title,
        )
    return say(
        "{title} as a whole: the moving voice as a contour, its strings below it, the twelve notes "
        "on a ring; a ray joins each note to its places.",
        title=title,
    )
