"""The sheets of the whole: its windows and rows, and what happens on them."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Final

from riffract.analysis.saying import say
from riffract.essay.shots import Shot
from riffract.music import Note
from riffract.picture.clock.subject import Subject
from riffract.picture.contour_view import (
    Placed,
    base_line,
    contour_marks,
    doubt_beside,
    mass_marks,
)
from riffract.picture.doubt_signs import doubt_of
from riffract.picture.hearing import Visit, now_heard
from riffract.picture.layout import APPEAR_SECONDS, Layout, label
from riffract.picture.marks import (
    Colour,
    Group,
    Mark,
    Role,
    Shape,
    Stroke,
    circle,
)
from riffract.picture.page.plan import string_name
from riffract.picture.scene import Cue, Places, shown_share
from riffract.picture.string_mark import AHEAD, LIT, RAISED, Light
from riffract.picture.string_view import (
    StringRow,
    body_marks,
    doubt_below,
    fret_marks,
    number_centre,
    strings_and_bars,
)
from riffract.picture.turning import heard_during, turned_to, visit_at
from riffract.picture.type import CAP_HEIGHT_SHARE, text_width
from riffract.picture.voices import Voices
from riffract.picture.whole.drawing import (
    drawn_notes,
    glass_marks,
    is_drawn,
    length_marks,
    mirror_marks,
    naming_marks,
    panel_marks,
    raised_mass,
)
from riffract.picture.whole.gaps import boxes_of_words
from riffract.picture.whole.plan import WholePlan, Window, name_air_px
from riffract.picture.whole.ray import on_the_way, ray_marks, stations_of
from riffract.picture.whole.reading import Target, target_at
from riffract.picture.whole.readout import readout_marks, readout_of
from riffract.weighing.study import Study

NOW_RADIUS_PX, NOW_INSET_PX = 24.0, 8.0
PLACE_BELOW_PX: Final = 74.0
PARTNER_SECONDS: Final = 0.15


@dataclass(frozen=True, slots=True, kw_only=True)
class WholeDrawing:
    """Draws windows and rows, and what happens on them."""

    study: Study
    shot: Shot
    layout: Layout
    voices: Voices
    plan: WholePlan
    subject: Subject
    notes: tuple[Note, ...]
    before: dict[int, Note]
    heard: dict[int, float | None]

    def sheet(self, visit: Visit, *, is_new: bool) -> tuple[Mark, ...]:
        """Draw what a visit shows when it comes up: the row, and the window if it is a new one."""
        window, row = self.plan.rows[visit.page]
        above = self._window(window, visit.from_seconds) if is_new else []
        return (*above, *self._row(window, row, visit.from_seconds))

    def panel(self) -> tuple[Mark, ...]:
        """Draw the clock on its glass."""
        return panel_marks(self.plan, self.subject, self.layout)

    def cues(self, visit: Visit, before: Sequence[Visit]) -> list[Cue]:
        """List what comes up during a visit; a turn to it too, unless it is there at first."""
        window, row = self.plan.rows[visit.page]
        cues = []
        for earlier in before:
            is_new = self.plan.rows[earlier.page][0] is not window
            area = self.plan.area
            top = area.top if is_new else row.top - 1.3 * row.fret_size
            sheet = self.sheet(visit, is_new=is_new)
            cues.append(turned_to(visit, [replace(area, top=top)], sheet))
        heard = ((note, self.heard[note.index]) for note in self.notes)
        for note, at in heard_during(visit, heard):
            marks = (*self._raised(window, note), *self._raised_number(window, row, note))
            if marks:
                cues.append(Cue(at_seconds=at, marks=marks))
        return cues

    def reading(
        self, seen: Sequence[Visit], targets: Sequence[Target]
    ) -> Callable[[float], tuple[Mark, ...]]:
        """Make what is drawn over all: mirror, and ray with readout, or the now ring without."""
        ring = self._now_ring()
        rows = self.plan.rows
        # Over what was raised: a lit mass would tint the mirror, a plumb line cross the words.
        overs = [
            (*mirror_marks(window), *length_marks(window, self.plan, self.layout)[1])
            for window, _ in rows
        ]

        names = boxes_of_words(self.panel())
        words = {
            page: boxes_of_words(
                (
                    *self._row(*rows[page], 0.0),
                    *naming_marks(rows[page][0], self.plan, self.layout),
                    *overs[page],
                )
            )
            + names
            for page in {visit.page for visit in seen}
        }

        def at(seconds: float) -> tuple[Mark, ...]:
            visit = visit_at(seen, seconds)
            (window, row), over = rows[visit.page], overs[visit.page]
            index = target_at(targets, seconds)
            if index is None:
                return (*over, *ring(seconds, visit))
            target = targets[index]
            since = seconds - target.start_seconds
            read = target.note if since >= 0.0 else targets[index - 1].note
            if not window.contour.holds(read):
                return (*over, *ring(seconds, visit))
            stations = partial(
                stations_of,
                window=window,
                row=row,
                plan=self.plan,
                voices=self.voices,
                names=names,
                words=words[visit.page],
            )
            place = stations(read)
            shown, met = 1.0, 1.0
            if since >= 0.0:
                shown = round(shown_share(since, APPEAR_SECONDS), 3)
                met = round(shown_share(since, PARTNER_SECONDS), 3)
            elif window.contour.holds(target.note):
                # The words stay those of the note that is left until the next one sounds.
                end = stations(target.note)
                place = on_the_way(place, end, target.way_share(seconds)) or place
            readout = readout_of(read, window, self.voices, self.subject)
            said = readout_marks(readout, self.plan, self.layout)
            taken = (*words[visit.page], *boxes_of_words(said))
            ray = ray_marks(place, row.fret_size, partner_share=met, words=taken)
            return (*ray, *over, Group(marks=said, opacity=shown))

        return at

    def places(self, seen: Sequence[Visit], seconds: float) -> Places:
        """Tell where the notes of the contour that is seen stand."""
        window, _ = self.plan.rows[visit_at(seen, seconds).page]
        return {p.note.index: (p.x + NOW_INSET_PX, p.y) for p in drawn_notes(window)}

    def _now_ring(self) -> Callable[[float, Visit], tuple[Mark, ...]]:
        """Make what rings the note that sounds, while no ray does."""
        heard_at = now_heard(self.shot, self.notes, self.voices.attacks)
        lead = frozenset(self.voices.lead)
        stroke = Stroke(colour=Colour(Role.TEXT), width=2.4)

        def ring(seconds: float, visit: Visit) -> tuple[Mark, ...]:
            attack = heard_at(seconds)
            if attack is None:
                return ()
            window, row = self.plan.rows[visit.page]
            index = next((i for i in attack.notes if i in lead), attack.notes[-1])
            note = self.notes[index]
            marks: list[Mark] = []
            if window.contour.holds(index) and is_drawn(self.voices, index):
                placed = window.contour.placed(index)
                place = circle(placed.x + NOW_INSET_PX, placed.y, NOW_RADIUS_PX)
                marks.append(Shape(path=place, stroke=stroke))
            if row.span.holds(note.onset_quarters):
                place = circle(*number_centre(self.voices, row, note), 0.86 * row.fret_size)
                marks.append(Shape(path=place, stroke=stroke))
            return tuple(marks)

        return ring

    def _window(self, window: Window, seconds: float) -> list[Mark]:
        contour, heights = window.contour, window.contour.heights
        marks: list[Mark] = [*glass_marks(window, self.plan)]
        marks.append(base_line(contour.left, contour.right, heights.base_y))
        dim = AHEAD if self.shot.plays else LIT
        for posture, limb in contour.masses():
            marks += mass_marks(limb, posture, heights.base_y, dim)
        for placed in drawn_notes(window):
            is_lit = self._is_lit(placed.note.index, seconds)
            if is_lit and self.shot.plays:
                marks += raised_mass(window, placed.note.index)
            marks += contour_marks(placed, heights, LIT if is_lit else AHEAD)
            marks += self._doubted(window, placed, LIT if is_lit else AHEAD)
        lines, _ = length_marks(window, self.plan, self.layout)
        return [*marks, *lines, *naming_marks(window, self.plan, self.layout)]

    def _raised(self, window: Window, note: Note) -> tuple[Mark, ...]:
        """Draw a note of the contour lit over itself ahead, with its part of the mass."""
        if not window.contour.holds(note.index) or not is_drawn(self.voices, note.index):
            return ()
        placed, heights = window.contour.placed(note.index), window.contour.heights
        return (
            *raised_mass(window, note.index),
            *contour_marks(placed, heights, RAISED),
            *self._doubted(window, placed, RAISED),
        )

    def _raised_number(self, window: Window, row: StringRow, note: Note) -> tuple[Mark, ...]:
        """Draw a note on its string lit over itself ahead, and again the number before it."""
        if not row.shows(note):
            return ()
        before = self.before.get(note.index)
        marks: list[Mark] = [
            *body_marks(self.voices, row, note, before, RAISED),
            *self._number(window, row, note, RAISED),
        ]
        if before is not None and self.heard[before.index] is not None:
            marks += self._number(window, row, before, LIT)
        return tuple(marks)

    def _number(self, window: Window, row: StringRow, note: Note, light: Light) -> tuple[Mark, ...]:
        """Write a fret and what is doubted about it, unless it goes without saying."""
        if note.index in window.unnumbered:
            return ()
        doubt = doubt_of(self.shot.doubts, note.index)
        doubted = () if doubt is None else doubt_below(self.voices, row, note, doubt, light)
        return (*fret_marks(self.voices, row, note, light), *doubted)

    def _doubted(self, window: Window, placed: Placed, light: Light) -> tuple[Mark, ...]:
        doubt = doubt_of(self.shot.doubts, placed.note.index)
        heights = window.contour.heights
        return () if doubt is None else doubt_beside(placed, heights, doubt, light)

    def _row(self, window: Window, row: StringRow, seconds: float) -> list[Mark]:
        passage, size = self.study.passage, self.layout.sizes.label
        marks: list[Mark] = [*strings_and_bars(passage, row)]
        for string in row.strings:
            name = string_name(passage, string)
            x = row.left - name_air_px(self.layout) - text_width(name, size, 500)
            y = row.y(string) + size * CAP_HEIGHT_SHARE / 2
            marks.append(label(self.layout, x, y, name))
        shown = [note for note in self.notes if row.shows(note)]
        lights = [LIT if self._is_lit(note.index, seconds) else AHEAD for note in shown]
        for note, light in zip(shown, lights, strict=True):
            marks += body_marks(self.voices, row, note, self.before.get(note.index), light)
        for note, light in zip(shown, lights, strict=True):
            marks += self._number(window, row, note, light)
        place = label(self.layout, row.left, row.bottom + PLACE_BELOW_PX, self._place(window, row))
        return [*marks, place]

    def _place(self, window: Window, row: StringRow) -> str:
        """Say which pass and bars are seen."""
        passage = self.study.passage
        first = passage.bar_at(row.span.start_quarters).number
        end = passage.bar_at(row.span.end_quarters)
        is_over = end.start_quarters >= row.span.end_quarters
        last = end.number - (1 if is_over and end.number > first else 0)
        bars = say("bars {first}–{last}", first=first, last=last)
        if last <= first:
            bars = say("bar {bar}", bar=first)
        heading = window.stretch.heading
        return (
            f"{heading}, {bars}"
            if heading and not heading.startswith(say("bar {bar}", bar="").strip())
            else bars
        )

    def _is_lit(self, index: int, seconds: float) -> bool:
        at = self.heard[index]
        return not self.shot.plays or (at is not None and at < seconds)
