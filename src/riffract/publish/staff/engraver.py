"""The passage on paper: staff and tab as pictures, system by system."""

from bisect import bisect_left
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from typing import Final

from riffract.analysis.saying import say
from riffract.analysis.spelling import names_in
from riffract.music import Bar, Passage, Span
from riffract.picture.look import PAPER
from riffract.picture.svg import svg_fragment
from riffract.publish.staff.drawing import Spacing, drawn_lines
from riffract.publish.staff.notation import Notation, notation_of
from riffract.publish.staff.places import places_in
from riffract.publish.staff.sizes import UNITS_A_MM
from riffract.publish.staff.stretches import palm_muted, ringing
from riffract.publish.staff.tab_staff import TabFacts, TabStaff, has_room, tab_staff
from riffract.publish.staff.tab_system import TabSystem, tab_systems

_SPACINGS: Final = (
    *(Spacing(quarter / 4) for quarter in range(9)),
    *(Spacing(2.0, share) for share in (0.3, 0.35, 0.42, 0.5, 0.7)),
)
"""From close to wide: first room behind each note, as much as the engraver allows, then for its
duration, for what would still run together: numbers of two digits in quick notes with slides."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StaffSystem:
    """One line of notation with the tab under it.

    Attributes:
        svg: the drawing, as wide as the page that was asked for.
        description: which bars it shows.
        span: what stands on it.
    """

    svg: str
    description: str
    span: Span


def staff_systems(passage: Passage, *, width_mm: float) -> tuple[StaffSystem, ...]:
    """Engrave a passage as guitar notation, staff and tab drawn together.

    Args:
        passage: what; each bar as it is played.
        width_mm: of a system, staves being `STAFF_MM` high.

    Returns:
        Its systems in order; none if the passage has no notes, or is finer than notation can say.
    """
    if not len(passage.notes):
        return ()
    try:
        notation = notation_of(passage)
    except ValueError:
        return ()
    facts = TabFacts(
        tuning=passage.tuning,
        names=names_in(passage),
        palm_muted=palm_muted(passage),
        ringing=ringing(passage),
    )
    return tuple(
        StaffSystem(
            svg=_joined(svg, system, tab_staff(system, facts)),
            description=_description(passage, system.span),
            span=system.span,
        )
        for svg, system in engraved_lines(passage, notation, round(width_mm * UNITS_A_MM))
    )


def engraved_lines(
    passage: Passage, notation: Notation, width_units: int
) -> tuple[tuple[str, TabSystem], ...]:
    """Engrave as closely as the numbers of the tab allow, which are wider than noteheads.

    Args:
        passage: what, with at least one note.
        notation: the same as a file with its frets.
        width_units: of a line, in page units.

    Returns:
        The drawing of each line, and where its frets stand.
    """

    @cache
    def engraved(spacing: Spacing) -> tuple[tuple[str, TabSystem], ...]:
        drawings = drawn_lines(notation.xml, width_units, spacing)
        systems = tab_systems(passage, notation.frets, map(places_in, drawings))
        return tuple(zip(drawings, systems, strict=True))

    def fits(spacing: Spacing) -> bool:
        return all(has_room(system) for _, system in engraved(spacing))

    # wider music stands further apart, so halving finds the closest that fits
    return engraved(_SPACINGS[bisect_left(_SPACINGS[:-1], x=True, key=fits)])


def _joined(svg: str, system: TabSystem, tab: TabStaff) -> str:
    """Put the tab under the notation, in one drawing."""
    width, height = system.places.width, system.places.height
    notation = svg.replace("<svg ", f'<svg x="0" y="0" width="{width:g}" height="{height:g}" ', 1)
    drawn = svg_fragment(tab.marks, PAPER, prefix="t")
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
        f' viewBox="0 0 {width:g} {tab.height:.1f}">\n{notation}\n{drawn}</svg>\n'
    )


def _description(passage: Passage, span: Span) -> str:
    first = passage.bar_at(span.start_quarters).number
    last = passage.bars[bisect_left(passage.bars, span.end_quarters, key=_start) - 1].number
    if first == last:
        return say("Bar {bar} in staff notation and tab; the tab stands as text, too.", bar=first)
    return say(
        "Bars {first} to {last} in staff notation and tab; the tab stands as text, too.",
        first=first,
        last=last,
    )


def _start(bar: Bar) -> Fraction:
    return bar.start_quarters
