"""The rows of a stack: each pass as a contour, on the common axis."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from riffract.analysis.attacks import Attack
from riffract.analysis.finding import OtherMaterial, Pass, Reading
from riffract.analysis.saying import say
from riffract.essay.shots import Shot
from riffract.music import Passage, Span
from riffract.picture.bounds import Box
from riffract.picture.contour_view import Heights, Placed, heights_for
from riffract.picture.departures import Departure, attacks_in, departures_of, tail_of_template
from riffract.picture.pitch_ways import pitches_reached, start_pitch
from riffract.picture.stack.axis import Axis, axis_of
from riffract.picture.string_mark import Posture
from riffract.picture.string_view import sound_end
from riffract.picture.voices import Voices, posture_of

LEAST_ROW_PX, EASY_ROW_PX, TALLEST_ROW_PX = 112.0, 150.0, 380.0
"""Rows are as low as the first only if no pass that departs is left out otherwise: repeats may be,
so that the others are read easily, with room for words over their notes."""

MOST_PX_PER_QUARTER: Final = 540.0
ROW_AIR_SHARE, LEAST_ROW_AIR_PX, MOST_ROW_AIR_PX = 0.3, 14.0, 62.0


@dataclass(frozen=True, slots=True, kw_only=True)
class StackRow:
    """One row of a stack.

    Attributes:
        heading, number: `pass` and `2`, or `tag` and nothing.
        span: what stretch of the passage it shows.
        box: its room.
        heights: where its pitches lie.
        notes: those drawn, by time.
        limbs: the notes of each limb, with its posture.
        departures: what it changes.
        expected: for each departure the template's notes there, where they would stand.
        is_model: whether it states the template itself.
        empty_slots: from and to where, px, other rows have more.
        borrowed: for a tag, what it quotes.
    """

    heading: str
    number: str
    span: Span
    box: Box
    heights: Heights
    notes: tuple[Placed, ...]
    limbs: tuple[tuple[Posture, tuple[Placed, ...]], ...]
    departures: tuple[Departure, ...]
    expected: tuple[tuple[Placed, ...], ...]
    is_model: bool
    empty_slots: tuple[tuple[float, float], ...]
    borrowed: str = ""

    @property
    def is_tag(self) -> bool:
        """Whether it stands before the first pass."""
        return bool(self.borrowed)

    @property
    def waits(self) -> tuple[tuple[float, float], ...]:
        """From and to where, px, nothing is struck in it while other rows go on."""
        struck = [placed for placed in self.notes if placed.posture is not Posture.RINGS]
        return tuple(
            (start, end)
            for start, end in self.empty_slots
            if not any(placed.x < end and placed.end_x > start for placed in struck)
        )

    def placed(self, note: int) -> Placed | None:
        """Find a note of the passage in the row."""
        return next((p for p in self.notes if p.note.index == note), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Scale:
    """From the axis to the page."""

    left: float
    px_per_quarter: float

    def x(self, quarters: Fraction) -> float:
        return self.left + float(quarters) * self.px_per_quarter


def stack_rows(
    passage: Passage, voices: Voices, reading: Reading, shot: Shot, room: Box
) -> tuple[StackRow, ...]:
    """Place the passes that fit: those that depart and those that sound before those that do not.

    A tag that repeats the end of the riff gets a row of its own above them, in step with it.
    """
    attacks = voices.attacks
    template = attacks_in(attacks, reading.template.start_quarters, reading.template.end_quarters)
    axis = axis_of(template, reading.passes, attacks)
    scale = _Scale(
        left=room.left,
        px_per_quarter=min(room.width / float(axis.length_quarters), MOST_PX_PER_QUARTER),
    )
    tag = _tag(attacks, template, reading.other)
    most, easy = int(room.height / LEAST_ROW_PX), int(room.height / EASY_ROW_PX)
    told = 1 + sum(_departs(one) for one in reading.passes)
    is_cut = len(reading.passes) + bool(tag) > most
    chosen = _chosen(reading, shot, (easy if is_cut and told <= easy else most) - bool(tag))
    count = len(chosen) + bool(tag)
    row_px = min(room.height / count, TALLEST_ROW_PX)
    top = room.top + (room.height - row_px * count) * 0.35
    shown = {*voices.lead, *voices.ringing_notes}
    pitches = [p for i in shown for p in pitches_reached(passage.notes[i])]
    boxes = [
        Box(
            left=room.left,
            top=top + i * row_px,
            right=scale.x(axis.length_quarters),
            bottom=top + (i + 1) * row_px,
        )
        for i in range(count)
    ]
    maker = _RowMaker(
        passage=passage,
        voices=voices,
        reading=reading,
        template=tuple(template),
        axis=axis,
        scale=scale,
        pitches=tuple(p for p in pitches if p >= 0),
    )
    rows = [maker.tag_row(tag, boxes[0])] if tag else []
    rows += [maker.pass_row(i, box) for i, box in zip(chosen, boxes[len(rows) :], strict=True)]
    return tuple(rows)


def _tag(
    attacks: Sequence[Attack], template: Sequence[Attack], others: Sequence[OtherMaterial]
) -> tuple[Span, tuple[tuple[int, int], ...]] | None:
    for other in others:
        if other.role == "tag":
            own = attacks_in(attacks, other.span.start_quarters, other.span.end_quarters)
            pairs = tail_of_template(own, template)
            return (other.span, pairs) if pairs else None
    return None


def _chosen(reading: Reading, shot: Shot, most: int) -> list[int]:
    """Choose passes to show, in order; the model always, then what departs or sounds."""

    def rank(index: int) -> tuple[int, int]:
        one = reading.passes[index]
        departs = _departs(one)
        sounds = any(play.span.overlap_quarters(one.span) for play in shot.plays)
        is_model = one.span == reading.template
        return (-2 * is_model - departs - sounds, index)

    order = sorted(range(len(reading.passes)), key=rank)
    return sorted(order[: max(most, 1)])


def _departs(one: Pass) -> bool:
    return bool(one.edits) or one.truncated != "none"


@dataclass(frozen=True, slots=True, kw_only=True)
class _RowMaker:
    passage: Passage
    voices: Voices
    reading: Reading
    template: tuple[Attack, ...]
    axis: Axis
    scale: _Scale
    pitches: tuple[int, ...]

    def pass_row(self, index: int, box: Box) -> StackRow:
        one = self.reading.passes[index]
        places = self.axis.places(one, self.voices.attacks)
        departures = departures_of(
            one, self.reading, self.voices.attacks, self.voices.limbs, self.voices.names
        )
        departing = {a for departure in departures for a in departure.attacks}
        added = {e.template_attack for e in one.edits if e.op == "insert"}
        heights = self._heights(box)
        return StackRow(
            heading=say("pass"),
            number=str(index + 1),
            span=one.span,
            box=box,
            heights=heights,
            notes=self._notes(places, heights, departing),
            limbs=self._limbs(places, heights),
            departures=departures,
            expected=tuple(self._expected(d, heights) for d in departures),
            is_model=one.span == self.reading.template,
            empty_slots=tuple(
                (self.scale.x(start), self.scale.x(start + length))
                for template, (start, length) in self.axis.slots.items()
                if template not in added
            ),
        )

    def tag_row(self, tag: tuple[Span, tuple[tuple[int, int], ...]], box: Box) -> StackRow:
        span, pairs = tag
        places = {own: self.axis.columns[template] for template, own in pairs}
        heights = self._heights(box)
        return StackRow(
            heading=say("tag"),
            number="",
            span=span,
            box=box,
            heights=heights,
            notes=self._notes(places, heights, set()),
            limbs=self._limbs(places, heights),
            departures=(),
            expected=(),
            is_model=False,
            empty_slots=(),
            borrowed=self._borrowed([template for template, _ in pairs]),
        )

    def _borrowed(self, template: Sequence[int]) -> str:
        """Say what the last attacks of the template are: a limb, or the end of one."""
        notes = {note for a in template for note in self.voices.attacks[a].notes}
        names = {"falling": "fall", "rising": "climb"}
        for limb in self.voices.limbs:
            own = notes & set(limb.notes)
            if 3 * len(own) >= 2 * len(notes) and limb.direction in names:
                part = "the" if own == set(limb.notes) else "the end of the"
                return say(f"{part} {names[limb.direction]}, heard first")
        return say("the end of the riff, heard first")

    def _heights(self, box: Box) -> Heights:
        return heights_for(
            self.pitches,
            top=box.top + min(max(ROW_AIR_SHARE * box.height, LEAST_ROW_AIR_PX), MOST_ROW_AIR_PX),
            base_y=box.bottom,
            has_anchor=Posture.ANCHORS in self.voices.postures,
        )

    def _notes(
        self, places: dict[int, Fraction], heights: Heights, departing: set[int]
    ) -> tuple[Placed, ...]:
        """Place the moving voice, the lowest open string and the string that rings on.

        Of an attack that departs and has neither, all is shown.
        """
        shown = []
        for attack in sorted(places):
            notes = self.voices.attacks[attack].notes
            own = [n for n in notes if self._is_shown(n)]
            if not own and attack in departing:
                own = list(notes)
            shown += [self._placed(note, places[attack], heights) for note in own]
        return tuple(shown)

    def _is_shown(self, note: int) -> bool:
        posture = self.voices.postures[note]
        return note in self.voices.lead or posture in {Posture.ANCHORS, Posture.RINGS}

    def _placed(self, index: int, place: Fraction, heights: Heights) -> Placed:
        note = self.passage.notes[index]
        is_anchor = self.voices.postures[index] is Posture.ANCHORS or note.pitch is None
        length = float(sound_end(note) - note.onset_quarters) * self.scale.px_per_quarter
        x = self.scale.x(place)
        right = self.scale.x(self.axis.length_quarters)
        return Placed(
            note=note,
            x=x,
            length=min(length, right - x),
            y=heights.anchor_y if is_anchor else heights.y(start_pitch(note)),
            posture=self.voices.postures[index],
        )

    def _limbs(
        self, places: dict[int, Fraction], heights: Heights
    ) -> tuple[tuple[Posture, tuple[Placed, ...]], ...]:
        """Place each limb's notes; without a limb in this row those of the moving voice."""
        attack_of = {
            note: attack for attack in places for note in self.voices.attacks[attack].notes
        }
        found = []
        for limb in self.voices.limbs:
            own = [note for note in limb.notes if note in attack_of]
            placed = [self._placed(note, places[attack_of[note]], heights) for note in own]
            if placed:
                in_order = tuple(sorted(placed, key=lambda p: p.x))
                found.append((posture_of(limb), in_order))
        if found:
            return tuple(found)
        lead = [note for note in self.voices.lead if note in attack_of]
        placed = [self._placed(note, places[attack_of[note]], heights) for note in lead]
        return ((Posture.PLAIN, tuple(sorted(placed, key=lambda p: p.x))),) if placed else ()

    def _expected(self, departure: Departure, heights: Heights) -> tuple[Placed, ...]:
        """Place what the template has where a pass departs, unless the pass only adds.

        What rings on there is left out: it reaches far beyond the departure.
        """
        if departure.kind == "added":
            return ()
        return tuple(
            self._placed(note, self.axis.columns[attack], heights)
            for attack in departure.template_attacks
            for note in self.voices.attacks[attack].notes
            if self._is_shown(note) and self.voices.postures[note] is not Posture.RINGS
        )


def note_of(row: StackRow, departure: Departure, attacks: Sequence[Attack]) -> Placed | None:
    """Give the note that a departure is shown at: the moving voice's if it has one."""
    own = [n for a in departure.attacks for n in attacks[a].notes]
    found = [placed for placed in row.notes if placed.note.index in own]
    still = {Posture.ANCHORS, Posture.RINGS}
    lead = [placed for placed in found if placed.posture not in still]
    return next(iter(lead or found), None)


def notes_of(row: StackRow, departure: Departure, attacks: Sequence[Attack]) -> tuple[Placed, ...]:
    """Give all notes of a departure that are drawn."""
    own = {n for a in departure.attacks for n in attacks[a].notes}
    return tuple(placed for placed in row.notes if placed.note.index in own)
