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
        groups: in pulses (see `MetreAnswer.pulse_quarters`), e.g. (3, 3, 2).
        bits: what it costs to tell the attacks by it; fewer is better.
        is_written: whether the metre is written that way.
    """

    groups: tuple[int, ...]
    bits: float
    is_written: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class TupletLayer:
    """A division by something else than two.

    Attributes:
        parts: 3 for triplets, 5 for quintuplets, 7 …
        bars: the bars that hold some, rising.
        attacks: how many attacks lie on no coarser division.
    """

    parts: int
    bars: tuple[int, ...]
    attacks: int


@dataclass(frozen=True, slots=True, kw_only=True)
class MetreAnswer:
    """How the riff sits in the bar.

    Attributes:
        grouping: readings of the bar's inner grouping, best first; empty where metres change too
            often for one to stand, or where a bar can be grouped in one way only.
        phase: where each pass starts; empty if the riff does not come back.
        meets_after: (passes, bars) after which pass and bar start together again; `None` if they
            always do, or never.
        density: attacks a quarter, bar by bar.
        evenness: of the attacks in the bar, 0..1; `None` if bars differ too much to tell.
        off_beat_share: share of the attacks between the beats.
        pulse_quarters: what groups are counted in; `None` without a grouping.
        cycle: where the attacks of the bar fall, in pulses of `cycle_pulses`; empty if bars differ
            too much to tell. Of a riff that runs against the bars, the riff's own.
        cycle_pulses: how many pulses that bar, or riff, has; 0 without a cycle.
        tuplets: divisions by other than two.
    """

    grouping: tuple[MetreReading, ...]
    phase: tuple[PhaseRow, ...]
    meets_after: tuple[int, int] | None
    density: tuple[float, ...]
    evenness: float | None
    off_beat_share: float
    pulse_quarters: Fraction | None = None
    cycle: tuple[int, ...] = ()
    cycle_pulses: int = 0
    tuplets: tuple[TupletLayer, ...] = ()
