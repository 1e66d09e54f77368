"""What a weight scene says: how rare it is in one large figure, then what the dots stand for.

Source: counts out of a stated number are read better than probabilities (Gigerenzer & Hoffrage,
Psychological Review 102/4, 1995).
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from riffract.analysis.saying import language, say, say_count
from riffract.picture.bounds import Box
from riffract.picture.clock.words import form_label
from riffract.picture.layout import DESCENT_SHARE, Layout
from riffract.picture.marks import Colour, Role, Words
from riffract.picture.type import CAP_HEIGHT_SHARE, text_width, wrap
from riffract.picture.weight.dots import RAREST, is_counted, once_in
from riffract.weighing.chance import TIE, Chance
from riffract.weighing.study import Study, WeighedFinding

FIGURE_PX: Final = 108.0
"""Of the figure that tells how rare it is: read before all else, on a phone as well."""

LINE_SHARE, AIR_SHARE = 1.3, 0.7
"""From line to line, and between two paragraphs, over the size of the words."""

UNIT_AIR_SHARE: Final = 0.2
"""Below the figure, over its size."""

_TEXT: Final = Colour(Role.TEXT)


@dataclass(frozen=True, slots=True, kw_only=True)
class WeightWords:
    """What is said of a chance.

    Attributes:
        figure: how rare it is, in figures.
        unit: what the figure counts; figure and unit make a sentence.
        details: what the dots stand for and what else was asked, each a sentence; what finds no
            room is left out from the end.
    """

    figure: str
    unit: str
    details: tuple[str, ...]

    @property
    def sentences(self) -> str:
        """All of it as running text."""
        return " ".join((self.figure, self.unit, *self.details))


def weight_words(weighed: WeighedFinding, versions_a_dot: int, study: Study) -> WeightWords:
    """Say what the dots show: the count, what chance was free to change, the nearest rival.

    Args:
        weighed: a finding that chance was asked about.
        versions_a_dot: how many random versions a dot stands for.
        study: that it belongs to.

    Raises:
        ValueError: if the finding has no chance.
    """
    if weighed.chance is None:
        raise ValueError(f"{weighed.finding.id} was not weighed against chance")
    figure, unit = _count(weighed.chance)
    return WeightWords(
        figure=figure, unit=unit, details=tuple(_details(weighed, versions_a_dot, study))
    )


def _details(weighed: WeighedFinding, versions_a_dot: int, study: Study) -> Iterator[str]:
    chance = weighed.chance
    assert chance is not None
    yield say_count(
        versions_a_dot,
        "Each dot is a shuffled version: {model}.",
        "Each dot is {count} shuffled versions: {model}.",
        model=chance.model,
    )
    if weighed.q is not None and weighed.q > chance.p:
        q = f"q = {weighed.q:.2g}" if weighed.q >= 1.0 / RAREST else f"q < {1.0 / RAREST:g}"
        q = q.replace(".", language().decimal_sign)
        yield say("{asked} questions were asked; allowing for that, {q}.", asked=study.asked, q=q)
    named = {w.finding.id: w.finding.sentence for w in study.findings}
    for rival in weighed.rivals[:1]:
        said = named.get(rival.description, form_label(rival.description)).rstrip(".")
        bits = round(rival.bits)
        behind = say_count(bits, "{count} bit behind", "{count} bits behind")
        if bits <= 0:
            behind = say("explains as much")
        yield say("Nearest rival: {rival} ({behind}).", rival=said, behind=behind)


def _count(chance: Chance) -> tuple[str, str]:
    """Give the figure and what it counts."""
    if not is_counted(chance):
        unit = say("is how often chance does as well.")
        if chance.p * RAREST < 1.0:
            return say("< 1 in {number}", number=_grouped(RAREST)), unit
        return say("1 in {number}", number=_grouped(_rounded(once_in(chance.p)))), unit
    as_good = sum(draw >= chance.observed - TIE for draw in chance.draws)
    figure = say("{count} of {of}", count=_grouped(as_good), of=_grouped(len(chance.draws)))
    if as_good == 1:
        return figure, say("shuffled versions does as well.")
    return figure, say("shuffled versions do as well.")


def _rounded(number: int) -> int:
    """Keep two figures that count.

    >>> _rounded(12345), _rounded(26)
    (12000, 26)
    """
    places = max(len(str(number)) - 2, 0)
    return round(number, -places)


def _grouped(number: int) -> str:
    """Write a number in groups of three figures, with a sign that is not the decimal one."""
    return f"{number:,}".replace(",", "." if language().decimal_sign == "," else ",")


def word_marks(words: WeightWords, room: Box, layout: Layout) -> list[Words]:
    """Set the figure, its unit and the details one under another, as far as there is room."""
    share = room.width / max(text_width(words.figure, FIGURE_PX, 600), 1.0)
    size = FIGURE_PX * min(share, 1.0)
    y = room.top + CAP_HEIGHT_SHARE * size
    figure = Words(x=room.left, y=y, text=words.figure, size=size, weight=600, colour=_TEXT)
    marks = [figure]
    y += UNIT_AIR_SHARE * size
    head = layout.sizes.heading
    unit = Words(x=room.left, y=y, text=words.unit, size=head, weight=600, colour=_TEXT)
    quiet = Colour(Role.QUIET)
    settings = [
        _set(
            (
                unit,
                *(
                    replace(unit, text=t, size=size, weight=500, colour=quiet)
                    for t in words.details
                ),
            ),
            room,
        )
        for size in (layout.sizes.caption, layout.sizes.label)
    ]
    return [*marks, *next((lines for lines, is_all in settings if is_all), settings[-1][0])]


def bottom_of(lines: Sequence[Words]) -> float:
    """Tell how far down some lines of words reach."""
    return max(line.y + DESCENT_SHARE * line.size for line in lines)


def _set(paragraphs: Sequence[Words], room: Box) -> tuple[list[Words], bool]:
    """Break paragraphs into lines from the first one's height on; tell whether all find room."""
    set_lines: list[Words] = []
    y = paragraphs[0].y
    for paragraph in paragraphs:
        lines = wrap(paragraph.text, paragraph.size, paragraph.weight, room.width)
        if y + (LINE_SHARE * len(lines) + DESCENT_SHARE) * paragraph.size > room.bottom:
            return set_lines, False
        for line in lines:
            y += LINE_SHARE * paragraph.size
            set_lines.append(replace(paragraph, text=line, y=y))
        y += AIR_SHARE * paragraph.size
    return set_lines, True
