"""The thread scene: a string that rings on, the voice that passes it, the fabric between them."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

from riffract.analysis.finding import Colour as DroneColour
from riffract.analysis.finding import Drone, Kind
from riffract.analysis.saying import say
from riffract.analysis.wording import listed
from riffract.essay.shots import Shot
from riffract.picture.bounds import Box
from riffract.picture.contour_view import Placed, doubt_beside
from riffract.picture.doubt_signs import doubt_of
from riffract.picture.fabric import HEARD, Weave, fabric_marks, weave_of
from riffract.picture.hearing import Visit, first_heard_seconds, now_heard, visits
from riffract.picture.layout import Layout, captions, claim_marks, layout_of
from riffract.picture.legend import doubt_lines
from riffract.picture.legend_lines import Entry, broken, written
from riffract.picture.marks import Colour, Mark, Role, Shape, Stroke, polyline
from riffract.picture.now_ring import now_ring
from riffract.picture.scene import Cue, Page, Places, Scene
from riffract.picture.string_mark import AHEAD, LIT, RAISED, Light
from riffract.picture.thread.parts import Part, thread_parts
from riffract.picture.turning import heard_during, turned_to, visit_at
from riffract.picture.type import CAP_HEIGHT_SHARE
from riffract.picture.voices import Voices, chosen, drone_letter, voices_of
from riffract.weighing.study import Study

NOW_RADIUS_PX, NOW_INSET_PX = 24.0, 8.0
THREAD_PX: Final = 2.2
SAMPLE_PX: Final = 58.0
"""Of a weave in the line that says how it sounds."""


def thread_scene(study: Study, shot: Shot, page: Page) -> Scene:
    """Show how a ringing string colours what moves; a long passage in parts, as it sounds.

    Raises:
        ValueError: if the study has no drone to show.
    """
    finding = chosen(study, shot, Kind.DRONE)
    if finding is None or not isinstance(finding.what, Drone):
        raise ValueError("a thread needs a finding of the kind `drone`, and the study has none")
    drone = finding.what
    whole, voices = layout_of(shot, page), voices_of(study, shot)
    # Only notes that are drawn are doubted here.
    drawn = {colour.note for colour in drone.colours} | voices.ringing_notes
    whole = replace(whole, doubts=tuple(d for d in shot.doubts if d.note in drawn))
    notes = (*broken(whole, _weaves(drone, whole)), *doubt_lines(whole))
    layout = whole.raised_by_notes(max(len(notes) - 1, 0))
    parts = thread_parts(study, voices, drone, layout)
    seen = visits(shot, [[part.contour.span] for part in parts])
    drawing = _Drawing(study=study, shot=shot, layout=layout, parts=parts)
    cues = [cue for visit in seen for cue in drawing.cues(visit)]
    now, speak = drawing.now(seen, voices), captions(layout, shot.lines)
    return Scene(
        page=page,
        ground=(
            *claim_marks(layout),
            *written(whole, notes),
            *drawing.sheet(seen[0]),
        ),
        cues=tuple(sorted(cues, key=lambda cue: cue.at_seconds)),
        length_seconds=shot.length_seconds,
        description=_description(voices, drone),
        moving=lambda seconds: (*now(seconds), *speak(seconds)),
        places=lambda seconds: drawing.places(seen, seconds),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Drawing:
    """Draws parts, and what happens on them."""

    study: Study
    shot: Shot
    layout: Layout
    parts: Sequence[Part]

    def sheet(self, visit: Visit) -> tuple[Mark, ...]:
        """Draw a part as it is when it comes up; the fabric is there once it was heard."""
        part = self.parts[visit.page]
        marks: list[Mark] = []
        for colour in part.colours:
            if self._was_heard(colour.note, visit.from_seconds):
                marks += part.fabric(colour)
        marks += _string(part)
        marks += _path(part)
        for placed in (*part.strokes, *part.voice):
            light = LIT if self._was_heard(placed.note.index, visit.from_seconds) else AHEAD
            marks += part.marks_of(placed, light)
            marks += self._doubted(part, placed, light)
        marks += part.string_names
        for note, words in part.names.items():
            if self._was_heard(note, visit.from_seconds):
                marks.append(words)
        return tuple(marks)

    def cues(self, visit: Visit) -> list[Cue]:
        """List what comes up during a visit; the part itself too, unless it is there at first."""
        part = self.parts[visit.page]
        cues = []
        if visit.from_seconds > 0.0:
            above = self.layout.picture_above_note
            right = float(self.layout.page.width)
            room = Box(left=0.0, top=above.top - 10.0, right=right, bottom=above.bottom)
            cues.append(turned_to(visit, [room], self.sheet(visit)))
        colours = {colour.note: colour for colour in part.colours}
        shown = (*filter(part.starts_here, part.strokes), *part.voice)
        heard = ((placed, first_heard_seconds(self.shot, placed.note)) for placed in shown)
        for placed, at in heard_during(visit, heard):
            marks = self._raised(part, placed, colours.get(placed.note.index))
            cues.append(Cue(at_seconds=at, marks=marks))
        return cues

    def now(self, seen: Sequence[Visit], voices: Voices) -> Callable[[float], tuple[Mark, ...]]:
        """Make what rings the note that sounds."""
        heard_at = now_heard(self.shot, tuple(self.study.passage.notes), voices.attacks)

        def ring(seconds: float) -> tuple[Mark, ...]:
            attack = heard_at(seconds)
            if attack is None:
                return ()
            part = self.parts[visit_at(seen, seconds).page]
            struck = (*part.voice, *filter(part.starts_here, part.strokes))
            shown = [p for p in struck if p.note.index in attack.notes]
            return tuple(
                now_ring(placed.x + NOW_INSET_PX, placed.y, NOW_RADIUS_PX) for placed in shown[:1]
            )

        return ring

    def places(self, seen: Sequence[Visit], seconds: float) -> Places:
        """Tell where the notes of the part that is seen stand."""
        part = self.parts[visit_at(seen, seconds).page]
        struck = (*part.voice, *filter(part.starts_here, part.strokes))
        return {p.note.index: (p.x + NOW_INSET_PX, p.y) for p in struck}

    def _raised(self, part: Part, placed: Placed, colour: DroneColour | None) -> tuple[Mark, ...]:
        """Draw a note lit, with its fabric behind and its name beside it."""
        marks: list[Mark] = [*part.fabric(colour)] if colour is not None else []
        marks += part.marks_of(placed, RAISED)
        marks += self._doubted(part, placed, RAISED)
        if placed.note.index in part.names:
            marks.append(part.names[placed.note.index])
        return tuple(marks)

    def _doubted(self, part: Part, placed: Placed, light: Light) -> tuple[Mark, ...]:
        doubt = doubt_of(self.layout.doubts, placed.note.index)
        return () if doubt is None else doubt_beside(placed, part.contour.heights, doubt, light)

    def _was_heard(self, note: int, seconds: float) -> bool:
        at = first_heard_seconds(self.shot, self.study.passage.notes[note])
        return not self.shot.plays or (at is not None and at < seconds)


def _string(part: Part) -> list[Mark]:
    """Draw the ringing strings themselves, while they ring."""
    stroke = Stroke(colour=Colour(Role.DRONE, 0.5), width=THREAD_PX)
    marks: list[Mark] = []
    for y in dict.fromkeys(placed.y for placed in part.strokes):
        own = [placed for placed in part.strokes if placed.y == y]
        left = max(min(p.x for p in own), part.contour.left)
        right = max(p.end_x for p in own)
        marks.append(Shape(path=polyline([(left, y), (right, y)]), stroke=stroke))
    return marks


def _path(part: Part) -> list[Mark]:
    """Draw the way from each note of the voice to the next."""
    marks: list[Mark] = []
    for before, after in zip(part.voice, part.voice[1:], strict=False):
        line = polyline([(min(before.end_x, after.x), before.y), (after.x, after.y)])
        stroke = Stroke(colour=Colour(Role.QUIET, 0.55), width=1.5)
        marks.append(Shape(path=line, stroke=stroke))
    return marks


def _weaves(drone: Drone, layout: Layout) -> tuple[Entry, ...]:
    """Tell how each weave that occurs sounds."""
    found = {weave_of(colour.semitones) for colour in drone.colours}
    return tuple(
        Entry(width=SAMPLE_PX, draw=_sample(weave, layout), words=words)
        for weave, words in HEARD.items()
        if weave in found
    )


def _sample(weave: Weave, layout: Layout) -> Callable[[float, float], tuple[Mark, ...]]:
    height = layout.sizes.label

    def draw(x: float, baseline: float) -> tuple[Mark, ...]:
        top = baseline - 0.5 * height * (1.0 + CAP_HEIGHT_SHARE)
        box = Box(left=x, top=top, right=x + SAMPLE_PX, bottom=top + height)
        return fabric_marks(weave, box)

    return draw


def _description(voices: Voices, drone: Drone) -> str:
    """Tell the picture in words."""
    letter = drone_letter(voices, drone)
    names = listed(list(dict.fromkeys(colour.name for colour in drone.colours)))
    if drone.is_open:
        return say(
            "The open string {note} rings on; the moving voice passes it at these intervals: "
            "{intervals}.",
            note=letter,
            intervals=names,
        )
    return say(
        "The string {note} rings on; the moving voice passes it at these intervals: {intervals}.",
        note=letter,
        intervals=names,
    )
