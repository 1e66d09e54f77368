"""The weight scene: how a finding stands against chance, counted out in dots.

Each dot is a random version of the passage, placed by how well it does; the riff's own stroke
stands where the riff does. Where the chance was computed instead of drawn, one dot among as many as
it takes on average until chance does as well.

Source: counts out of a stated number are read better than probabilities (Gigerenzer & Hoffrage,
Psychological Review 102/4, 1995); one dot for a fixed share of a distribution (Kay et al., ACM CHI
2016, 5092-5103).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor, sqrt
from typing import Final

import numpy as np

from riffract.analysis.saying import language, say, say_count
from riffract.essay.shots import Shot
from riffract.picture.bounds import Box
from riffract.picture.layout import APPEAR_SECONDS, Layout, captions, claim_marks, label, layout_of
from riffract.picture.marks import Colour, Mark, Path, Role, Shape, Stroke, Words, circle, polyline
from riffract.picture.page import page_scene
from riffract.picture.scene import Cue, Page, Scene
from riffract.picture.type import text_width, wrap
from riffract.weighing.chance import TIE, Chance
from riffract.weighing.study import VERDICT_NAMES, Study, WeighedFinding

LEAST_DOT_PX, MOST_DOT_PX = 2.2, 14.0
"""Radius. Smaller ones run together on a phone; larger ones look like notes."""

MOST_COLUMNS: Final = 48
COLUMNS_PER_ROOT: Final = 3
"""Few draws get fewer columns: so many for each root of their number, so that they form a heap."""

VERSIONS_A_DOT: Final = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1_000)
DOT_SHARE: Final = 0.92
"""Of the room that a dot has to itself."""

RAREST: Final = 10_000
"""What chance does more rarely is told, and shown, as less than once in so many times: a p value
is no more exact than its null model."""

STROKE_PX: Final = 4.5
FILLING_STEPS: Final = 6
FILLING_SECONDS: Final = 1.8
"""The dots come up in so many steps over this time, the riff's own stroke after them."""

COLUMN_SHARE: Final = 0.3
"""Of the picture's width for the words beside it."""

GAP_PX: Final = 64.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Dots:
    """Where the dots stand.

    Attributes:
        usual: centres of those that do worse than the riff, in the order in which they come up.
        as_good: centres of those that do as well.
        radius: of all of them.
        stroke_x: where the riff's own stroke stands; `None` where a place says nothing.
        versions_a_dot: how many random versions a dot stands for.
    """

    usual: tuple[tuple[float, float], ...]
    as_good: tuple[tuple[float, float], ...]
    radius: float
    stroke_x: float | None
    versions_a_dot: int


def weight_scene(study: Study, shot: Shot, page: Page) -> Scene:
    """Show how often chance does as well as what a shot claims; a page if no chance is involved."""
    weighed = next((one for one in shot.findings if one.chance is not None), None)
    if weighed is None or weighed.chance is None:
        return page_scene(study, shot, page)
    layout = layout_of(shot, page)
    field, column = _rooms(layout)
    dots = dots_of(weighed.chance, field)
    stroke = _own_stroke(dots, field, layout)
    words = column_words(weighed, dots, study)
    batches = _batches(dots)
    ground: list[Mark] = [
        *claim_marks(layout),
        *_column(words, column, layout),
        *_base(dots, field, layout),
    ]
    cues: list[Cue] = []
    if shot.plays or shot.lines:
        step = FILLING_SECONDS / FILLING_STEPS
        for number, batch in enumerate(batches):
            cues.append(Cue(at_seconds=number * step, marks=batch, fade_seconds=step))
        cues.append(
            Cue(at_seconds=FILLING_SECONDS + step, marks=stroke, fade_seconds=APPEAR_SECONDS)
        )
    else:
        ground += [*(mark for batch in batches for mark in batch), *stroke]
    return Scene(
        page=page,
        ground=tuple(ground),
        cues=tuple(cues),
        length_seconds=shot.length_seconds,
        description=" ".join(text for text, _ in words),
        moving=captions(layout, shot.lines),
    )


