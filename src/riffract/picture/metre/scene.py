"""The metre scene: bars under one another, so that one sees how the riff sits in them.

Each stroke stands where it falls in its bar. Every second pass lies on a lighter band, and a line
joins the places where passes start: upright if the riff keeps to the bars, slanting if it slips.
Below, the strokes of all bars are counted, over the groups that they suggest.
"""

from collections.abc import Callable, Collection, Sequence
from dataclasses import replace
from typing import Final

from riffract.analysis.finding import Kind, MetreAnswer, Passes
from riffract.analysis.metre.question import stressed
from riffract.analysis.saying import say
from riffract.analysis.what.metre import MetreReading
from riffract.essay.shots import Shot
from riffract.picture.bounds import Box
from riffract.picture.hearing import moment_heard_seconds, now_heard
from riffract.picture.layout import APPEAR_SECONDS, Layout, captions, claim_marks, label, layout_of
from riffract.picture.marks import Colour, Mark, Role, Shape, Stroke, polyline, rectangle
from riffract.picture.metre.counts import (
    BRACKET_PX,
    attacks_in,
    counted_strokes,
    group_marks,
    note_below,
    reading_words,
)
from riffract.picture.metre.plan import BarRow, MetrePlan, PassStart, metre_plan
from riffract.picture.now_ring import now_ring
from riffract.picture.scene import Cue, Page, Scene
from riffract.picture.string_mark import LIT, Pluck, Posture, pluck_marks
from riffract.picture.type import CAP_HEIGHT_SHARE
from riffract.picture.voices import Voices, chosen, voices_of
from riffract.weighing.study import Study

STRONG_SHARE, WEAK_SHARE = 0.56, 0.34
"""Height of a stroke's mark, over that of its row: one that stands out, and any other."""

COUNT_SHARE: Final = 0.16
"""Of the picture's height for the strokes of all bars counted."""

HEADING: Final = "a pass starts"
HEADING_SHARE: Final = 1.1
"""Above the rows for the heading of their words, over the size of a label."""

SLANT_PX: Final = 3.0
DASH: Final = (9.0, 8.0)
NOW_RADIUS_PX: Final = 15.0
TICK_PX: Final = 2.0
BAND_SHADE: Final = 0.62
"""Of the colour of bar lines: more than glass, which hardly parts passes on a phone."""

SHORTEST_STROKE_PX: Final = 8.0


def metre_scene(study: Study, shot: Shot, page: Page) -> Scene:
    """Show how the riff sits in the bar.

    Raises:
        ValueError: if the study says nothing of the metre.
    """
    finding = chosen(study, shot, Kind.METRE)
    if finding is None or not isinstance(finding.what, MetreAnswer):
        raise ValueError("this scene needs a finding of the kind `metre`, and the study has none")
    answer = finding.what
    passes = chosen(study, shot, Kind.PASSES)
    layout = layout_of(shot, page)
    groups = _groups_shown(answer)
    what = passes.what if passes and isinstance(passes.what, Passes) and answer.phase else None
    rows_room, count_room = _rooms(layout, len(groups))
    if what is not None:
        rows_room = replace(rows_room, top=rows_room.top + HEADING_SHARE * layout.sizes.label)
    plan = metre_plan(
        study.passage,
        what,
        rows_room,
        label_px=layout.sizes.label,
        beside=[
            *(reading_words(one, place) for place, one in enumerate(groups)),
            *([] if what is None else [say(HEADING)]),
        ],
    )
    voices = voices_of(study, shot)
    stands_out = stressed(study.passage, voices.attacks).tolist()
    strong = frozenset(a.index for a, out in zip(voices.attacks, stands_out, strict=True) if out)
    counted_rows = [
        row
        for row in plan.rows
        if any(span.overlap_quarters(row.bar.span) for span in finding.spans)
    ]
    ground = [
        *claim_marks(layout),
        *_bands(plan),
        *_bars(plan, layout),
        *_strokes(study, voices, plan, strong),
        *(counted_strokes(counted_rows, voices, strong, count_room) if groups else ()),
        *group_marks(plan, answer, groups, count_room, layout),
        *note_below(plan, layout, is_counted=bool(groups)),
        *_heading(plan, layout),
    ]
    cues = _slant_cues(plan, shot, what, layout) if what is not None else []
    if not shot.plays:
        ground += [mark for cue in cues for mark in cue.marks]
        cues = []
    speak, now = captions(layout, shot.lines), _now(study, shot, voices, plan)
    return Scene(
        page=page,
        ground=tuple(ground),
        cues=tuple(sorted(cues, key=lambda cue: cue.at_seconds)),
        length_seconds=shot.length_seconds,
        description=f"{say('The bars under one another.')} {finding.sentence}",
        moving=lambda seconds: (*now(seconds), *speak(seconds)),
        places=lambda _seconds: {
            note: (row.x(attack.onset_quarters), row.middle)
            for row in plan.rows
            for attack in attacks_in(row, voices)
            for note in attack.notes
        },
    )


def _groups_shown(answer: MetreAnswer) -> tuple[MetreReading, ...]:
    """Choose the best grouping and, if that is another one, the written one."""
    best = answer.grouping[:1]
    written = [one for one in answer.grouping[1:] if one.is_written]
    return (*best, *written[:1])


def _rooms(layout: Layout, groupings: int) -> tuple[Box, Box]:
    room = layout.picture_above_note
    if not groupings:
        return room, room
    counts = COUNT_SHARE * room.height
    below = counts + BRACKET_PX * groupings + 24.0
    rows = Box(left=room.left, top=room.top, right=room.right, bottom=room.bottom - below)
    return rows, Box(
        left=room.left,
        top=rows.bottom + 24.0,
        right=room.right,
        bottom=rows.bottom + 24.0 + counts,
    )


