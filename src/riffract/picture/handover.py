"""From one scene to the next: the old one fades, its notes travel to their new places, the new one
comes up around them. So a note keeps its identity: it does not vanish and come back elsewhere. A
claim that is shown in two pictures neither moves nor fades.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import takewhile
from typing import Final

from riffract.essay.shots import Shot
from riffract.picture.bounds import around, bounds_of
from riffract.picture.marks import Colour, Group, Mark, Role, Shape, circle, rectangle
from riffract.picture.motion import smooth
from riffract.picture.scene import Places, Scene
from riffract.picture.string_mark import role_of
from riffract.picture.voices import voices_of
from riffract.weighing.study import Study

HANDOVER_SECONDS: Final = 0.7
"""Ours: over before anything sounds, as a shot starts with a moment of silence."""

GONE_BY, COMES_FROM = 0.5, 0.35
"""Shares of the time: the old scene has gone by the one, the new one begins to come up with the
other, so that the picture is never empty."""

TRAVELLER_PX: Final = 6.5
COVER_PX: Final = 4.0
"""Letters' soft edges reach a little beyond their bounds."""

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
    left = before.at_rest()
    kept = _kept(before, after)

    def moving(seconds: float) -> tuple[Mark, ...]:
        marks = after.moving(seconds)
        if seconds >= HANDOVER_SECONDS:
            return marks
        share = seconds / HANDOVER_SECONDS
        gone = smooth(share / GONE_BY)
        come = smooth((share - COMES_FROM) / (1.0 - COMES_FROM))
        return (
            *marks,
            _veil(after, 1.0 - come),
            *((Group(marks=left, opacity=1.0 - gone),) if gone < 1.0 else ()),
            *kept,
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


def _kept(before: Scene, after: Scene) -> tuple[Mark, ...]:
    """Give what both grounds begin with, the claim and its sign, on a ground of their own.

    Drawn twice, over what fades below them, their edges would be bolder for a moment.
    """
    pairs = zip(before.ground, after.ground, strict=False)
    kept = tuple(mark for mark, _ in takewhile(lambda pair: pair[0] == pair[1], pairs))
    box = around(b for b in map(bounds_of, kept) if b is not None)
    if box is None:
        return ()
    room = box.grown(COVER_PX)
    cover = rectangle(room.left, room.top, room.width, room.height)
    return (Shape(path=cover, fill=Colour(Role.GROUND)), *kept)


def _veil(scene: Scene, alpha: float) -> Mark:
    """Lay the ground's colour over what is coming up.

    It fades as a group: a colour that is half transparent itself, laid over its like, is off by one
    of 256 steps, and the ground would change its tint.
    """
    cover = rectangle(0.0, 0.0, float(scene.page.width), float(scene.page.height))
    return Group(marks=(Shape(path=cover, fill=Colour(Role.GROUND)),), opacity=alpha)


def _on_their_way(
    notes: Sequence[int], starts: Places, ends: Places, roles: Mapping[int, Role], share: float
) -> tuple[Mark, ...]:
    """Draw the travelling notes; they come up as the old picture goes, and stay to the end."""
    way, shown = smooth(share), smooth(share / GONE_BY)
    marks = []
    for note in notes:
        (x, y), (to_x, to_y) = starts[note], ends[note]
        place = circle(x + way * (to_x - x), y + way * (to_y - y), TRAVELLER_PX)
        marks.append(Shape(path=place, fill=Colour(roles.get(note, Role.TEXT), shown)))
    return tuple(marks)
