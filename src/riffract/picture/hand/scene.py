"""The hand scene: the fretboard, and a hand shape that is moved along it or across the strings.

Every place where the shape stands is outlined; the bright outline is the hand, which glides from
one to the next as the music does. So one sees that a change of pitch is a move of one grip.
"""

from bisect import bisect_right
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import sqrt
from typing import Final

from riffract.analysis.finding import Hand, Kind
from riffract.analysis.saying import say, say_count
from riffract.analysis.wording import counted, in_words, times
from riffract.essay.shots import Shot
from riffract.music import Passage
from riffract.picture.hand.neck import Neck, Place, around_places, board_marks, neck_for
from riffract.picture.hearing import moment_heard_seconds, now_heard
from riffract.picture.layout import Layout, captions, claim_marks, label, layout_of
from riffract.picture.marks import Colour, Mark, Role, Shape, Stroke, circle, polyline
from riffract.picture.motion import moved_share
from riffract.picture.scene import Page, Scene
from riffract.picture.type import wrap
from riffract.picture.voices import Voices, chosen, voices_of
from riffract.weighing.study import Study

REACH_SHARE: Final = 0.42
"""Radius of the outline around a place, over the gap between strings."""

MOST_STRUCK_PX: Final = 18.0
"""Radius of the place that is struck most often, where no shape is shown."""

PLACE_RADIUS_PX, SPECK_RADIUS_PX, NOW_RADIUS_PX = 11.0, 5.0, 20.0
OUTLINE_PX: Final = 3.4
GHOST_DASH: Final = (10.0, 8.0)
WAY_PX: Final = 2.6
GLIDE_SECONDS: Final = 0.4
MOST_GHOSTS: Final = 8
"""More outlines over one another cannot be told apart; the words count the rest."""

Points = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Grips:
    """A shape in all its places.

    Attributes:
        first: its places where it stands first, in order of playing.
        distinct: the different placements in the order in which they come, each as places.
        visits: when each statement is heard, seconds, and where it stands, an index of `distinct`.
        statements: how many there are.
    """

    first: tuple[Place, ...]
    distinct: tuple[tuple[Place, ...], ...]
    visits: tuple[tuple[float, int], ...]
    statements: int


def hand_scene(study: Study, shot: Shot, page: Page) -> Scene:
    """Show what a hand shape gives.

    Raises:
        ValueError: if the study says nothing of the hand.
    """
    finding = chosen(study, shot, Kind.HAND)
    if finding is None or not isinstance(finding.what, Hand):
        raise ValueError("this scene needs a finding of the kind `hand`, and the study has none")
    layout = layout_of(shot, page)
    voices = voices_of(study, shot)
    grips = _grips(finding.what, shot)
    used = [(note.string, note.fret) for note in study.passage.notes]
    lines = _notes_below(finding.what, grips, layout)
    neck = neck_for(study.passage, used, layout.picture_above_notes(len(lines)))
    ground = [
        *claim_marks(layout),
        *board_marks(neck, study.passage, layout),
        *(_specks(neck, used) if grips else _counted(neck, used)),
        *(_ghosts(neck, grips) if grips else ()),
        *(
            label(layout, layout.left, y, text)
            for y, text in zip(layout.note_baselines(len(lines)), lines, strict=True)
        ),
    ]
    now, speak = _now(study.passage, shot, voices, neck), captions(layout, shot.lines)

    def moving(seconds: float) -> tuple[Mark, ...]:
        shape = _hand_at(neck, grips, seconds) if grips else ()
        return (*shape, *now(seconds), *speak(seconds))

    return Scene(
        page=page,
        ground=tuple(ground),
        cues=(),
        length_seconds=shot.length_seconds,
        places=lambda _seconds: {
            note.index: neck.at((note.string, note.fret)) for note in study.passage.notes
        },
        description=f"{say('The fretboard.')} {finding.sentence} {' '.join(lines)}",
        moving=moving,
    )


def _grips(answer: Hand, shot: Shot) -> Grips | None:
    """Lay out the shape that explains most; `None` if none is moved."""
    if not answer.shapes:
        return None
    shape = answer.shapes[0]
    placements = [
        tuple((string + s, fret + f) for string, fret in shape.places)
        for s, f in ((0, 0), *shape.moves)
    ]
    distinct = tuple(dict.fromkeys(placements))
    visits = []
    for span, placement in zip(shape.spans, placements, strict=True):
        heard = moment_heard_seconds(shot, span.start_quarters)
        if heard is not None:
            visits.append((heard, distinct.index(placement)))
    return Grips(
        first=shape.places,
        distinct=distinct,
        visits=tuple(sorted(visits)),
        statements=len(placements),
    )


def _specks(neck: Neck, used: Sequence[Place]) -> list[Mark]:
    return [
        Shape(path=circle(*neck.at(place), SPECK_RADIUS_PX), fill=Colour(Role.STRING))
        for place in sorted(set(used))
    ]


