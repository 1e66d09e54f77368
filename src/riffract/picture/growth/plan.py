"""The plan of the growth scene: a row for each stage of an idea, joined as a family tree."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from riffract.analysis.finding import Kind, Motive
from riffract.analysis.interval_name import moved_in_words
from riffract.analysis.motives.words import turned_text
from riffract.analysis.saying import say
from riffract.analysis.what.motive import Family, MotivePlace, Stage
from riffract.analysis.wording import counted, place_in_words
from riffract.music import Note, Passage
from riffract.picture.bounds import Box
from riffract.picture.contour_view import FEWEST_SEMITONES
from riffract.picture.pitch_ways import pitches_reached, start_pitch
from riffract.picture.string_view import sound_end
from riffract.picture.type import text_width
from riffract.weighing.study import Study

LEAST_ROW_PX, TALLEST_ROW_PX = 104.0, 420.0
TREE_PX: Final = 96.0
"""On the left, for the branches of the tree."""

GAP_PX: Final = 56.0
"""Between the names, a stage as it stands, and what of the idea it has."""

HEADINGS_SHARE: Final = 1.8
"""Room above the rows for the headings of the columns, over the size of a label."""

NAMES_SHARE: Final = 2.9
"""Room for a name and a line below it above a row, over the size of a label."""

DROP_SHARE: Final = 0.4
"""Of the room that few rows leave, what lies above them."""

ROW_AIR_SHARE: Final = 0.22
MARK_SHARE: Final = 0.17
"""Height of a note's edge, over that of its row."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bead:
    """A note of a small contour: index, from, to and height in px."""

    note: int
    x: float
    end_x: float
    y: float


@dataclass(frozen=True, slots=True, kw_only=True)
class GrowthRow:
    """A stage as a row.

    Attributes:
        number: which stage, from 1.
        stage: what it is.
        heading: where it stands.
        says: how it turns the idea, what it adds or loses.
        box: the row, px, the tree's and the names' room left out.
        name_y: the baseline of its heading, px; what it says stands a line below.
        own: the stage as it stands in its own passage.
        idea: the idea as its home has it, the notes that this stage lacks among them.
        parent: index of the row that it grows out of; `None` if it grows out of none shown.
        is_home: whether it is the idea as the passage studied first has it.
    """

    number: int
    stage: Stage
    heading: str
    says: str
    box: Box
    name_y: float
    own: tuple[Bead, ...]
    idea: tuple[Bead, ...]
    parent: int | None
    is_home: bool

    @property
    def middle(self) -> float:
        """The height of the row's node in the tree, px."""
        return (self.box.top + self.box.bottom) / 2

    @property
    def mark_height(self) -> float:
        """The height of a note's edge, px."""
        return MARK_SHARE * self.box.height


@dataclass(frozen=True, slots=True, kw_only=True)
class GrowthPlan:
    """All rows, and what is not shown.

    Attributes:
        rows: the stages, the earliest first.
        names_x, own_x, idea_x: where names and both columns start, px.
        headings_y: the baseline of the columns' headings.
        left_out: how many stages are not shown.
    """

    rows: tuple[GrowthRow, ...]
    names_x: float
    own_x: float
    idea_x: float
    headings_y: float
    left_out: int


def family_shown(motive: Motive) -> Family | None:
    """Give the family that a motive tells of, if there are stages to show."""
    return motive.family if motive.family and len(motive.family.stages) > 1 else None


