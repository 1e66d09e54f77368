"""The page scene: the passage as strings in time, one row a pass or a few bars.

Everything is drawn at a size that can be read; what does not fit is shown page by page, and the
page that sounds is the one that is seen.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from riffract.analysis.finding import Kind, Passes, Reading
from riffract.analysis.saying import say
from riffract.essay.shots import Doubt, Shot
from riffract.music import Note
from riffract.picture.bounds import Box, bounds_of
from riffract.picture.hearing import (
    Visit,
    first_heard_seconds,
    now_heard,
    visits,
)
from riffract.picture.layout import Layout, captions, claim_marks, label, layout_of
from riffract.picture.lead_in import LeadIn, lead_ins
from riffract.picture.legend import legend_marks, posture_lines
from riffract.picture.marks import Mark, Role, Shape, Words
from riffract.picture.now_ring import clear_radius, now_ring
from riffract.picture.over_row import OverRow, over_marks, over_rows
from riffract.picture.page.departure_cues import marked_before, marked_during
from riffract.picture.page.departures import Marked, marked_departures
from riffract.picture.page.plan import (
    LABEL_LEADING,
    NAME_AIR_PX,
    PlacedRow,
    Plan,
    detail_lines,
    plan_rows,
    string_name,
)
from riffract.picture.scene import Cue, Page, Places, Scene
from riffract.picture.string_mark import AHEAD, LIT, RAISED, Light
from riffract.picture.string_view import (
    body_marks,
    doubt_below,
    fret_marks,
    lead_marks,
    notes_before,
    number_centre,
    strings_and_bars,
)
from riffract.picture.turning import heard_during, turned_to, visit_at
from riffract.picture.type import CAP_HEIGHT_SHARE, text_width
from riffract.picture.voices import Voices, chosen, voices_of
from riffract.weighing.study import Study

NOW_RADIUS_SHARE, LEAST_NOW_RADIUS_SHARE = 0.86, 0.6
"""Of the ring, over the size of a number: usually, and where other numbers stand close."""

NEAR_NOTES: Final = 12
"""So many notes before and after one may have numbers near its own."""

BLANK_ABOVE_PX, WHERE_ABOVE_PX = 28.0, 20.0
"""How far above the rows a page turned over reaches, and how much higher on the side where it says
which bars are seen: on the other side stands how firm the claim is."""


def page_scene(study: Study, shot: Shot, page: Page) -> Scene:
    """Show the whole passage, or as much of it as can be read at once.

    Rows are passes only where a finding is shown: an observation of the analyst's own stands on
    bars alone. Departures are marked where the shot is about passes.
    """
    layout = layout_of(shot, page)
    voices = voices_of(study, shot)
    finding = chosen(study, shot, Kind.PASSES) if shot.findings else None
    reading = finding.what.readings[0] if finding and isinstance(finding.what, Passes) else None
    notes = tuple(study.passage.notes)
    explained = len(posture_lines(layout, voices, notes, study.passage))
    about = {weighed.finding.kind for weighed in shot.findings}
    plan = plan_rows(
        study.passage,
        notes,
        reading,
        layout,
        posture_lines=explained,
        with_departures=reading is not None and Kind.PASSES in about,
    )
    sheets = _Sheets(
        study=study,
        shot=shot,
        layout=layout,
        voices=voices,
        plan=plan,
        notes=notes,
        leads=lead_ins(study.passage),
        over=over_rows(study.passage),
        before=notes_before(notes),
        heard={note.index: first_heard_seconds(shot, note) for note in notes},
        reading=reading,
        doubts={doubt.note: doubt for doubt in shot.doubts},
    )
    seen = visits(shot, [[placed.stretch.span for placed in rows] for rows in plan.pages])
    cues = sorted((c for v in seen for c in sheets.cues(v)), key=lambda cue: cue.at_seconds)
    explained_below = legend_marks(
        layout, voices, notes, study.passage, most_lines=plan.legend_lines
    )
    legend = explained_below if plan.legend_lines else ()
    now, speak = sheets.now(seen), captions(layout, shot.lines)
    return Scene(
        page=page,
        ground=(*claim_marks(layout), *legend, *sheets.sheet(seen[0])),
        cues=tuple(cues),
        length_seconds=shot.length_seconds,
        description=_description(study, plan),
        moving=lambda seconds: (*now(seconds), *speak(seconds)),
        places=lambda seconds: sheets.places(seen, seconds),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Sheets:
    """Draws pages of rows and what happens on them."""

    study: Study
    shot: Shot
    layout: Layout
    voices: Voices
    plan: Plan
    notes: tuple[Note, ...]
    leads: Mapping[int, LeadIn]
    over: OverRow
    before: dict[int, Note]
    heard: dict[int, float | None]
    reading: Reading | None
    doubts: Mapping[int, Doubt]

    def sheet(self, visit: Visit) -> tuple[Mark, ...]:
        """Draw a page as it is when it is turned to: what was heard before is lit."""
        marks: list[Mark] = [*self._where(visit)]
        for placed in self.plan.pages[visit.page]:
            marks += strings_and_bars(self.study.passage, placed.row)
            marks += self._labels(placed)
            marks += self._over(placed)
        for placed in self.plan.pages[visit.page]:
            shown = [note for note in self.notes if placed.row.shows(note)]
            lights = [self._light(note, visit.from_seconds) for note in shown]
            for note, light in zip(shown, lights, strict=True):
                before = self.before.get(note.index)
                lead = self.leads.get(note.index)
                marks += body_marks(self.voices, placed.row, note, before, light, lead=lead)
            for note, light in zip(shown, lights, strict=True):
                marks += self._numbers(placed, note, light)
        marks += marked_before(self._departures(visit), self.shot, visit)
        return tuple(marks)

    def cues(self, visit: Visit) -> list[Cue]:
        """List what comes up during a visit; the page itself too, unless it is there at first."""
        cues = []
        if visit.from_seconds > 0.0:
            cues.append(turned_to(visit, self._page_rooms(), self.sheet(visit)))
        heard = ((note, self.heard[note.index]) for note in self.notes)
        for note, at in heard_during(visit, heard):
            raised = tuple(
                mark
                for placed in self.plan.pages[visit.page]
                for mark in self._raised(placed, note)
            )
            if raised:
                cues.append(Cue(at_seconds=at, marks=raised))
        return cues + marked_during(self._departures(visit), self.shot, visit)

    def now(self, seen: Sequence[Visit]) -> Callable[[float], tuple[Mark, ...]]:
        """Make what rings the number that sounds."""
        heard_at = now_heard(self.shot, self.notes, self.voices.attacks)
        lead = frozenset(self.voices.lead)
        told = {visit.page: self._told(visit) for visit in seen}

        def ring(seconds: float) -> tuple[Mark, ...]:
            attack = heard_at(seconds)
            if attack is None:
                return ()
            note = self.notes[next((i for i in attack.notes if i in lead), attack.notes[-1])]
            visit = visit_at(seen, seconds)
            return tuple(
                self._ring(placed, note, told[visit.page])
                for placed in self.plan.pages[visit.page]
                if placed.row.span.holds(note.onset_quarters)
            )

        return ring

    def _told(self, visit: Visit) -> list[Box]:
        """Give the room of the words on a page that are no numbers."""
        marks = [mark for marked in self._departures(visit) for mark in marked.marks]
        for placed in self.plan.pages[visit.page]:
            marks += (*self._labels(placed), *self._over(placed))
        return _boxes(mark for mark in marks if isinstance(mark, Words))

    def _ring(self, placed: PlacedRow, note: Note, told: Sequence[Box]) -> Shape:
        """Ring a number, clear of those beside it and of what is told around it."""
        row, at = placed.row, note.index
        near = (*self.notes[max(at - NEAR_NOTES, 0) : at], *self.notes[at + 1 : at + NEAR_NOTES])
        written = _boxes(w for other in near for w in fret_marks(self.voices, row, other, LIT))
        x, y = number_centre(self.voices, row, note)
        radius = clear_radius(
            x,
            y,
            (*written, *told),
            least=LEAST_NOW_RADIUS_SHARE * row.fret_size,
            most=NOW_RADIUS_SHARE * row.fret_size,
        )
        return now_ring(x, y, radius)

    def places(self, seen: Sequence[Visit], seconds: float) -> Places:
        """Tell where the numbers of the page that is seen stand."""
        visit = visit_at(seen, seconds)
        return {
            note.index: number_centre(self.voices, placed.row, note)
            for placed in self.plan.pages[visit.page]
            for note in self.notes
            if placed.row.span.holds(note.onset_quarters)
        }

    def _departures(self, visit: Visit) -> tuple[Marked, ...]:
        kinds = {weighed.finding.kind for weighed in self.shot.findings}
        if self.reading is None or Kind.PASSES not in kinds:
            return ()
        return marked_departures(
            self.plan.pages[visit.page],
            self.reading,
            self.voices,
            self.notes,
            self.layout,
            leads=self.leads,
            legend_lines=self.plan.legend_lines,
        )

    def _light(self, note: Note, seconds: float) -> Light:
        heard = self.heard[note.index]
        was_heard = heard is not None and heard < seconds
        return LIT if was_heard or not self.shot.plays else AHEAD

    def _raised(self, placed: PlacedRow, note: Note) -> list[Mark]:
        """Draw a note lit over itself ahead, and again the number before, which it may cover."""
        if not placed.row.shows(note):
            return []
        before = self.before.get(note.index)
        lead = self.leads.get(note.index)
        marks: list[Mark] = [
            *body_marks(self.voices, placed.row, note, before, RAISED, lead=lead),
            *self._numbers(placed, note, RAISED),
        ]
        if before is not None and self.heard[before.index] is not None:
            marks += fret_marks(self.voices, placed.row, before, LIT)
        return marks

    def _numbers(self, placed: PlacedRow, note: Note, light: Light) -> tuple[Mark, ...]:
        """Write a note's number and the graces that it shows."""
        lead = self.leads.get(note.index)
        graces = lead_marks(placed.row, note, lead, light) if lead else ()
        doubt = self.doubts.get(note.index)
        doubted = doubt_below(self.voices, placed.row, note, doubt, light) if doubt else ()
        return (*graces, *fret_marks(self.voices, placed.row, note, light), *doubted)

    def _over(self, placed: PlacedRow) -> tuple[Mark, ...]:
        row = placed.row
        return over_marks(
            self.over,
            row.span,
            left=row.left,
            px_per_quarter=row.px_per_quarter,
            bottom=row.top - row.mark_height,
            fret_size=row.fret_size,
            label_size=self.layout.sizes.label,
        )

    def _page_rooms(self) -> tuple[Box, Box]:
        """Give the room of a page and of what says which bars it shows, not what stands beside."""
        room = self.layout.picture_above_notes(self.plan.legend_lines)
        width = float(self.layout.page.width)
        top = room.top - BLANK_ABOVE_PX
        left = 0.0 if self.layout.is_turned else width / 2
        return (
            Box(left=0.0, top=top, right=width, bottom=room.bottom),
            Box(left=left, top=top - WHERE_ABOVE_PX, right=left + width / 2, bottom=room.top),
        )

    def _where(self, visit: Visit) -> tuple[Mark, ...]:
        """Say which bars are seen, if not all are."""
        passage = self.study.passage
        if len(self.plan.pages) == 1 or len(passage.bars) == 1:
            return ()
        first = passage.bar_at(self.plan.pages[visit.page][0].stretch.span.start_quarters).number
        end = self.plan.pages[visit.page][-1].stretch.span.end_quarters
        last = passage.bar_at(end)
        number = last.number - (1 if last.start_quarters >= end else 0)
        whole = len(passage.bars)
        text = say("bars {first}–{last} of {whole}", first=first, last=number, whole=whole)
        if number <= first:
            text = say("bar {first} of {whole}", first=first, whole=whole)
        x = self.layout.right - text_width(text, self.layout.sizes.label, 500)
        if self.layout.is_turned:  # The line that tells how firm the claim is stands at the right.
            x = self.layout.left
        return (label(self.layout, x, self.layout.picture.top - 12.0, text),)

    def _labels(self, placed: PlacedRow) -> list[Mark]:
        layout, row, stretch = self.layout, placed.row, placed.stretch
        size = layout.sizes.label
        half_cap = size * CAP_HEIGHT_SHARE / 2
        marks: list[Mark] = []
        if placed.has_names:
            for string in row.strings:
                name = string_name(self.study.passage, string)
                x = row.left - row.lead_px - NAME_AIR_PX - text_width(name, size, 500)
                marks.append(label(layout, x, row.y(string) + half_cap, name))
        if placed.label == "above":
            y = row.top - row.mark_height - row.over_px - 0.55 * size
            marks.append(label(layout, row.left, y, stretch.heading, Role.TEXT, strong=True))
            x = row.left + text_width(stretch.heading, size, 600) + 0.7 * size
            return [*marks, label(layout, x, y, stretch.detail)]
        middle = (row.top + row.bottom) / 2
        said = [(stretch.heading, True)] if stretch.heading else []
        said += [(line, False) for line in detail_lines(stretch, layout)]
        y = middle + half_cap - LABEL_LEADING / 2 * size * (len(said) - 1)
        for text, strong in said:
            role = Role.TEXT if strong else Role.QUIET
            marks.append(label(layout, layout.left, y, text, role, strong=strong))
            y += LABEL_LEADING * size
        return marks


def _boxes(words: Iterable[Words]) -> list[Box]:
    return [box for box in map(bounds_of, words) if box is not None]


def _description(study: Study, plan: Plan) -> str:
    """Tell the picture in words, row by row."""
    rows = [placed.stretch for page in plan.pages for placed in page]
    named = "; ".join(
        f"{r.heading} ({r.detail})" if r.heading and r.detail else r.heading or r.detail
        for r in rows
    )
    return say(
        "{title} as strings in time, low strings at the bottom, fret numbers on the strings. Rows, "
        "by where they begin: {rows}.",
        title=study.passage.title or say("The passage"),
        rows=named,
    )