def dots_of(chance: Chance, room: Box) -> Dots:
    """Place the random versions in a room: by how well they do, or in a field if that is unknown.

    Args:
        chance: what was drawn or computed.
        room: px; dots stand on its lower edge.
    """
    if _is_counted(chance):
        return _by_statistic(chance, room)
    return _in_a_field(chance.p, room)


def column_words(weighed: WeighedFinding, dots: Dots, study: Study) -> tuple[tuple[str, Role], ...]:
    """Say in words what the dots show: the verdict, the count, what chance was free to change."""
    chance = weighed.chance
    assert chance is not None
    named = {w.finding.id: w.finding.sentence for w in study.findings}
    words = [
        (f"{_capital(say(VERDICT_NAMES[weighed.verdict]))}.", Role.TEXT),
        (_count(chance), Role.TEXT),
    ]
    dot = say_count(
        dots.versions_a_dot,
        "Each dot is a random version: {model}.",
        "Each dot is {count} versions: {model}.",
        model=say(chance.model),
    )
    words.append((dot, Role.QUIET))
    if weighed.q is not None and weighed.q > chance.p:
        q = f"q = {weighed.q:.2g}" if weighed.q >= 1.0 / RAREST else f"q < {1.0 / RAREST:g}"
        q = q.replace(".", language().decimal_sign)
        asked = study.asked
        paid = say("Paid for {asked} questions that were asked: {q}.", asked=asked, q=q)
        words.append((paid, Role.QUIET))
    for rival in weighed.rivals[:1]:
        said = named.get(rival.description, rival.description).rstrip(".")
        behind = say("{bits} bits behind", bits=f"{rival.bits:.0f}")
        if rival.bits <= 0:
            behind = say("explains as much")
        nearest = say("Nearest rival: {rival} ({behind}).", rival=said, behind=behind)
        words.append((nearest, Role.QUIET))
    return tuple(words)


def _count(chance: Chance) -> str:
    if not _is_counted(chance):
        number = _rounded(_once_in(chance.p))
        if chance.p * RAREST >= 1.0:
            return say("Chance does as well about once in {number} times.", number=number)
        return say("Chance does as well less than once in {number} times.", number=number)
    as_good = sum(draw >= chance.observed - TIE for draw in chance.draws)
    of = f"{len(chance.draws):,}"
    if not as_good:
        return say("None of {of} do as well.", of=of)
    return say_count(as_good, "{count} of {of} does as well.", "{count} of {of} do as well.", of=of)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _is_counted(chance: Chance) -> bool:
    """Tell whether p is a count of the draws, not computed from them or without any."""
    return bool(chance.draws) and chance.exact_p is None


def _rounded(number: float) -> str:
    """Write a number with two figures that count.

    >>> _rounded(12345.0), _rounded(2.6)
    ('12,000', '3')
    """
    if number < 100:
        return f"{number:.0f}"
    unit = 10 ** (len(str(int(number))) - 2)
    return f"{round(number / unit) * unit:,}"


def _rooms(layout: Layout) -> tuple[Box, Box]:
    """Part the picture into a field and a column of words; on the tall page below one another."""
    room = layout.picture
    if layout.page.is_narrow:
        middle = room.top + 0.55 * room.height
        field = Box(left=room.left, top=room.top, right=room.right, bottom=middle - GAP_PX)
        return field, Box(left=room.left, top=middle + GAP_PX, right=room.right, bottom=room.bottom)
    middle = room.right - COLUMN_SHARE * room.width
    field = Box(left=room.left, top=room.top, right=middle - GAP_PX, bottom=room.bottom - GAP_PX)
    return field, Box(left=middle, top=room.top, right=room.right, bottom=room.bottom)


