"""The counts of a fold: how many pairs meet, how many miss and how."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from itertools import accumulate
from typing import Final

from riffract.analysis.interval_name import with_article
from riffract.analysis.saying import say
from riffract.picture.fold.drawing import late_notes
from riffract.picture.fold.plan import FoldPlan
from riffract.picture.fold.words import length_text_at
from riffract.picture.layout import Layout
from riffract.picture.mapped import Mapping, mapped_shape
from riffract.picture.marks import Colour, Mark, Role, Shape, Stroke, polyline, rectangle
from riffract.picture.string_mark import LIT, Pluck, Posture, pluck_marks
from riffract.picture.type import CAP_HEIGHT_SHARE, text_width

SAMPLE_PX, SAMPLE_HEIGHT_PX, SAMPLE_AIR_PX = 38.0, 26.0, 22.0
ENTRY_PX: Final = 104.0
LINE_PX, BETWEEN_PX = 62.0, 54.0
"""Below the limbs: from one line of counts to the next, and between two counts of a line."""

_Count = tuple[str, Role, str]
"""What is said, in which colour, and which sample stands before it."""


def count_marks(plan: FoldPlan, layout: Layout) -> list[list[Mark]]:
    """List what meets and what misses, each with a sample and its count.

    They stand right of the limbs; on a narrow page, where the limbs need its width, below them.
    """
    rows = _counts(plan)
    return [
        [
            *_sample(plan, x, y, kind),
            length_text_at(
                x + SAMPLE_PX + SAMPLE_AIR_PX,
                y + layout.sizes.length * CAP_HEIGHT_SHARE / 2,
                text,
                layout.sizes.length,
                role,
            ),
        ]
        for (text, role, kind), (x, y) in zip(rows, _places(plan, layout, rows), strict=False)
    ]


def counted_pairs(plan: FoldPlan) -> list[str]:
    """Say how many pairs meet and how many miss, as the picture says it."""
    return [text for text, _, _ in _counts(plan)]


def counts_px(plan: FoldPlan, layout: Layout) -> float:
    """Tell how much room the counts need below the limbs: none where they stand beside them."""
    if not layout.page.is_narrow:
        return 0.0
    return LINE_PX * (1 + max(line for line, _ in _in_lines(_counts(plan), layout)))


def _places(plan: FoldPlan, layout: Layout, rows: Sequence[_Count]) -> list[tuple[float, float]]:
    """Tell where each count's sample stands; nowhere if there is no room."""
    if layout.page.is_narrow:
        first = layout.picture.bottom - counts_px(plan, layout) + LINE_PX / 2
        return [(x, first + LINE_PX * line) for line, x in _in_lines(rows, layout)]
    edge = max([p.end_x for p in plan.others] + [plan.contour.right])
    edge = max([edge, *(max(n.last.onset_x, n.last.end_x) for n in plan.notes)])
    needed = max((_width(row, layout) for row in rows), default=0.0)
    left = min(edge + 70.0, layout.right - 16.0 - needed)
    if left < edge + 16.0:
        return []
    upper, lower = plan.room.top, plan.contour.heights.base_y
    if plan.stands != "upright":
        # Clear of the level mirror, in the larger half.
        above = plan.axis_y - upper > lower - plan.axis_y
        upper, lower = (upper, plan.axis_y) if above else (plan.axis_y, lower)
    top = (upper + lower) / 2 - ENTRY_PX * (len(rows) - 1) / 2
    return [(left, top + i * ENTRY_PX) for i in range(len(rows))]


