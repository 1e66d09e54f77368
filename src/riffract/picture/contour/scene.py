"""The contour scene: the passage as a skyline, the same marks as on the page at their own height.

What does not fit at a size that keeps attacks apart is shown row by row, page by page.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from riffract.analysis.finding import Kind, Passes, Reading
from riffract.analysis.saying import say
from riffract.essay.shots import Shot
from riffract.music import Passage
from riffract.picture.bounds import Box
from riffract.picture.contour.departures import departures_on
from riffract.picture.contour.plan import (
    LABEL_LINE_SHARE,
    NAME_AIR_PX,
    TICK_ROOM_PX,
    ContourRow,
    contour_rows,
)
from riffract.picture.contour_view import (
    Contour,
    Placed,
    base_line,
    contour_marks,
    doubt_beside,
    mass_column,
    mass_marks,
    skyline,
)
from riffract.picture.doubt_signs import doubt_of
from riffract.picture.hearing import (
    Visit,
    first_heard_seconds,
    now_heard,
    visits,
)
from riffract.picture.layout import Layout, captions, claim_marks, label, layout_of
from riffract.picture.legend import doubt_lines, legend_marks, posture_lines
from riffract.picture.marks import Colour, Mark, Role, Shape, Stroke, polyline
from riffract.picture.now_ring import now_ring
from riffract.picture.page.departure_cues import marked_before, marked_during
from riffract.picture.page.departures import Marked
from riffract.picture.rows import Stretch
from riffract.picture.scene import Cue, Page, Places, Scene
from riffract.picture.string_mark import AHEAD, LIT, RAISED, Light
from riffract.picture.turning import heard_during, turned_to, visit_at
from riffract.picture.type import CAP_HEIGHT_SHARE, text_width
from riffract.picture.voices import Voices, chosen, voices_of
from riffract.weighing.study import Study

NOW_INSET_PX, NOW_RADIUS_PX = 6.0, 22.0
EDGE_PX, EDGE_ALPHA = 1.4, 0.55
EXTENT_PX, EXTENT_GAP_PX = 3.0, 4.0
TICK_PX: Final = 9.0
BLANK_ABOVE_PX: Final = 30.0


def contour_scene(study: Study, shot: Shot, page: Page) -> Scene:
    """Show where a passage climbs and falls, and how far.

    Passes are named below where a finding is shown: an observation of the analyst's own stands on
    bars alone.
    """
    layout = layout_of(shot, page)
    voices = voices_of(study, shot)
    finding = chosen(study, shot, Kind.PASSES) if shot.findings else None
    reading = finding.what.readings[0] if finding and isinstance(finding.what, Passes) else None
    pages = contour_rows(study.passage, voices, reading, layout)
    seen = visits(shot, [[row.contour.span for row in rows] for rows in pages])
    drawing = _Drawing(shot=shot, layout=layout, voices=voices, pages=pages, reading=reading)
    notes = tuple(study.passage.notes)
    legend = legend_marks(layout, voices, notes, study.passage, with_signs=False)
    now, speak = drawing.now(seen, voices), captions(layout, shot.lines)
    cues = [cue for visit in seen for cue in drawing.cues(visit)]
    return Scene(
        page=page,
        ground=(*claim_marks(layout), *legend, *drawing.sheet(seen[0])),
        cues=tuple(sorted(cues, key=lambda cue: cue.at_seconds)),
        length_seconds=shot.length_seconds,
        description=_description(study.passage, voices),
        moving=lambda seconds: (*now(seconds), *speak(seconds)),
        places=lambda seconds: drawing.places(seen, seconds),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Drawing:
    """Draws pages of rows, and what happens on them."""

    shot: Shot
    layout: Layout
    voices: Voices
    pages: Sequence[Sequence[ContourRow]]
    reading: Reading | None

    def sheet(self, visit: Visit) -> tuple[Mark, ...]:
        """Draw a page as it is when it is turned to: what was heard before is lit."""
        marks: list[Mark] = []
        for row in self.pages[visit.page]:
            marks += _frame(row, self.layout)
            marks += self._masses(row.contour, visit.from_seconds)
            for placed in _placed(row.contour):
                is_lit = self._is_lit(placed, visit.from_seconds)
                light = LIT if is_lit else AHEAD
                marks += contour_marks(placed, row.contour.heights, light)
                marks += self._doubted(row.contour, placed, light)
        marks += marked_before(self._departures(visit), self.shot, visit)
        return tuple(marks)

    def cues(self, visit: Visit) -> list[Cue]:
        """List what comes up during a visit; the page itself too, unless it is there at first."""
        cues = []
        if visit.from_seconds > 0.0:
            cues.append(turned_to(visit, [self._page_room()], self.sheet(visit)))
        for row in self.pages[visit.page]:
            heard = ((p, first_heard_seconds(self.shot, p.note)) for p in _placed(row.contour))
            for placed, at in heard_during(visit, heard):
                doubted = self._doubted(row.contour, placed, RAISED)
                cues.append(Cue(at_seconds=at, marks=(*_raised(row.contour, placed), *doubted)))
        return cues + marked_during(self._departures(visit), self.shot, visit)

    def now(self, seen: Sequence[Visit], voices: Voices) -> Callable[[float], tuple[Mark, ...]]:
        """Make what rings the note that sounds."""
        notes = tuple(self.pages[0][0].contour.passage.notes)
        heard_at = now_heard(self.shot, notes, voices.attacks)
        lead = frozenset(voices.lead)

        def ring(seconds: float) -> tuple[Mark, ...]:
            attack = heard_at(seconds)
            if attack is None:
                return ()
            index = next((i for i in attack.notes if i in lead), attack.notes[-1])
            rows = self.pages[visit_at(seen, seconds).page]
            at = [row.contour.placed(index) for row in rows if row.contour.holds(index)]
            return tuple(now_ring(p.x + NOW_INSET_PX, p.y, NOW_RADIUS_PX) for p in at)

        return ring

    def places(self, seen: Sequence[Visit], seconds: float) -> Places:
        """Tell where the notes of the page that is seen stand."""
        rows = self.pages[visit_at(seen, seconds).page]
        shown = (placed for row in rows for placed in _placed(row.contour))
        return {placed.note.index: (placed.x + NOW_INSET_PX, placed.y) for placed in shown}

    def _masses(self, contour: Contour, seconds: float) -> list[Mark]:
        base_y = contour.heights.base_y
        marks: list[Mark] = []
        for posture, notes in contour.masses():
            marks += mass_marks(notes, posture, base_y, AHEAD if self.shot.plays else LIT)
            for at, placed in enumerate(notes):
                if self.shot.plays and self._is_lit(placed, seconds):
                    marks += mass_column(notes, at, posture, base_y, RAISED)
            marks.append(_edge(notes))
        return marks

    def _page_room(self) -> Box:
        passage = self.pages[0][0].contour.passage
        explained = posture_lines(self.layout, self.voices, tuple(passage.notes), passage)
        lines = len(explained) + len(doubt_lines(self.layout))
        room = self.layout.picture_above_notes(lines)
        right = float(self.layout.page.width)
        return Box(left=0.0, top=room.top - BLANK_ABOVE_PX, right=right, bottom=room.bottom)

    def _departures(self, visit: Visit) -> tuple[Marked, ...]:
        """Mark what passes change, in a shot about passes."""
        kinds = {weighed.finding.kind for weighed in self.shot.findings}
        if self.reading is None or Kind.PASSES not in kinds:
            return ()
        return departures_on(self.pages[visit.page], self.reading, self.voices, self.layout)

    def _doubted(self, contour: Contour, placed: Placed, light: Light) -> tuple[Mark, ...]:
        doubt = doubt_of(self.shot.doubts, placed.note.index)
        return () if doubt is None else doubt_beside(placed, contour.heights, doubt, light)

    def _is_lit(self, placed: Placed, seconds: float) -> bool:
        at = first_heard_seconds(self.shot, placed.note)
        return not self.shot.plays or (at is not None and at < seconds)


def _placed(contour: Contour) -> list[Placed]:
    """Place all notes; those of the moving voice last, over the rest."""
    lead = frozenset(contour.voices.lead)
    own = [i for i in range(len(contour.passage.notes)) if contour.holds(i)]
    return [contour.placed(i) for i in sorted(own, key=lambda i: (i in lead, i))]


def _raised(contour: Contour, placed: Placed) -> tuple[Mark, ...]:
    """Draw a note lit over itself ahead, with what it stands for below."""
    marks: list[Mark] = []
    for posture, notes in contour.masses():
        for at, one in enumerate(notes):
            if one.note.index == placed.note.index:
                marks += mass_column(notes, at, posture, contour.heights.base_y, RAISED)
    return (*marks, *contour_marks(placed, contour.heights, RAISED))


def _edge(notes: Sequence[Placed]) -> Mark:
    """Draw the upper edge of a mass, so that each step of a slope is seen."""
    stroke = Stroke(colour=Colour(Role.QUIET, EDGE_ALPHA), width=EDGE_PX)
    return Shape(path=polyline(skyline(notes)), stroke=stroke)


def _frame(row: ContourRow, layout: Layout) -> list[Mark]:
    """Draw what does not sound: bar lines, ticks, names of heights, and what the row shows."""
    contour, size = row.contour, layout.sizes.label
    base_y = contour.heights.base_y
    marks: list[Mark] = [*_bar_lines(row), base_line(contour.left, contour.right, base_y)]
    for name in row.names:
        x = contour.left - NAME_AIR_PX - text_width(name.text, size, 600)
        role = Role.DRONE if name.is_drone else Role.QUIET
        y = name.y + size * CAP_HEIGHT_SHARE / 2
        marks.append(label(layout, x, y, name.text, role, strong=True))
    for part, following in zip(row.parts, (*row.parts[1:], None), strict=True):
        marks += _extent(contour, part, following, layout)
    return marks


def _bar_lines(row: ContourRow) -> list[Mark]:
    """Draw a line for each bar, and below the base line a tick for each of its units."""
    contour, bottom = row.contour, row.contour.heights.base_y
    bars = [b for b in contour.passage.bars if b.span.overlap_quarters(contour.span)]
    starts = {contour.span.start_quarters, *(bar.start_quarters for bar in bars)}
    shown = [at for at in sorted(starts) if contour.span.holds(at)]
    lines = [
        p for at in shown for p in polyline([(contour.x(at), row.top), (contour.x(at), bottom)])
    ]
    ticks = [
        p
        for bar in bars
        for at in _units(bar.start_quarters, bar.span.end_quarters, bar.metre.unit_quarters)
        if contour.span.holds(at)
        for p in polyline([(contour.x(at), bottom + 2.0), (contour.x(at), bottom + 2.0 + TICK_PX)])
    ]
    return [
        Shape(path=tuple(lines), stroke=Stroke(colour=Colour(Role.BAR), width=1.6)),
        Shape(path=tuple(ticks), stroke=Stroke(colour=Colour(Role.STRING), width=1.6)),
    ]


def _units(start: Fraction, end: Fraction, unit: Fraction) -> list[Fraction]:
    return [start + k * unit for k in range(int((end - start) / unit))]


def _extent(
    contour: Contour, part: Stretch, following: Stretch | None, layout: Layout
) -> list[Mark]:
    """Draw how far a stretch reaches, and name it as far as there is room."""
    size, base_y = layout.sizes.label, contour.heights.base_y
    left, right = contour.x(part.span.start_quarters), contour.x(part.span.end_quarters)
    y = base_y + TICK_ROOM_PX - 4.0
    role = Role.QUIET if part.pass_index is None else Role.TEXT
    line = polyline([(left + EXTENT_GAP_PX, y), (max(right - EXTENT_GAP_PX, left + 8.0), y)])
    marks: list[Mark] = [Shape(path=line, stroke=Stroke(colour=Colour(role), width=EXTENT_PX))]
    room = (layout.right if following is None else right) - left - size / 2
    x, first = left + EXTENT_GAP_PX, y + LABEL_LINE_SHARE * size
    if text_width(part.heading, size, 600) <= room:
        marks.append(label(layout, x, first, part.heading, Role.TEXT, strong=True))
        if part.detail and text_width(part.detail, size, 500) <= room:
            marks.append(label(layout, x, first + LABEL_LINE_SHARE * size, part.detail))
    return marks


def _description(passage: Passage, voices: Voices) -> str:
    """Tell the picture in words."""
    ways = [limb.direction for limb in voices.limbs]
    title = passage.title or say("The passage")
    shape = say(
        "{title} as a skyline: time from left to right, each note at the height of its pitch.",
        title=title,
    )
    if not ways:
        return shape
    return f"{shape} {say('It goes, in turn: {ways}.', ways=', '.join(map(say, ways)))}"