def _by_statistic(chance: Chance, room: Box) -> Dots:
    low = min(*chance.draws, chance.observed)
    high = max(*chance.draws, chance.observed)
    columns = _column_count(chance.draws, low, high)
    width = room.width / columns
    # The riff's own column belongs to what does as well, so a column never holds both.
    places = [_column_of(draw, low, high, columns) for draw in chance.draws]
    counts = [places.count(column) for column in range(columns)]
    radius, versions = _dot_size(counts, width, room.height)
    # No more abreast than the tallest needs, so that a few dots make a heap and not a row.
    abreast = max(ceil(ceil(max(counts) / versions) * 2.0 * radius / DOT_SHARE / room.height), 1)
    usual: list[tuple[float, float]] = []
    as_good: list[tuple[float, float]] = []
    for column in range(columns):
        values = [d for d, p in zip(chance.draws, places, strict=True) if p == column]
        good = sum(value >= chance.observed - TIE for value in values)
        dots = ceil(len(values) / versions)
        good_dots = ceil(good / versions)
        for row, centre in enumerate(_stacked(column, dots, radius, width, room, abreast=abreast)):
            (as_good if row >= dots - good_dots else usual).append(centre)
    stroke = room.left + (_column_of(chance.observed, low, high, columns) + 0.5) * width
    return Dots(
        usual=tuple(usual),
        as_good=tuple(as_good),
        radius=radius,
        stroke_x=stroke,
        versions_a_dot=versions,
    )


def _column_count(draws: Sequence[float], low: float, high: float) -> int:
    """Give whole-numbered statistics a column for each number, others as many as can be seen."""
    if high <= low:
        return 1
    if all(float(draw).is_integer() for draw in draws) and high - low < MOST_COLUMNS:
        return round(high - low) + 1
    return min(MOST_COLUMNS, ceil(COLUMNS_PER_ROOT * sqrt(len(draws))))


def _column_of(value: float, low: float, high: float, columns: int) -> int:
    if high <= low:
        return 0
    return min(floor((value - low) / (high - low) * columns), columns - 1)


def _dot_size(counts: Sequence[int], width: float, height: float) -> tuple[float, int]:
    """Give the radius of a dot, and how many versions it stands for, so that all columns fit."""
    tallest = max(counts, default=0)
    for versions in VERSIONS_A_DOT:
        radius = _radius_for(ceil(tallest / versions), width, height)
        if radius >= LEAST_DOT_PX:
            return radius, versions
    return LEAST_DOT_PX, max(tallest, 1)


def _radius_for(dots: int, width: float, height: float) -> float:
    """Give the largest radius at which so many dots fill a column, side by side and up."""
    step = 2.0 * MOST_DOT_PX / DOT_SHARE
    while ceil(dots / max(floor(width / step), 1)) * step > height or step > width:
        step *= 0.97
    return step * DOT_SHARE / 2.0


