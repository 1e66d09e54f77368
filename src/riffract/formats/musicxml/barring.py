"""How long each bar is: by its metre, or by its notes."""

from dataclasses import dataclass
from fractions import Fraction
from math import lcm
from typing import Final

from lxml.etree import _Element as Element

from riffract.formats.musicxml.clock import Clock
from riffract.formats.musicxml.metres import metre_of, metre_that_fills
from riffract.formats.musicxml.report import Report, Spot, line_of
from riffract.formats.musicxml.score import Measure
from riffract.formats.musicxml.texts import tidy_text
from riffract.formats.musicxml.written import COMMON_TIME, WrittenBar
from riffract.music import Metre
from riffract.music.notes import FINEST_TICKS_PER_QUARTER

LONGEST_BAR_QUARTERS: Final = 1024
LONGEST_NUMBER: Final = 12


@dataclass(slots=True)
class Barring:
    """Closes one bar after the other; keeps the metre in force.

    Attributes:
        report: where odd bars are told.
        clock: that has walked through the bar.
        metre: the metre in force, or the last one if bars are measured by their notes.
        is_measured_by_notes: whether each bar has the metre that its notes fill.
        is_free: whether the music has no metre at present.
    """

    report: Report
    clock: Clock
    metre: Metre | None = None
    is_measured_by_notes: bool = False
    is_free: bool = False
    _resolution: int = 1

    def change_metre(self, time: Element, spot: Spot) -> None:
        """Take over a time signature; without metre the one before counts the beats."""
        self.is_free = time.find("senza-misura") is not None
        if self.is_free:
            return
        metre = metre_of(time, self.report, spot)
        self.is_measured_by_notes = metre is None
        self.metre = metre or self.metre

    def close_bar(self, measure: Measure, bar: int, *, is_sound: bool) -> WrittenBar:
        """Work out how long a bar is.

        Args:
            measure: the bar that the clock has just walked through.
            bar: its index.
            is_sound: whether its durations are right; if not, they tell nothing of its length.
        """
        number = tidy_text(measure.opening.get("number"), LONGEST_NUMBER)
        spot = Spot(line_of(measure.opening), bar)
        content = self.clock.grid.quarters(self.clock.content_ticks)
        if content > LONGEST_BAR_QUARTERS:
            self.report.error(
                f"the bar holds more than {LONGEST_BAR_QUARTERS} quarters",
                "split it into bars",
                spot,
            )
            content = Fraction(LONGEST_BAR_QUARTERS)
        content = self._on_common_grid(content, spot)
        if self.is_free:
            self.metre = self.metre or COMMON_TIME
            length = content or self.metre.length_quarters
            return WrittenBar(number, self.metre, length, is_free=True)
        if self.is_measured_by_notes:
            return self._bar_by_notes(number, content, spot)
        metre = self._metre_or_common(spot)
        full = metre.length_quarters
        if self.clock.has_bar_rest or not content:
            content = max(content, full)
        if content == full or not is_sound:
            return WrittenBar(number, metre, full)
        is_announced = measure.opening.get("implicit") == "yes" or number == "0"
        is_pick_up = bar == 0 and content < full
        if not is_announced:
            self._warn_of_length(metre, content, spot, is_pick_up=is_pick_up)
        return WrittenBar(number, metre, content, is_pick_up)

    def _on_common_grid(self, content: Fraction, spot: Spot) -> Fraction:
        """Refuse bars whose ends share no grid with those before; numbers would grow for ever."""
        resolution = lcm(self._resolution, content.denominator)
        if resolution <= FINEST_TICKS_PER_QUARTER:
            self._resolution = resolution
            return content
        self.report.error(
            "from this bar on, the lengths of the bars fit no common grid of at most "
            f"{FINEST_TICKS_PER_QUARTER:,} steps a quarter",
            "use fewer kinds of tuplets in one passage",
            spot,
        )
        return Fraction(round(content))

    def _bar_by_notes(self, number: str, content: Fraction, spot: Spot) -> WrittenBar:
        before = self.metre or COMMON_TIME
        length = content or before.length_quarters
        metre = metre_that_fills(length)
        if metre is None:
            self.report.warn(
                "no metre",
                f"no metre fills a bar of {length} quarters; the one before is kept",
                "write a time signature",
                spot,
            )
        self.metre = metre or before
        return WrittenBar(number, self.metre, length)

    def _metre_or_common(self, spot: Spot) -> Metre:
        if self.metre is None:
            self.report.warn(
                "no time",
                "the score has no time signature; 4/4 is taken",
                "write `time` in the attributes of the first bar",
                spot,
            )
            self.metre = COMMON_TIME
        return self.metre

    def _warn_of_length(
        self, metre: Metre, content: Fraction, spot: Spot, *, is_pick_up: bool
    ) -> None:
        read_as = "it is read as a pick-up" if is_pick_up else "it is read as long as its notes"
        self.report.warn(
            "bar length",
            f"the bar holds {content} quarters, its metre {metre.label()} holds "
            f"{metre.length_quarters}; {read_as}",
            'fill the bar with notes or rests, or mark it `implicit="yes"` if it is meant so',
            spot,
        )