def _in_lines(rows: Sequence[_Count], layout: Layout) -> list[tuple[int, float]]:
    """Set counts in columns: for each its line, from 0, and where it starts.

    There are as many columns as find room and leave no count alone in its line; else one.
    """
    widths = [_width(row, layout) for row in rows]
    for columns in range(len(rows), 0, -1):
        own = [max(widths[column::columns]) for column in range(columns)]
        starts = [layout.left, *accumulate((w + BETWEEN_PX for w in own), initial=layout.left)][1:]
        fits = starts[-1] - BETWEEN_PX <= layout.right and len(rows) % columns != 1
        if fits or columns == 1:
            return [(i // columns, starts[i % columns]) for i in range(len(rows))]
    return []


def _width(row: _Count, layout: Layout) -> float:
    return SAMPLE_PX + SAMPLE_AIR_PX + text_width(row[0], layout.sizes.length, 600)


def _counts(plan: FoldPlan) -> list[_Count]:
    late = late_notes(plan) if plan.is_flat or not plan.draws_in else []
    agree = [n for n in plan.notes if n.agrees and n not in late]
    off = Counter(abs(n.semitones_off) for n in plan.notes if n.partner and not n.agrees)
    alone = sum(n.partner is None and not plan.is_on_axis(n.placed) for n in plan.notes)
    partners = {n.partner.note.index for n in plan.notes if n.partner is not None}
    alone += sum(p.note.index not in partners and not plan.is_on_axis(p) for p in plan.others)
    rows: list[_Count] = [(say("{count} agree", count=len(agree)), Role.TEXT, "agree")]
    if len(off) == 1:
        (semitones, count), *_ = off.items()
        off_by = say("{count} {interval} off", count=count, interval=with_article(semitones))
        rows.append((off_by, Role.BEND, "off"))
    elif off:
        rows.append((say("{count} off in pitch", count=off.total()), Role.BEND, "off"))
    if late:
        rows.append((say("{count} off in time", count=len(late)), Role.BEND, "late"))
    if alone:
        rows.append((say("{count} without partner", count=alone), Role.BEND, "alone"))
    return rows


def _sample(plan: FoldPlan, x: float, y: float, kind: str) -> list[Mark]:
    """Draw a small picture of what is counted: fused, torn apart, or empty."""
    bend = Stroke(colour=Colour(Role.BEND), width=2.6)
    marks: list[Mark] = []
    if kind == "alone":
        half = SAMPLE_HEIGHT_PX / 2
        dashed = Stroke(colour=Colour(Role.BEND), width=2.0, dash=(5.0, 4.0))
        return [Shape(path=rectangle(x, y - half, SAMPLE_PX, 2 * half), stroke=dashed)]
    if kind == "late":
        bar = (
            *polyline([(x, y), (x + SAMPLE_PX, y)]),
            *polyline([(x, y - 7.0), (x, y + 7.0)]),
            *polyline([(x + SAMPLE_PX, y - 7.0), (x + SAMPLE_PX, y + 7.0)]),
        )
        return [Shape(path=bar, stroke=bend)]
    paired = [note for note in plan.notes if note.partner is not None]
    paired.sort(
        key=lambda note: note.partner is None or note.partner.posture is note.placed.posture
    )
    pair = next(iter(paired), None)
    if pair is None or pair.partner is None:
        return []
    apart = {"off": 12.0}.get(kind, 15.0 if plan.is_flat else 0.0)
    up = -1.0 if pair.partner.posture is Posture.STANDS or plan.is_flat else 1.0
    theirs = Pluck(
        x=x,
        y=y + up * apart,
        length=SAMPLE_PX,
        height=20.0 if plan.is_flat else SAMPLE_HEIGHT_PX,
        posture=pair.partner.posture,
    )
    own = replace(theirs, y=y - up * apart, posture=pair.placed.posture)
    flip = pair.last.y_scale
    turned = Mapping(
        x_scale=1.0 if plan.stands == "level" else -1.0,
        x_shift=0.0 if plan.stands == "level" else 2 * x + SAMPLE_PX,
        y_scale=flip,
        y_shift=own.y - flip * own.y,
    )
    marks += pluck_marks(theirs, LIT)
    marks += [mapped_shape(shape, turned) for shape in pluck_marks(own, LIT)]
    if apart:
        stroke = bend if kind == "off" else Stroke(colour=Colour(Role.QUIET), width=1.8)
        middle = x + (SAMPLE_PX / 2 if kind == "off" else 0.0)
        bar = polyline([(middle, y - apart), (middle, y + apart)])
        marks.append(Shape(path=bar, stroke=stroke))
    return marks
