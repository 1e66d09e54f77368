"""The growth scene: an idea from its first stirring to its full form, and what becomes of it.

Each row is a stage, the earliest on top. On the left it is drawn as it stands there; on the right
is the idea itself, with the notes lit that this stage has, an open outline for those it lacks, and
a bracket over those that it adds to the stage it grows out of. Branches join stage to stage.
"""

from collections.abc import Callable, Sequence
from typing import Final

from riffract.analysis.finding import Kind, Motive
from riffract.analysis.saying import say
from riffract.analysis.what.motive import Family
from riffract.analysis.wording import capital, counted
from riffract.essay.shots import Shot
from riffract.picture.bounds import Box
from riffract.picture.growth.plan import Bead, GrowthPlan, GrowthRow, family_shown, growth_plan
from riffract.picture.hearing import moment_heard_seconds, now_heard
from riffract.picture.layout import APPEAR_SECONDS, Layout, captions, claim_marks, label, layout_of
from riffract.picture.legend_lines import Entry, broken, written
from riffract.picture.marks import (
    Colour,
    CurveTo,
    Mark,
    MoveTo,
    Role,
    Shape,
    Stroke,
    circle,
    polyline,
    rectangle,
)
from riffract.picture.now_ring import now_ring
from riffract.picture.page.scene import page_scene
from riffract.picture.scene import Cue, Page, Scene
from riffract.picture.string_mark import LIT, Pluck, Posture, pluck_marks
from riffract.picture.type import text_width
from riffract.picture.voices import Voices, chosen, voices_of
from riffract.weighing.study import Study

NODE_PX: Final = 9.0
HOME_NODE_PX: Final = 13.0
BRANCH_PX: Final = 3.0
BEND_PX: Final = 2.8
THREAD_PX: Final = 1.8
THREAD_DASH: Final = (2.0, 7.0)
LACKS_DASH: Final = (5.0, 5.0)
NOW_RADIUS_PX, NOW_INSET_PX = 20.0, 4.0
STEP_SECONDS: Final = 0.7
"""From one earlier stage to the next, which are not heard in the film."""

LEAST_MARK_PX, NAME_AIR_PX = 6.0, 12.0


def growth_scene(study: Study, shot: Shot, page: Page) -> Scene:
    """Show where an idea comes from and what becomes of it; a page if it has no stages.

    Raises:
        ValueError: if the study has no motive to show.
    """
    finding = chosen(study, shot, Kind.MOTIVE)
    if finding is None or not isinstance(finding.what, Motive):
        raise ValueError("this scene needs a finding of the kind `motive`, and the study has none")
    family = family_shown(finding.what)
    if family is None:
        return page_scene(study, shot, page)
    layout = layout_of(shot, page)
    plan, notes = _planned(study, family, layout)
    voices = voices_of(study, shot)
    ground = [*claim_marks(layout), *_headings(plan, layout), *written(layout, notes)]
    cues = []
    for index, row in enumerate(plan.rows):
        marks = tuple(_row_marks(plan, row, voices, layout))
        if shot.plays:
            at = _appears(shot, row, index)
            cues.append(Cue(at_seconds=at, marks=marks, fade_seconds=APPEAR_SECONDS))
        else:
            ground += marks
    now, speak = _now(study, shot, voices, plan), captions(layout, shot.lines)
    return Scene(
        page=page,
        ground=tuple(ground),
        cues=tuple(sorted(cues, key=lambda cue: cue.at_seconds)),
        length_seconds=shot.length_seconds,
        description=_description(plan),
        moving=lambda seconds: (*now(seconds), *speak(seconds)),
        places=lambda _seconds: {
            bead.note: (bead.x + NOW_INSET_PX, bead.y)
            for row in plan.rows
            if row.stage.place.passage == 0
            for bead in row.own
        },
    )


def _planned(
    study: Study, family: Family, layout: Layout
) -> tuple[GrowthPlan, tuple[tuple[Entry, ...], ...]]:
    """Lay the stages out above the notes on them, which may take some lines."""
    lines = 1
    while True:
        plan = growth_plan(
            study,
            family,
            layout.picture_above_notes(lines),
            label_px=layout.sizes.label,
            names_above=layout.page.is_narrow,
        )
        notes = broken(layout, _notes(plan))
        if len(notes) <= lines:
            return plan, notes
        lines = len(notes)


