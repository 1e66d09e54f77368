"""The tab staff under a system of notation."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from riffract.analysis.saying import say
from riffract.music import Tuning
from riffract.picture.marks import Group, Mark
from riffract.publish.staff.sizes import ROW_HEIGHT, UNITS_A_MM
from riffract.publish.staff.stretch_marks import can_share_a_row, stretch_marks, stretches_in
from riffract.publish.staff.stretches import Stretch
from riffract.publish.staff.tab_bends import bend_marks
from riffract.publish.staff.tab_figures import (
    NARROWEST_GAP,
    figure_marks,
    figures,
    joining_marks,
    line_marks,
    name_marks,
    string_y,
    tightest_gap,
)
from riffract.publish.staff.tab_letters import has_letters, letter_marks, tightest_letters
from riffract.publish.staff.tab_links import link_marks
from riffract.publish.staff.tab_system import TabSystem

_OVER_FIRST_LINE: Final = 2.2 * UNITS_A_MM
"""From the lowest row of signs down to the first line: half a number, and an arc over it."""

_BELOW: Final = 2.2 * UNITS_A_MM
_PALM_MUTE: Final = "P.M."


@dataclass(frozen=True, slots=True, kw_only=True)
class TabStaff:
    """A tab staff as marks, in page units from the top left corner of its system.

    Attributes:
        marks: drawn in order.
        height: of notation and tab together.
    """

    marks: tuple[Mark, ...]
    height: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TabFacts:
    """What holds for all systems of a passage.

    Attributes:
        tuning: its strings.
        names: of the twelve pitch classes.
        palm_muted, ringing: stretches.
    """

    tuning: Tuning
    names: Mapping[int, str]
    palm_muted: Sequence[Stretch]
    ringing: Sequence[Stretch]


def tab_staff(system: TabSystem, facts: TabFacts) -> TabStaff:
    """Draw the tab of a system under its notation.

    From the staff down: where strings ring, where they are palm-muted, letters and bends, then the
    strings, the highest on top. A row that a system does not need takes no room.
    """
    shown = figures(system)
    baseline, stretches = _stretch_rows(system, facts)
    rows = list(stretches)
    if has_letters(system, shown):
        baseline += ROW_HEIGHT
        rows.extend(letter_marks(system, shown, baseline))
    top = baseline + _OVER_FIRST_LINE
    bottom = top + string_y(facts.tuning.string_count)
    strings = Group(marks=tuple(_on_strings(system, facts)), shift=(0.0, top))
    joined = joining_marks(system.places.top, bottom, system.places.left)
    return TabStaff(marks=(*rows, strings, *joined), height=bottom + _BELOW)


def _stretch_rows(system: TabSystem, facts: TabFacts) -> tuple[float, list[Mark]]:
    """Draw ringing over palm mutes, both in one row if they fit; give the last row's baseline."""
    words = (say("let ring"), _PALM_MUTE)
    rings = stretches_in(system, facts.ringing)
    muted = stretches_in(system, facts.palm_muted)
    is_one_row = bool(rings and muted) and can_share_a_row(system, rings, muted, words)
    baseline = system.places.height
    marks: list[Mark] = []
    for place, (word, stretches) in enumerate(zip(words, (rings, muted), strict=True)):
        if stretches:
            baseline += 0.0 if is_one_row and place else ROW_HEIGHT
            marks.extend(stretch_marks(system, stretches, word, baseline))
    return baseline, marks


def has_room(system: TabSystem) -> bool:
    """Tell whether numbers and letters stand apart."""
    shown = figures(system)
    return min(tightest_gap(shown), tightest_letters(system, shown)) >= NARROWEST_GAP


def _on_strings(system: TabSystem, facts: TabFacts) -> Iterator[Mark]:
    shown = figures(system)
    yield from line_marks(system.places, facts.tuning.string_count, shown)
    yield from name_marks(facts.tuning, facts.names, system.places.left)
    yield from link_marks(system, shown)
    for figure in shown:
        yield from bend_marks(system, figure)
        yield from figure_marks(figure)
