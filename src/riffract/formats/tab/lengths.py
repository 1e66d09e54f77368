"""What each bar must hold: its metre, or for once another length."""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Final, Literal

from riffract.formats.tab.faults import Fault, Report, Spot
from riffract.formats.tab.header import Heading, given_twice, pickup_fault, spot_of
from riffract.formats.tab.lines import Directive
from riffract.formats.tab.marks import read_metre
from riffract.formats.tab.placing import Said
from riffract.formats.tab.rows import Grid
from riffract.formats.tab.sheet import System
from riffract.formats.tab.values import FREE, read_value
from riffract.music import Metre

_UNKNOWN_METRE: Final = Metre(groups=(4,), unit=4)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What a bar must hold.

    Attributes:
        metre: the metre in force.
        length_ticks: its length, or the bar's own.
        said_in: what says so: `metre`, `pickup` or `length`.
        is_known: nothing about it is faulty, so the bar can be checked.
        is_free: it lasts as long as its values.
    """

    metre: Metre
    length_ticks: int
    said_in: str
    is_known: bool
    is_free: bool = False


@dataclass(slots=True)
class BarLengths:
    """Keeps the metre from bar to bar.

    Attributes:
        report: takes the problems.
        heading: tells whether the first bar is a pick-up bar.
        grid: how time is counted.
        metre: the one in force; `None` if none is known.
    """

    report: Report
    heading: Heading
    grid: Grid
    metre: Metre | None = None
    _is_said: bool = False

    def next_bar(
        self,
        number: int,
        above: Mapping[str, Said],
        waiting: Mapping[str, Directive],
        first_line: int,
    ) -> Wanted:
        """Tell what the next bar must hold.

        Args:
            number: of the bar, from 1.
            above: the metre and the length over its beginning, by label.
            waiting: the directives before its system, if it is the first bar there.
            first_line: of its system.
        """
        self._set_metre(above.get("metre"), waiting.get("metre"), first_line)
        metre = self.metre or _UNKNOWN_METRE
        length, said_in = metre.length_quarters, "metre"
        own = self._own_length(above.get("length"), waiting.get("length"))
        if own == FREE:
            said_in = "length"
        elif isinstance(own, Fraction):
            length, said_in = own, "length"
        elif number == 1 and self.heading.pickup_quarters is not None and self.metre is not None:
            length, said_in = self._pickup(self.heading.pickup_quarters, metre), "pickup"
        return Wanted(
            metre=metre,
            length_ticks=self.grid.ticks(length),
            said_in=said_in,
            is_known=self.metre is not None and not any(said.is_told for said in above.values()),
            is_free=own == FREE,
        )

    def guess_from(self, system: System) -> None:
        """Take the last metre of a system whose columns say nothing, for the bars behind it."""
        for row in system.words:
            if row.label == "metre":
                metre = read_metre(row.text.split("  ")[-1].strip())
                self.metre = metre if isinstance(metre, Metre) else None

    def _set_metre(self, said: Said | None, directive: Directive | None, first_line: int) -> None:
        """Let a new metre hold; after a faulty one the lengths of bars are not checked."""
        if directive is not None:
            self._take_metre(Said(directive.value, spot_of(directive)))
        if said is not None:
            if directive is None:
                self._take_metre(said)
            elif not said.is_told:
                self.report.error(given_twice(directive, directive.line), said.spot)
                self.metre = None
        if not self._is_said:
            self._is_said = True
            fault = Fault(what="no `metre` is given", mend="write it at the top: `metre: 4/4`")
            self.report.error(fault, Spot(first_line))

    def _take_metre(self, said: Said) -> None:
        self._is_said = True
        metre = read_metre(said.text)
        self.metre = metre if isinstance(metre, Metre) else None
        if isinstance(metre, Fault):
            self.report.error(metre, said.spot)

    def _own_length(
        self, said: Said | None, directive: Directive | None
    ) -> Fraction | Literal["free"] | None:
        if directive is not None:
            if said is not None:
                self.report.error(given_twice(directive, directive.line), said.spot)
            said = Said(directive.value, spot_of(directive))
        if said is None:
            return None
        if said.text.lower() == FREE:
            return FREE
        length = read_value(said.text)
        if isinstance(length, Fraction) and not self.grid.holds(length):
            mend = "write what the values of the bar add up to"
            length = Fault(what=f"no values of this tab add up to `{said.text}`", mend=mend)
        if isinstance(length, Fault):
            self.report.error(length, said.spot)
            return None
        return length

    def _pickup(self, pickup: Fraction, metre: Metre) -> Fraction:
        fault = pickup_fault(pickup, metre)
        if fault is None:
            return pickup
        self.report.error(fault, Spot(self.heading.lines["pickup"], 1))
        return metre.length_quarters
