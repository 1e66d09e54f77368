"""How the riff sits in the bar."""

from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class PhaseRow:
    """Where a pass starts against the bars.

    Attributes:
        pass_number: which pass, from 1.
        bar: the bar as played in which it starts, from 1.
        offset_quarters: how long after that bar's start.
    """

    pass_number: int
    bar: int
    offset_quarters: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class MetreReading:
    """A grouping of the bar that the attacks suggest.

    Attributes:
        groups: in units of the metre, e.g. (3, 3, 2).
        bits: what it costs to tell the attacks by it; fewer is better.
        is_written: whether the metre is written that way.
    """

    groups: tuple[int, ...]
    bits: float
    is_written: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class MetreAnswer:
    """How the riff sits in the bar.

    Attributes:
        grouping: readings of the bar's inner grouping, best first; empty where metres change too
            often for one to stand.
        phase: where each pass starts; empty if the riff does not come back.
        meets_after: (passes, bars) after which pass and bar start together again; `None` if they
            always do, or never.
        density: attacks a quarter, bar by bar.
        evenness: of the attacks in the bar, 0..1; `None` if bars differ too much to tell.
        off_beat_share: share of the attacks between the beats.
    """

    grouping: tuple[MetreReading, ...]
    phase: tuple[PhaseRow, ...]
    meets_after: tuple[int, int] | None
    density: tuple[float, ...]
    evenness: float | None
    off_beat_share: float
