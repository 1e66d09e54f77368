"""The whole: contour, strings, mirror and clock at once, and a ray from each note to its places."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

from riffract.analysis.saying import say
from riffract.essay.shots import Shot
from riffract.music import Note
from riffract.picture.clock_subject import Subject, subject_of
from riffract.picture.contour_view import base_line, contour_marks, mass_marks
from riffract.picture.hearing import Visit, first_heard_seconds, now_heard, visits
from riffract.picture.layout import APPEAR_SECONDS, Layout, captions, claim_marks, label, layout_of
from riffract.picture.marks import (
    Colour,
    Group,
    Mark,
    Role,
    Shape,
    Stroke,
    Words,
    circle,
    rectangle,
)
from riffract.picture.page import page_scene
from riffract.picture.page_plan import string_name
from riffract.picture.scene import Cue, Page, Places, Scene, shown_share
from riffract.picture.string_mark import AHEAD, LIT, RAISED, Light
from riffract.picture.string_view import (
    StringRow,
    body_marks,
    fret_marks,
    notes_before,
    number_centre,
    strings_and_bars,
)
from riffract.picture.type import CAP_HEIGHT_SHARE, text_width
from riffract.picture.voices import Voices, voices_of
from riffract.picture.whole_drawing import (
    drawn_notes,
    glass_marks,
    is_drawn,
    length_marks,
    mirror_marks,
    naming_marks,
    panel_marks,
    raised_mass,
)
from riffract.picture.whole_plan import NAME_AIR_PX, WholePlan, Window, plan_whole
from riffract.picture.whole_reading import (
    Target,
    on_the_way,
    ray_marks,
    stations_of,
    target_at,
    targets_of,
)
from riffract.picture.whole_readout import readout_marks, readout_of
from riffract.weighing.study import Study

NOW_RADIUS_PX, NOW_INSET_PX = 24.0, 8.0
PLACE_BELOW_PX: Final = 74.0
LEAST_CONTOUR_PX: Final = 60.0
"""A lower contour has no shape."""
PARTNER_SECONDS: Final = 0.15


def whole_scene(study: Study, shot: Shot, page: Page) -> Scene:
    """Show everything at once; what a passage lacks (mirror, drone, sets) is left out.

    In a shot without music all is lit, and the ray rests on one note that has a partner. A page too
    small for contour, strings and clock together shows the strings alone.
    """
    layout = layout_of(shot, page)
    voices = voices_of(study, shot)
    plan = plan_whole(study, shot, voices, layout)
    if plan.contour_px < LEAST_CONTOUR_PX:
        return page_scene(study, shot, page)
    subject = subject_of(study, shot, voices)
    notes = tuple(study.passage.notes)
    drawing = _Drawing(
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
            *panel_marks(plan, subject, layout),
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


@dataclass(frozen=True, slots=True, kw_only=True)
class _Drawing:
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

    def cues(self, visit: Visit, before: Sequence[Visit]) -> list[Cue]:
        """List what comes up during a visit; a turn to it too, unless it is there at first."""
        window, row = self.plan.rows[visit.page]
        cues = []
        for earlier in before:
            is_new = self.plan.rows[earlier.page][0] is not window
            area = self.plan.area
            top = area.top if is_new else row.top - 1.3 * row.fret_size
            cover = rectangle(area.left, top, area.width, area.bottom - top)
            blank = Shape(path=cover, fill=Colour(Role.GROUND))
            turned = (blank, *self.sheet(visit, is_new=is_new))
            cues.append(
                Cue(at_seconds=visit.from_seconds, marks=turned, fade_seconds=APPEAR_SECONDS)
            )
        for note in self.notes:
            at = self.heard[note.index]
            if at is None or not visit.from_seconds <= at < visit.to_seconds:
                continue
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

        def at(seconds: float) -> tuple[Mark, ...]:
            visit = next(v for v in seen if seconds < v.to_seconds)
            (window, row), over = rows[visit.page], overs[visit.page]
            index = target_at(targets, seconds)
            if index is None:
                return (*over, *ring(seconds, visit))
            target = targets[index]
            since = seconds - target.start_seconds
            read = target.note if since >= 0.0 else targets[index - 1].note
            if not window.contour.holds(read):
                return (*over, *ring(seconds, visit))
            place = stations_of(read, window, row, self.plan, self.voices)
            shown, met = 1.0, 1.0
            if since >= 0.0:
                shown = round(shown_share(since, APPEAR_SECONDS), 3)
                met = round(shown_share(since, PARTNER_SECONDS), 3)
            elif window.contour.holds(target.note):
                # The words stay those of the note that is left until the next one sounds.
                end = stations_of(target.note, window, row, self.plan, self.voices)
                place = on_the_way(place, end, target.way_share(seconds)) or place
            readout = readout_of(read, window, self.voices, self.subject)
            said = readout_marks(readout, self.plan, self.layout)
            ray = ray_marks(place, row.fret_size, partner_share=met)
            return (*ray, *over, Group(marks=said, opacity=shown))

        return at

    def places(self, seen: Sequence[Visit], seconds: float) -> Places:
        """Tell where the notes of the contour that is seen stand."""
        window, _ = self.plan.rows[next(v for v in seen if seconds < v.to_seconds).page]
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
        lines, _ = length_marks(window, self.plan, self.layout)
        return [*marks, *lines, *naming_marks(window, self.plan, self.layout)]

    def _raised(self, window: Window, note: Note) -> tuple[Mark, ...]:
        """Draw a note of the contour lit over itself ahead, with its part of the mass."""
        if not window.contour.holds(note.index) or not is_drawn(self.voices, note.index):
            return ()
        placed, heights = window.contour.placed(note.index), window.contour.heights
        return (*raised_mass(window, note.index), *contour_marks(placed, heights, RAISED))

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

    def _number(
        self, window: Window, row: StringRow, note: Note, light: Light
    ) -> tuple[Words, ...]:
        """Write a fret, unless it goes without saying."""
        unwritten = note.index in window.unnumbered
        return () if unwritten else fret_marks(self.voices, row, note, light)

    def _row(self, window: Window, row: StringRow, seconds: float) -> list[Mark]:
        passage, size = self.study.passage, self.layout.sizes.label
        marks: list[Mark] = [*strings_and_bars(passage, row)]
        for string in row.strings:
            name = string_name(passage, string)
            x = row.left - NAME_AIR_PX - text_width(name, size, 500)
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


def _description(study: Study, plan: WholePlan) -> str:
    """Tell the picture in words."""
    parts = ["the moving voice as a contour", "its strings below it", "the twelve notes on a ring"]
    if any(window.mirror is not None for window in plan.windows):
        parts.insert(1, "the mirror between its limbs")
    title = study.passage.title or "The passage"
    return f"{title} as a whole: {', '.join(parts)}; a ray joins each note to its places."
