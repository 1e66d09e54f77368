"""Below the bars of the metre scene: the strokes of all of them counted, over their groups."""

from collections import Counter
from collections.abc import Collection, Sequence
from itertools import pairwise
from typing import Final

from riffract.analysis.attacks import Attack
from riffract.analysis.finding import MetreAnswer
from riffract.analysis.saying import say
from riffract.analysis.what.metre import MetreReading
from riffract.analysis.wording import counted
from riffract.picture.bounds import Box
from riffract.picture.layout import Layout, label
from riffract.picture.marks import Colour, Mark, Role, Shape, Stroke, polyline
from riffract.picture.metre.plan import BarRow, MetrePlan
from riffract.picture.type import text_width
from riffract.picture.voices import Voices

BRACKET_PX: Final = 44.0
"""Height of a row of groups."""


def counted_strokes(
    rows: Sequence[BarRow], voices: Voices, strong: Collection[int], room: Box
) -> list[Mark]:
    """Stand the number of strokes at each place of the bars as heights, the strong ones lit."""
    struck = [
        (row.x(a.onset_quarters), a.index in strong)
        for row in rows
        for a in attacks_in(row, voices)
    ]
    counts = Counter(x for x, _ in struck)
    strong_counts = Counter(x for x, is_strong in struck if is_strong)
    most = max(counts.values(), default=1)
    return [
        Shape(
            path=polyline([(x, room.bottom), (x, room.bottom - room.height * count / most)]),
            stroke=Stroke(colour=Colour(role), width=width),
        )
        for role, width, counted_at in (
            (Role.STRING, 5.0, counts),
            (Role.TEXT, 9.0, strong_counts),
        )
        for x, count in sorted(counted_at.items())
    ]


def group_marks(
    plan: MetrePlan,
    answer: MetreAnswer,
    readings: Sequence[MetreReading],
    room: Box,
    layout: Layout,
) -> list[Mark]:
    """Bracket the groups under the counted strokes: the best reading, then the written one."""
    if answer.pulse_quarters is None or not readings:
        return []
    row = plan.rows[0]
    step = float(answer.pulse_quarters) * row.px_per_quarter
    marks: list[Mark] = []
    for place, reading in enumerate(readings):
        role = Role.TEXT if place == 0 else Role.QUIET
        y = room.bottom + 14.0 + place * BRACKET_PX
        words_y = y + 6.0 + layout.sizes.label * 0.82
        edges = [row.left + step * sum(reading.groups[:i]) for i in range(len(reading.groups) + 1)]
        for size, (start, end) in zip(reading.groups, pairwise(edges), strict=True):
            corners = [(start + 4.0, y - 6.0), (start + 4.0, y + 2.0), (end - 8.0, y + 2.0)]
            marks.append(
                Shape(path=polyline(corners), stroke=Stroke(colour=Colour(role), width=2.6))
            )
            marks.append(label(layout, start + 8.0, words_y, str(size), role, strong=place == 0))
        marks.append(label(layout, plan.words_x, words_y, reading_words(reading, place), role))
    return marks


def reading_words(reading: MetreReading, place: int) -> str:
    """Name a grouping of the bar: how it is written, or how it is played."""
    if place == 0:
        return say("as written") if reading.is_written else say("as it is played")
    return say("as it is written")


def note_below(plan: MetrePlan, layout: Layout, *, is_counted: bool) -> list[Mark]:
    """Say below which bars are left out, and what is counted, as far as there is room."""
    told = [say("{what} not shown.", what=counted(plan.left_out, "more bar"))]
    said = told if plan.left_out else []
    if is_counted:
        whole = [*said, say("Upright: how often each place is struck; thick: with weight.")]
        if text_width(" ".join(whole), layout.sizes.label, 500) <= layout.right - layout.left:
            said = whole
    return [label(layout, layout.left, layout.note_baseline, " ".join(said))] if said else []


def attacks_in(row: BarRow, voices: Voices) -> list[Attack]:
    """List the attacks that fall into a bar."""
    return [a for a in voices.attacks if row.bar.span.holds(a.onset_quarters)]