def _stacked(
    column: int, dots: int, radius: float, width: float, room: Box, *, abreast: int
) -> list[tuple[float, float]]:
    """Stack dots from the base line up, so many abreast."""
    step = 2.0 * radius / DOT_SHARE
    left = room.left + column * width + (width - abreast * step) / 2.0
    return [
        (left + (i % abreast + 0.5) * step, room.bottom - (i // abreast + 0.5) * step)
        for i in range(dots)
    ]


def _in_a_field(p: float, room: Box) -> Dots:
    """Place one dot among as many as it takes, row by row, in the middle of the room."""
    count = _once_in(p)
    radius = _radius_for(count, room.width, room.height)
    step = 2.0 * radius / DOT_SHARE
    across = min(floor(room.width / step), ceil(sqrt(count * room.width / room.height)))
    rows = ceil(count / across)
    left = room.left + (room.width - across * step) / 2.0
    top = room.top + (room.height - rows * step) / 2.0
    centres = [
        (left + (i % across + 0.5) * step, top + (i // across + 0.5) * step) for i in range(count)
    ]
    own = centres.pop(min(across // 2 + across * (rows // 2), count - 1))
    return Dots(
        usual=tuple(centres),
        as_good=(own,),
        radius=radius,
        stroke_x=None,
        versions_a_dot=1,
    )


def _once_in(p: float) -> int:
    return RAREST if p * RAREST < 1.0 else max(round(1.0 / p), 1)


def _batches(dots: Dots) -> list[tuple[Mark, ...]]:
    """Part the dots into the steps in which they come up, here and there; the best come last."""
    batches: list[tuple[Mark, ...]] = []
    order = np.random.default_rng(0).permutation(len(dots.usual))
    for step in range(FILLING_STEPS):
        some = [dots.usual[i] for i in order[step::FILLING_STEPS].tolist()]
        if some:
            path = tuple(piece for x, y in some for piece in circle(x, y, dots.radius))
            batches.append((Shape(path=path, fill=Colour(Role.STRING)),))
    if dots.as_good:
        batches.append(tuple(_as_good(dots)))
    return batches


def _as_good(dots: Dots) -> list[Mark]:
    """Draw the dots that do as well brighter, and, where they are few, each with a ring."""
    path: Path = tuple(piece for x, y in dots.as_good for piece in circle(x, y, dots.radius))
    marks: list[Mark] = [Shape(path=path, fill=Colour(Role.TEXT))]
    if len(dots.as_good) <= FILLING_STEPS:
        stroke = Stroke(colour=Colour(Role.TEXT), width=2.4)
        marks += [
            Shape(path=circle(x, y, dots.radius + 7.0), stroke=stroke) for x, y in dots.as_good
        ]
    return marks


def _base(dots: Dots, field: Box, layout: Layout) -> list[Mark]:
    if dots.stroke_x is None:
        return []
    line = polyline([(field.left, field.bottom), (field.right, field.bottom)])
    y = field.bottom + 1.3 * layout.sizes.label
    better = say("stronger →")
    right = field.right - text_width(better, layout.sizes.label, 500)
    return [
        Shape(path=line, stroke=Stroke(colour=Colour(Role.STRING), width=2.0)),
        label(layout, field.left, y, say("← weaker")),
        label(layout, right, y, better),
    ]


def _own_stroke(dots: Dots, field: Box, layout: Layout) -> tuple[Mark, ...]:
    """Draw the riff's own stroke with its name beside it, on the side where there is room."""
    if dots.stroke_x is None:
        return ()
    x, top = dots.stroke_x, field.top
    line = polyline([(x, top), (x, field.bottom)])
    is_right = x > (field.left + field.right) / 2.0
    name = Words(
        x=x - 16.0 if is_right else x + 16.0,
        y=top + layout.sizes.label,
        text=say("this riff"),
        size=layout.sizes.label,
        weight=600,
        colour=Colour(Role.TEXT),
        align="end" if is_right else "start",
        halo=4.0,
    )
    stroke = Stroke(colour=Colour(Role.TEXT), width=STROKE_PX)
    return (Shape(path=line, stroke=stroke), name)


def _column(words: Sequence[tuple[str, Role]], room: Box, layout: Layout) -> list[Mark]:
    """Set the words one under another; what does not fit is left out from the end."""
    marks: list[Mark] = []
    y = room.top
    for number, (text, role) in enumerate(words):
        size = layout.sizes.heading if number < 2 else layout.sizes.label
        lines = wrap(text, size, 600 if number < 2 else 400, room.width)
        if y + 1.3 * size * len(lines) > room.bottom:
            break
        for line in lines:
            y += 1.3 * size
            marks.append(
                Words(
                    x=room.left,
                    y=y,
                    text=line,
                    size=size,
                    weight=600 if number < 2 else 400,
                    colour=Colour(role),
                )
            )
        y += 0.7 * size
    return marks