def growth_plan(
    study: Study, family: Family, room: Box, *, label_px: float, names_above: bool
) -> GrowthPlan:
    """Lay the stages out, as many as there is room for: the first, the home, those that add most.

    Args:
        study: whose idea, with the earlier passages.
        family: the stages.
        room: for all of it, px.
        label_px: the size of words.
        names_above: whether names stand above their rows, where the page is too narrow for a
            column of them.
    """
    names_px = NAMES_SHARE * label_px if names_above else 0.0
    rows_top = room.top + HEADINGS_SHARE * label_px
    most = max(int((room.bottom - rows_top) // (LEAST_ROW_PX + names_px)), 2)
    shown = _chosen(family, most)
    height = min((room.bottom - rows_top) / len(shown) - names_px, TALLEST_ROW_PX)
    spare = room.bottom - rows_top - len(shown) * (height + names_px)
    rows_top += DROP_SHARE * spare
    turns = _turns(study, family)
    names = [
        (_heading(family.stages[at].place, study), _says(family, at, turns.get(at, "")))
        for at in shown
    ]
    widest = max(text_width(text, label_px, 600) for pair in names for text in pair)
    names_x = room.left + TREE_PX
    left = names_x if names_above else names_x + widest + GAP_PX
    middle = (left + room.right - GAP_PX) / 2
    home = family.stages[family.home]
    idea_notes = _sounding(study.passage, home.has or home.place.notes)
    own_notes = [
        _sounding(_passage_of(family.stages[at].place, study), family.stages[at].place.notes)
        for at in shown
    ]
    scale = scale_for([idea_notes, *own_notes], width=middle - left, height=height)
    rows = []
    for number, (at, (heading, says), own) in enumerate(zip(shown, names, own_notes, strict=True)):
        stage = family.stages[at]
        name_top = rows_top + number * (height + names_px)
        top = name_top + names_px
        box = Box(left=left, top=top, right=room.right, bottom=top + height)
        rows.append(
            GrowthRow(
                number=at + 1,
                stage=stage,
                heading=heading,
                says=says,
                box=box,
                name_y=name_top + label_px
                if names_above
                else (box.top + box.bottom) / 2 - 0.25 * label_px,
                own=_beads(own, left, box, scale),
                idea=_beads(idea_notes, middle + GAP_PX, box, scale),
                parent=shown.index(stage.parent) if stage.parent in shown else None,
                is_home=at == family.home,
            )
        )
    return GrowthPlan(
        rows=tuple(rows),
        names_x=names_x,
        own_x=left,
        idea_x=middle + GAP_PX,
        headings_y=room.top + DROP_SHARE * spare + label_px,
        left_out=_worth_showing(family) - len(shown),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """How large all small contours are drawn: alike, so that a slower or wider stage looks so."""

    px_per_quarter: float
    px_per_semitone: float


def scale_for(contours: Sequence[Sequence[Note]], *, width: float, height: float) -> Scale:
    """Find the scale at which the longest and the widest of some contours still fit."""
    heard = [notes for notes in contours if notes]
    longest = max(
        (max(map(_end, notes)) - notes[0].onset_quarters for notes in heard), default=Fraction(1)
    )
    widest = max((high - low for low, high in map(_range, heard)), default=0)
    return Scale(
        px_per_quarter=width / float(longest or 1),
        px_per_semitone=(1.0 - 2.0 * ROW_AIR_SHARE) * height / max(widest, FEWEST_SEMITONES),
    )


def _worth_showing(family: Family) -> int:
    return sum(bool(stage.has) for stage in family.stages)


def _chosen(family: Family, most: int) -> list[int]:
    """Choose the stages that are shown, by time; one that has nothing of the idea says nothing."""
    places = [at for at, stage in enumerate(family.stages) if stage.has]
    ranked = sorted(
        places, key=lambda at: (at not in {0, family.home}, -len(family.stages[at].adds), at)
    )
    return sorted(ranked[:most])


def _passage_of(place: MotivePlace, study: Study) -> Passage:
    return study.passage if place.passage == 0 else study.earlier[place.passage]


def _heading(place: MotivePlace, study: Study) -> str:
    where = place_in_words(_passage_of(place, study).place(place.span.start_quarters))
    if place.passage == 0:
        return where
    return (
        say("‘{title}’, {place}", title=place.title, place=where)
        if place.title
        else say("earlier, {place}", place=where)
    )


def _turns(study: Study, family: Family) -> dict[int, str]:
    """Tell of each stage how it turns and moves the idea; stages that leave it are left out."""
    found = (one.finding.what for one in study.of_kind(Kind.MOTIVE))
    return {
        what.stage: turn
        for what in found
        if isinstance(what, Motive)
        and what.family is not None
        and what.family.number == family.number
        and (turn := _turn(what, family.stages[what.stage].place))
    }


def _turn(what: Motive, place: MotivePlace) -> str:
    turned, moved = turned_text(what.transform), what.transform.transposition
    if what.transform.inversion or not moved:
        return turned
    is_source = place.passage == what.source.passage and place.span == what.source.span
    parts = (turned, moved_in_words(-moved if is_source else moved))
    return ", ".join(part for part in parts if part)


def _says(family: Family, at: int, turn: str) -> str:
    stage = family.stages[at]
    if at == family.home:
        return say("the idea") if stage.parent is None else _change(stage, say("the idea: "), "")
    if stage.parent is None:
        notes = say("{notes} of it", notes=counted(len(stage.has), "note"))
        return ", ".join(part for part in (notes, turn) if part)
    return _change(stage, "", turn)


def _change(stage: Stage, start: str, turn: str) -> str:
    adds = say("adds {notes}", notes=counted(len(stage.adds), "note")) if stage.adds else ""
    loses = say("lacks {notes}", notes=counted(len(stage.loses), "note")) if stage.loses else ""
    return start + (
        ", ".join(part for part in (turn, adds, loses) if part) or say("the same notes")
    )


def _sounding(passage: Passage, notes: Sequence[int]) -> tuple[Note, ...]:
    return tuple(passage.notes[i] for i in sorted(notes) if passage.notes[i].pitch is not None)


def _beads(notes: Sequence[Note], left: float, row: Box, scale: Scale) -> tuple[Bead, ...]:
    """Draw some notes as a contour in the middle of a row, true to time and pitch."""
    if not notes:
        return ()
    start = notes[0].onset_quarters
    low, high = _range(notes)
    middle = (row.top + row.bottom) / 2.0 + scale.px_per_semitone * (low + high) / 2.0
    return tuple(
        Bead(
            note=note.index,
            x=left + float(note.onset_quarters - start) * scale.px_per_quarter,
            end_x=left + float(_end(note) - start) * scale.px_per_quarter,
            y=middle - scale.px_per_semitone * start_pitch(note),
        )
        for note in notes
    )


def _range(notes: Sequence[Note]) -> tuple[float, float]:
    reached = [pitch for note in notes for pitch in pitches_reached(note)]
    return min(reached), max(reached)


def _end(note: Note) -> Fraction:
    """Tell where a note ends; one that rings on far beyond its value would dwarf the others."""
    return min(sound_end(note), note.end_quarters)
