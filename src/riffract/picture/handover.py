"""From one scene to the next: the old one dissolves into the new one, while its notes travel to
their new places. So a note keeps its identity: it does not vanish and come back elsewhere. What
stands in both pictures, as a claim that is shown twice, neither moves nor fades, and no moment is
darker than the darker one of both.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

from riffract.essay.shots import Shot
from riffract.picture.marks import Colour, Group, Mark, Role, Shape, circle, rectangle
from riffract.picture.motion import moved_share, smooth
from riffract.picture.scene import Places, Scene
from riffract.picture.string_mark import role_of
from riffract.picture.voices import voices_of
from riffract.weighing.study import Study

HANDOVER_SECONDS: Final = 0.7
"""Ours: over before anything sounds, as a shot starts with a moment of silence."""

DISSOLVES_FROM, DISSOLVED_BY = 0.15, 0.75
"""Shares of the time between which one picture turns into the other. It is short, as words that
show through each other cannot be read, and early, so that the notes arrive in a picture that is
there."""

SHOWN_BY, SHOWN_UNTIL = 0.3, 0.85
"""Shares of the time: the travelling notes have come up by the one, and begin to sink into the
picture that they have come to with the other."""

TRAVELLER_PX: Final = 6.5
MOST_TRAVELLERS: Final = 40
"""More dots on their way cannot be followed."""


def in_a_row(study: Study, shots: Sequence[Shot], scenes: Sequence[Scene]) -> tuple[Scene, ...]:
    """Let each scene of a film grow out of the one before it.

    Args:
        study: of the passage that they show.
        shots: the film.
        scenes: the picture of each shot.
    """
    row = list(scenes[:1])
    for shot, before, after in zip(shots[1:], scenes, scenes[1:], strict=False):
        postures = voices_of(study, shot).postures
        roles = {note: role_of(posture) for note, posture in enumerate(postures)}
        row.append(handed_over(before, after, _notes_of(study, shot), roles))
    return tuple(row)


def _notes_of(study: Study, shot: Shot) -> list[int]:
    """List the notes of the first excerpt, then all others."""
    played = shot.plays[0].span if shot.plays else study.passage.span
    notes = study.passage.notes
    first = [n.index for n in notes if played.holds(n.onset_quarters)]
    return [*first, *(n.index for n in notes if not played.holds(n.onset_quarters))]


def handed_over(
    before: Scene, after: Scene, notes: Sequence[int], roles: Mapping[int, Role]
) -> Scene:
    """Let a scene grow out of the one before it.

    Args:
        before: what is left.
        after: what comes.
        notes: those that may travel, as indices; the first ones if they are too many.
        roles: their colours.

    Returns:
        The later scene, which begins with the picture that the earlier one ends with. One that no
        note can travel to is only faded to, and pages of different sizes are left as they are.
    """
    if before.page != after.page:
        return after
    starts, ends = before.places(before.length_seconds), after.places(HANDOVER_SECONDS)
    travelling = travellers(notes, starts, ends)
    ground = rectangle(0.0, 0.0, float(after.page.width), float(after.page.height))
    left = (Shape(path=ground, fill=Colour(Role.GROUND)), *before.at_rest())

    def moving(seconds: float) -> tuple[Mark, ...]:
        if seconds >= HANDOVER_SECONDS:
            return after.moving(seconds)
        share = seconds / HANDOVER_SECONDS
        gone = moved_share(share, DISSOLVES_FROM, DISSOLVED_BY - DISSOLVES_FROM)
        return (
            *(after.moving(seconds) if gone > 0.0 else ()),
            *((Group(marks=left, opacity=1.0 - gone),) if gone < 1.0 else ()),
            *_on_their_way(travelling, starts, ends, roles, share),
        )

    return replace(after, moving=moving)


def travellers(notes: Sequence[int], starts: Places, ends: Places) -> tuple[int, ...]:
    """Choose the notes that travel: those that stand in both pictures, the first ones first.

    Of notes that share a way, as all of one pitch may to a clock, one is enough.
    """
    ways: dict[tuple[object, object], int] = {}
    for note in notes:
        if note in starts and note in ends:
            ways.setdefault((starts[note], ends[note]), note)
    return tuple(ways.values())[:MOST_TRAVELLERS]


def _on_their_way(
    notes: Sequence[int], starts: Places, ends: Places, roles: Mapping[int, Role], share: float
) -> tuple[Mark, ...]:
    """Draw the travelling notes where they are on their way."""
    way = smooth(share)
    shown = smooth(share / SHOWN_BY) * (1.0 - moved_share(share, SHOWN_UNTIL, 1.0 - SHOWN_UNTIL))
    marks = []
    for note in notes:
        (x, y), (to_x, to_y) = starts[note], ends[note]
        place = circle(x + way * (to_x - x), y + way * (to_y - y), TRAVELLER_PX)
        marks.append(Shape(path=place, fill=Colour(roles.get(note, Role.TEXT), shown)))
    return tuple(marks)