def _bands(plan: MetrePlan) -> list[Mark]:
    return [
        Shape(
            path=rectangle(start, plan.rows[row].top, end - start, _height(plan.rows[row])),
            fill=Colour(Role.BAR, BAND_SHADE),
        )
        for row, start, end in plan.bands
    ]


def _bars(plan: MetrePlan, layout: Layout) -> list[Mark]:
    """Draw each bar's line, its ends, a tick for each unit, a longer one where a group starts."""
    marks: list[Mark] = []
    line, edge = Stroke(colour=Colour(Role.BAR), width=2.0), Colour(Role.STRING)
    for row in plan.rows:
        marks.append(
            Shape(path=polyline([(row.left, row.middle), (row.right, row.middle)]), stroke=line)
        )
        for x in (row.left, row.right):
            ends = polyline([(x, row.top + 4.0), (x, row.bottom - 4.0)])
            marks.append(Shape(path=ends, stroke=Stroke(colour=edge, width=2.6)))
        for x, is_start in _ticks(row):
            reach = _height(row) * (0.3 if is_start else 0.12)
            tick = polyline([(x, row.middle - reach), (x, row.middle + reach)])
            marks.append(Shape(path=tick, stroke=Stroke(colour=edge, width=TICK_PX)))
        y = row.middle + layout.sizes.label * CAP_HEIGHT_SHARE / 2
        marks.append(label(layout, layout.left, y, str(row.bar.number)))
    return marks


def _ticks(row: BarRow) -> list[tuple[float, bool]]:
    metre = row.bar.metre
    starts = {sum(metre.beats[:i]) for i in range(len(metre.beats))}
    step = float(metre.unit_quarters) * row.px_per_quarter
    return [
        (row.left + unit * step, unit in starts)
        for unit in range(1, metre.units)
        if row.left + unit * step < row.right - 1.0
    ]


def _strokes(study: Study, voices: Voices, plan: MetrePlan, strong: Collection[int]) -> list[Mark]:
    """Draw each stroke where it falls in its bar; those that stand out are taller."""
    marks: list[Mark] = []
    for row in plan.rows:
        for attack in attacks_in(row, voices):
            x = row.x(attack.onset_quarters)
            length = min(float(attack.value_quarters) * row.px_per_quarter, row.right - x)
            share = STRONG_SHARE if attack.index in strong else WEAK_SHARE
            marks += pluck_marks(
                Pluck(
                    x=x,
                    y=row.middle,
                    length=max(0.92 * length, SHORTEST_STROKE_PX),
                    height=share * _height(row),
                    posture=_posture(study, voices, attack.notes),
                ),
                LIT,
            )
    return marks


def _posture(study: Study, voices: Voices, notes: Sequence[int]) -> Posture:
    """Give a stroke the posture of its lowest note: low strokes carry the metre."""
    lowest = min(notes, key=lambda i: (study.passage.notes[i].pitch or 0, i))
    return voices.postures[lowest]


def _slant_cues(plan: MetrePlan, shot: Shot, passes: Passes, layout: Layout) -> list[Cue]:
    """Join the starts of passes, each as it is reached: upright, or slanting if the riff slips."""
    played = passes.readings[0].passes
    cues = []
    befores = {after: plan.starts[before] for before, after in plan.leads}
    for number, start in enumerate(plan.starts):
        before = befores.get(number)
        marks = tuple(_start_marks(plan, before, start, layout))
        at = moment_heard_seconds(shot, played[start.number - 1].span.start_quarters)
        cues.append(Cue(at_seconds=at or 0.0, marks=marks, fade_seconds=APPEAR_SECONDS))
    return cues


def _start_marks(
    plan: MetrePlan, before: PassStart | None, start: PassStart, layout: Layout
) -> list[Mark]:
    row = plan.rows[start.row]
    role = Role.BEND if start.number > 1 and plan.slips else Role.TEXT
    upright = polyline([(start.x, row.top), (start.x, row.bottom)])
    marks: list[Mark] = [
        Shape(path=upright, stroke=Stroke(colour=Colour(role), width=SLANT_PX + 1.4))
    ]
    if before is not None:
        earlier = plan.rows[before.row]
        line = polyline([(before.x, earlier.middle), (start.x, row.middle)])
        dash = () if before.x == start.x else DASH
        stroke = Stroke(colour=Colour(role), width=SLANT_PX, dash=dash)
        marks.append(Shape(path=line, stroke=stroke))
    if start.words:
        y = row.middle + layout.sizes.label * CAP_HEIGHT_SHARE / 2
        marks.append(label(layout, plan.words_x, y, start.words, role))
    return marks


def _heading(plan: MetrePlan, layout: Layout) -> list[Mark]:
    """Name the column that says on which beats passes start."""
    if not any(start.words for start in plan.starts):
        return []
    y = plan.rows[0].top - 0.4 * layout.sizes.label
    return [label(layout, plan.words_x, y, say(HEADING))]


def _now(
    study: Study, shot: Shot, voices: Voices, plan: MetrePlan
) -> Callable[[float], tuple[Mark, ...]]:
    """Make what rings the stroke that sounds."""
    heard_at = now_heard(shot, tuple(study.passage.notes), voices.attacks)

    def ring(seconds: float) -> tuple[Mark, ...]:
        attack = heard_at(seconds)
        row = None if attack is None else plan.row_at(attack.onset_quarters)
        if attack is None or row is None:
            return ()
        return (now_ring(row.x(attack.onset_quarters), row.middle, NOW_RADIUS_PX),)

    return ring


def _height(row: BarRow) -> float:
    return row.bottom - row.top