def _appears(shot: Shot, row: GrowthRow, index: int) -> float:
    """Tell when a row comes up: as its stage is heard; one that is not heard in its turn."""
    place = row.stage.place
    heard = None
    if place.passage == 0:
        heard = moment_heard_seconds(shot, place.span.start_quarters)
    return index * STEP_SECONDS if heard is None else heard


def _row_marks(plan: GrowthPlan, row: GrowthRow, voices: Voices, layout: Layout) -> list[Mark]:
    size = layout.sizes.label
    role = Role.TEXT if row.is_home else Role.QUIET
    marks: list[Mark] = [*_branch(plan, row, layout)]
    marks.append(label(layout, plan.names_x, row.name_y, row.heading, role, strong=True))
    marks.append(label(layout, plan.names_x, row.name_y + 1.3 * size, row.says))
    for bead in row.own:
        marks += _plucked(row, bead, _own_posture(row, bead, voices))
    has = set(row.stage.has)
    marks += _threads(plan, row, [_named(plan, each, layout) for each in plan.rows])
    for bead in row.idea:
        if bead.note in has:
            marks += _plucked(row, bead, voices.postures[bead.note])
        else:
            marks.append(_lacking(row, bead))
    return [*marks, *_added(row)]


def _named(plan: GrowthPlan, row: GrowthRow, layout: Layout) -> Box:
    """Give the room of a row's name and of what is said below it."""
    size = layout.sizes.label
    widest = max(text_width(row.heading, size, 600), text_width(row.says, size, 500))
    return Box(
        left=plan.names_x,
        top=row.name_y - size,
        right=plan.names_x + widest + NAME_AIR_PX,
        bottom=row.name_y + 1.7 * size,
    )


def _threads(plan: GrowthPlan, row: GrowthRow, names: Sequence[Box]) -> list[Mark]:
    """Lead each note that a stage keeps down from where the stage before it has it.

    A long name reaches into the idea's column: the threads go on below it.
    """
    if row.parent is None:
        return []
    parent = plan.rows[row.parent]
    kept = set(row.stage.has) & set(parent.stage.has)
    above = {bead.note: bead for bead in parent.idea if bead.note in kept}
    stroke = Stroke(colour=Colour(Role.STRING), width=THREAD_PX, dash=THREAD_DASH)
    air = 0.5 * row.mark_height + 4.0
    marks: list[Mark] = []
    for bead in row.idea:
        if bead.note not in above:
            continue
        tops, bottoms = [above[bead.note].y + air], [bead.y - air]
        for named in names:
            if named.left < bead.x < named.right and tops[0] < named.bottom < bottoms[-1]:
                bottoms.insert(-1, named.top)
                tops.append(named.bottom)
        marks += [
            Shape(path=polyline([(bead.x, top), (bead.x, bottom)]), stroke=stroke)
            for top, bottom in zip(tops, bottoms, strict=True)
            if top < bottom
        ]
    return marks


def _own_posture(row: GrowthRow, bead: Bead, voices: Voices) -> Posture:
    """Earlier passages were not asked for rising and falling limbs, so their notes are plain."""
    return voices.postures[bead.note] if row.stage.place.passage == 0 else Posture.PLAIN


def _plucked(row: GrowthRow, bead: Bead, posture: Posture) -> tuple[Mark, ...]:
    return pluck_marks(
        Pluck(
            x=bead.x,
            y=bead.y,
            length=max(0.94 * (bead.end_x - bead.x), LEAST_MARK_PX),
            height=row.mark_height,
            posture=posture,
        ),
        LIT,
    )


def _lacking(row: GrowthRow, bead: Bead) -> Mark:
    height = 0.8 * row.mark_height
    width = max(0.9 * (bead.end_x - bead.x), LEAST_MARK_PX)
    outline = rectangle(bead.x, bead.y - height / 2, width, height)
    stroke = Stroke(colour=Colour(Role.STRING), width=1.6, dash=LACKS_DASH)
    return Shape(path=outline, stroke=stroke)