def _counted(neck: Neck, used: Sequence[Place]) -> list[Mark]:
    """Draw each place as large as it is struck often, by area, where no shape is shown."""
    counts = Counter(used)
    most = max(counts.values(), default=1)
    return [
        Shape(
            path=circle(*neck.at(place), MOST_STRUCK_PX * sqrt(count / most)),
            fill=Colour(Role.QUIET),
        )
        for place, count in sorted(counts.items())
    ]


def _ghosts(neck: Neck, grips: Grips) -> list[Mark]:
    """Outline every placement faintly."""
    stroke = Stroke(colour=Colour(Role.QUIET), width=2.2, dash=GHOST_DASH)
    return [
        Shape(path=around_places(_points(neck, placement), REACH_SHARE * neck.gap), stroke=stroke)
        for placement in grips.distinct[:MOST_GHOSTS]
    ]


def _points(neck: Neck, placement: Sequence[Place]) -> Points:
    return tuple(neck.at(place) for place in placement)


def _hand_at(neck: Neck, grips: Grips, seconds: float) -> tuple[Mark, ...]:
    """Draw the hand where it is at a moment, on its way if it is about to move."""
    starts = [start for start, _ in grips.visits]
    index = max(bisect_right(starts, seconds) - 1, 0)
    here = grips.visits[index][1] if grips.visits else 0
    points = _points(neck, grips.distinct[here])
    if index + 1 < len(grips.visits):
        start, there = grips.visits[index + 1]
        share = moved_share(seconds, start - GLIDE_SECONDS, GLIDE_SECONDS)
        points = _between(points, _points(neck, grips.distinct[there]), share)
    return tuple(_hand_marks(neck, points))


def _between(one: Points, other: Points, share: float) -> Points:
    return tuple(
        (x + share * (to_x - x), y + share * (to_y - y))
        for (x, y), (to_x, to_y) in zip(one, other, strict=True)
    )


def _hand_marks(neck: Neck, points: Points) -> list[Mark]:
    """Draw a shape: its outline, the way from place to place as it is played, the places."""
    outline = around_places(points, REACH_SHARE * neck.gap)
    marks: list[Mark] = [
        Shape(
            path=outline,
            fill=Colour(Role.TEXT, 0.1),
            stroke=Stroke(colour=Colour(Role.TEXT), width=OUTLINE_PX),
        )
    ]
    if len(points) > 1:
        way = Stroke(colour=Colour(Role.TEXT, 0.7), width=WAY_PX)
        marks.append(Shape(path=polyline(points), stroke=way))
    marks += [
        Shape(path=circle(x, y, PLACE_RADIUS_PX), fill=Colour(Role.TEXT))
        for x, y in dict.fromkeys(points)
    ]
    return marks


def _notes_below(answer: Hand, grips: Grips | None, layout: Layout) -> tuple[str, ...]:
    """Say what the outlines are, and which symmetries the shape explains."""
    told = []
    if grips is not None:
        places = counted(len(grips.distinct), "place")
        told.append(
            say(
                "Filled: the hand shape. Dashed: its {places} on the neck, played {times} in all.",
                places=places,
                times=times(grips.statements),
            )
        )
        if len(grips.distinct) > MOST_GHOSTS:
            more = len(grips.distinct) - MOST_GHOSTS
            told.append(say("{count} further places are not outlined.", count=more))
    if answer.explains:
        explained = sum(one.explained for one in answer.explains)
        told.append(_explained_words(explained, len(answer.explains)))
    if grips is None:
        told.append(say("The larger a dot, the more often its place is struck."))
    width = layout.right - layout.left
    return tuple(row for text in told for row in wrap(text, layout.sizes.label, 500, width))


def _explained_words(explained: int, symmetries: int) -> str:
    """Say how many symmetries need no more than a hand that moves as it is."""
    counted_ones = counted(symmetries, "symmetry", "symmetries")
    if explained == symmetries == 1:
        return say("Moving the hand is all that it takes for the symmetry of pitch.")
    if explained == symmetries:
        return say(
            "Moving the hand is all that it takes for {symmetries} of pitch.",
            symmetries=counted_ones,
        )
    if not explained and symmetries == 1:
        return say("Moving the hand does not account for the symmetry of pitch.")
    if not explained:
        return say(
            "Moving the hand accounts for none of {symmetries} of pitch.", symmetries=counted_ones
        )
    return say_count(
        explained,
        "Of {symmetries} of pitch, {number} takes no more than moving the hand.",
        "Of {symmetries} of pitch, {number} take no more than moving the hand.",
        symmetries=counted_ones,
        number=in_words(explained),
    )


def _now(
    passage: Passage, shot: Shot, voices: Voices, neck: Neck
) -> Callable[[float], tuple[Mark, ...]]:
    """Make what rings the places that are struck now."""
    notes = tuple(passage.notes)
    heard_at = now_heard(shot, notes, voices.attacks)
    stroke = Stroke(colour=Colour(Role.TEXT), width=2.8)

    def rings(seconds: float) -> tuple[Mark, ...]:
        attack = heard_at(seconds)
        struck = () if attack is None else attack.notes
        places = [neck.at((notes[i].string, notes[i].fret)) for i in struck]
        return tuple(Shape(path=circle(x, y, NOW_RADIUS_PX), stroke=stroke) for x, y in places)

    return rings