def _added(row: GrowthRow) -> list[Mark]:
    """Bracket the runs of notes that a stage adds to the one it grows out of."""
    if row.parent is None:
        return []
    adds = set(row.stage.adds)
    runs: list[list[Bead]] = []
    open_run = False
    for bead in row.idea:
        if bead.note not in adds:
            open_run = False
            continue
        if open_run:
            runs[-1].append(bead)
        else:
            runs.append([bead])
        open_run = True
    stroke = Stroke(colour=Colour(Role.BEND), width=BEND_PX)
    marks: list[Mark] = []
    for run in runs:
        top = max(min(bead.y for bead in run) - row.mark_height - 8.0, row.box.top + 2.0)
        left, right = run[0].x, run[-1].end_x
        corners = [(left, top + 8.0), (left, top), (right, top), (right, top + 8.0)]
        marks.append(Shape(path=polyline(corners), stroke=stroke))
    return marks


def _branch(plan: GrowthPlan, row: GrowthRow, layout: Layout) -> list[Mark]:
    """Draw a stage's node in the tree, and the branch from the stage that it grows out of."""
    x, y = layout.left + 0.62 * (plan.names_x - layout.left), row.middle
    colour = Colour(Role.TEXT if row.is_home else Role.QUIET)
    marks: list[Mark] = [Shape(path=circle(x, y, _node_px(row)), fill=colour)]
    if row.parent is not None:
        parent = plan.rows[row.parent]
        from_y = parent.middle + _node_px(parent)
        y -= _node_px(row)
        # A branch that passes other stages swings out around them.
        steps = max(plan.rows.index(row) - row.parent, 1)
        out = x - min(14.0 * (steps - 1), x - layout.left - 4.0)
        path = (
            MoveTo(x, from_y),
            CurveTo(out, from_y + (y - from_y) / 3, out, y - (y - from_y) / 3, x, y),
        )
        marks.append(Shape(path=path, stroke=Stroke(colour=Colour(Role.STRING), width=BRANCH_PX)))
    return marks


def _node_px(row: GrowthRow) -> float:
    return HOME_NODE_PX if row.is_home else NODE_PX


def _headings(plan: GrowthPlan, layout: Layout) -> list[Mark]:
    """Tell what stands in which column."""
    return [
        label(layout, plan.own_x, plan.headings_y, say("as it stands")),
        label(layout, plan.idea_x, plan.headings_y, say("what it has of the idea")),
    ]


def _notes(plan: GrowthPlan) -> list[Entry]:
    """Tell what the signs mean, and what is not shown."""
    said = []
    if any(_added(row) for row in plan.rows):
        said.append(say("Bracket: added."))
    if any(bead.note not in row.stage.has for row in plan.rows for bead in row.idea):
        said.append(say("Dashed: not there yet, or no longer."))
    if plan.left_out:
        said.append(capital(say("{what} not shown.", what=counted(plan.left_out, "stage"))))
    return [Entry(width=0.0, draw=lambda _x, _y: (), words=text, is_said=True) for text in said]


def _now(
    study: Study, shot: Shot, voices: Voices, plan: GrowthPlan
) -> Callable[[float], tuple[Mark, ...]]:
    """Make what rings the note that sounds, where its stage is drawn."""
    heard_at = now_heard(shot, tuple(study.passage.notes), voices.attacks)

    def ring(seconds: float) -> tuple[Mark, ...]:
        attack = heard_at(seconds)
        beads = [] if attack is None else _beads_of(plan, attack.notes)
        return tuple(now_ring(bead.x + NOW_INSET_PX, bead.y, NOW_RADIUS_PX) for bead in beads[:1])

    return ring


def _beads_of(plan: GrowthPlan, notes: Sequence[int]) -> list[Bead]:
    return [
        bead
        for row in plan.rows
        if row.stage.place.passage == 0
        for bead in row.own
        if bead.note in notes
    ]


def _description(plan: GrowthPlan) -> str:
    told = "; ".join(f"{row.heading}: {row.says}" for row in plan.rows)
    return say("The stages of an idea, the earliest on top. {stages}.", stages=told)
