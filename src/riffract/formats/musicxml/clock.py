"""When things happen in a bar: divisions, chords, backup and forward, and rounded durations."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from math import lcm
from types import MappingProxyType
from typing import Final, NamedTuple

from lxml.etree import _Element as Element

from riffract.formats.musicxml.grid import Grid, Ticks, whole_if_possible
from riffract.formats.musicxml.numbers import decimal_number, whole_number
from riffract.formats.musicxml.report import Report, Spot, line_of
from riffract.formats.musicxml.score import Measure
from riffract.formats.musicxml.values import WrittenValue, written_value
from riffract.music.notes import FINEST_TICKS_PER_QUARTER

LONGEST_QUARTERS: Final = 256
LARGEST_DIVISIONS: Final = 10**9

_NOTHING: Final[Mapping[str, Element]] = MappingProxyType({})


class Timed(NamedTuple):
    """A tag of a bar with its time.

    Attributes:
        tag: the tag.
        spot: where and when it starts.
        duration_ticks: how long it lasts; 0 for all but notes.
        children: what a note holds, each tag after its name; empty for other tags.
        inside: the same by name, the last one of each.
    """

    tag: Element
    spot: Spot
    duration_ticks: Ticks = 0
    children: Sequence[tuple[str, Element]] = ()
    inside: Mapping[str, Element] = _NOTHING


@dataclass(slots=True)
class Clock:
    """Walks through the bars of one part; keeps the divisions from bar to bar.

    Exporters round durations to whole divisions, so a triplet may come as 1 + 1 + 2 of them.
    Where the written value (type, dots, time-modification) does not fit in whole divisions and the
    duration is less than one division away, the written value is what is meant. Two times run
    side by side, then: the one by durations, which backup and forward count in, and the exact one.
    """

    report: Report
    grid: Grid
    content_ticks: Ticks = 0
    has_bar_rest: bool = False
    _ticks_per_division: Ticks = 0
    _finest: int = 1
    _counted: Ticks = 0
    _exact: Ticks = 0
    _chord_start: Ticks | None = None
    _is_repaired: bool = False
    _repaired_from: Ticks = 0
    _exact_at: dict[Ticks, Ticks] = field(default_factory=dict)
    _plain: dict[tuple[str | None, WrittenValue], Ticks] = field(default_factory=dict)

    def walk(self, measure: Measure, bar: int) -> Iterator[Timed]:
        """Yield the tags of a bar in file order, each with its time; backup and forward go unseen.

        Afterwards `content_ticks` holds how far the bar's notes reach.
        """
        self.content_ticks = self._counted = self._exact = 0
        self._chord_start = None
        self.has_bar_rest = self._is_repaired = False
        self._exact_at = {}
        for tag in measure.tags:
            match tag.tag:
                case "note":
                    yield self._note(tag, bar)
                case "backup" | "forward":
                    self._move(tag, Spot(line_of(tag), bar, self._exact))
                case "attributes":
                    spot = Spot(line_of(tag), bar, self._exact)
                    self._read_divisions(tag, spot)
                    yield Timed(tag, spot)
                case _:
                    yield Timed(tag, Spot(line_of(tag), bar, self._exact))

    def offset_ticks(self, tag: Element, spot: Spot) -> Ticks:
        """Tell how far a direction or sound is shifted by its `offset`."""
        text = tag.findtext("offset")
        if text is None:
            return 0
        divisions = decimal_number(text)
        shift = None if divisions is None else divisions * self._division_ticks(spot)
        if shift is None or abs(shift) > self.grid.ticks(LONGEST_QUARTERS):
            self.report.warn(
                "offset",
                f"the offset {text.strip()[:20]!r} is not understood",
                "write a number of divisions",
                spot,
            )
            return 0
        return whole_if_possible(shift)

    def release_ticks(self, note: Element, spot: Spot) -> Ticks | None:
        """Tell how much later than its value ends a note stops, negative if earlier.

        What is not a whole number of divisions is a nuance of playback, and not score time.

        Source: MusicXML 4.0, `note`: `release` is in divisions.
        """
        text = note.get("release")
        if text is None:
            return None
        divisions = whole_number(text, -LARGEST_DIVISIONS, LARGEST_DIVISIONS)
        division = self._division_ticks(spot)
        if divisions is None or division * FINEST_TICKS_PER_QUARTER < self.grid.ticks_per_quarter:
            return None
        return divisions * division

    def _read_divisions(self, attributes: Element, spot: Spot) -> None:
        text = attributes.findtext("divisions")
        if text is None:
            return
        divisions = decimal_number(text)
        if divisions is None or not 0 < divisions <= LARGEST_DIVISIONS:
            self.report.error(
                f"the divisions of a quarter note must be above 0 and at most "
                f"{LARGEST_DIVISIONS:,}, found {text.strip()[:20]!r}",
                "write how many divisions a quarter note has, e.g. 480",
                spot,
            )
            return
        finest = lcm(self._finest, divisions.numerator)
        if finest > LARGEST_DIVISIONS**2:
            self.report.error(
                "the divisions of a quarter note change to ever other numbers",
                "write one number of divisions for the whole part",
                spot,
            )
            return
        self._finest = finest
        self._ticks_per_division = whole_if_possible(self.grid.ticks_per_quarter / divisions)
        self._plain = {}

    def _division_ticks(self, spot: Spot) -> Ticks:
        if not self._ticks_per_division:
            self.report.warn(
                "divisions",
                "the divisions of a quarter note are not given; 1 is taken",
                "write `divisions` in the attributes of the first bar",
                spot,
            )
            self._ticks_per_division = self.grid.ticks_per_quarter
        return self._ticks_per_division

    def _move(self, tag: Element, spot: Spot) -> None:
        text = tag.findtext("duration")
        length = self._counted_ticks(text, spot)
        if length is None:
            self.report.error(
                f"`{tag.tag}` has no usable duration: {(text or '').strip()[:20]!r}",
                "write a whole number of divisions",
                spot,
            )
            return
        if tag.tag == "backup":
            length = -length
            self._chord_start = None
        if self._counted + length < 0:
            if not self._is_repaired:
                self.report.warn(
                    "backup",
                    "a `backup` goes back beyond the start of the bar; it stops there",
                    "make the backup as long as what is in front of it",
                    spot,
                )
            length = -self._counted
        guess = max(self._exact + length, 0)
        self._counted += length
        self._exact = self._exact_for(guess, spot)
        self.content_ticks = max(self.content_ticks, self._exact)

    def _exact_for(self, guess: Ticks, spot: Spot) -> Ticks:
        """Tell the exact time of a place that backup or forward leads to.

        It is the same as the counted one before the first repaired note; beside a note that was
        met before, it is that note's; and less than a division off it is the counted one again.
        """
        counted = self._counted
        if not self._is_repaired or counted <= self._repaired_from:
            return counted
        division = self._division_ticks(spot)
        is_near = -division < guess - counted < division
        return self._exact_at.get(counted, counted if is_near else guess)

    def _counted_ticks(self, text: str | None, spot: Spot) -> Ticks | None:
        """Read a duration; `None` if it is no number, negative or far too long."""
        divisions = decimal_number(text)
        if divisions is None or divisions < 0:
            return None
        ticks = whole_if_possible(divisions * self._division_ticks(spot))
        return ticks if ticks <= self.grid.ticks(LONGEST_QUARTERS) else None

    def _note(self, note: Element, bar: int) -> Timed:
        children = [(tag.tag, tag) for tag in note]
        inside = dict(children)
        spot = Spot(line_of(note), bar, self._exact)
        if "grace" in inside:
            return Timed(note, spot, 0, children, inside)
        rest = inside.get("rest")
        is_bar_rest = rest is not None and rest.get("measure") == "yes"
        counted, exact = self._durations(note, inside, spot, is_bar_rest=is_bar_rest)
        if "chord" in inside:
            start = self._exact if self._chord_start is None else self._chord_start
            self.content_ticks = max(self.content_ticks, start + exact)
            return Timed(note, Spot(spot.line, bar, start), exact, children, inside)
        self.has_bar_rest |= is_bar_rest
        self._chord_start = self._exact
        self._advance(counted, exact)
        if not is_bar_rest and self._exact > self.content_ticks:
            self.content_ticks = self._exact
        return Timed(note, spot, exact, children, inside)

    def _advance(self, counted: Ticks, exact: Ticks) -> None:
        if self._is_repaired and not self._exact_at:
            self._repaired_from = self._counted
        self._counted += counted
        self._exact = self._exact + exact if self._is_repaired else self._counted
        if self._is_repaired:
            self._exact_at.setdefault(self._counted, self._exact)

    def _durations(
        self, note: Element, inside: Mapping[str, Element], spot: Spot, *, is_bar_rest: bool
    ) -> tuple[Ticks, Ticks]:
        """Give a note's length as counted in divisions, and as meant."""
        duration = inside.get("duration")
        text = None if duration is None else duration.text or ""
        value = written_value(note, inside)
        plain = self._plain.get((text, value))
        if plain is not None:
            return plain, plain
        quarters = None if is_bar_rest else value.quarters()
        written = None if quarters is None else self.grid.ticks(quarters)
        counted = self._counted_ticks(text, spot)
        if counted is not None and (counted == written or (counted > 0 and written is None)):
            if not is_bar_rest:
                self._plain[text, value] = counted
            return counted, counted
        if written is None or (counted is None and text is not None):
            if not is_bar_rest or text is not None:
                self._report_unusable(text, spot)
            return 0, 0
        if counted is None:
            self.report.warn(
                "no duration",
                "a note has no duration; the written note value is taken",
                "write a `duration` in each note",
                spot,
            )
            return written, written
        return counted, self._meant(counted, written, spot)

    def _report_unusable(self, text: str | None, spot: Spot) -> None:
        found = "none" if text is None else repr(text.strip()[:20])
        self.report.error(
            f"a note must last more than 0 and at most {LONGEST_QUARTERS} quarters; "
            f"the duration found is {found}",
            "write how many divisions the note lasts",
            spot,
        )

    def _meant(self, counted: Ticks, written: Ticks, spot: Spot) -> Ticks:
        """Choose between a duration and the written value that differs from it."""
        division = self._division_ticks(spot)
        is_whole = Fraction(written, division).denominator == 1
        if not is_whole and -division < counted - written < division:
            self._is_repaired = True
            self.report.warn(
                "rounded",
                "durations are rounded to whole divisions; the exact value is taken from note "
                "type, dots and tuplet",
                "nothing; or export with more divisions a quarter",
                spot,
            )
            return written
        if counted == 0:
            self._is_repaired = True
            self.report.warn(
                "zero",
                "a note has the duration 0; the written note value is taken",
                "write how many divisions the note lasts",
                spot,
            )
            return written
        self.report.warn(
            "disagreement",
            f"the duration of a note is {self.grid.quarters(counted)} quarters, but its written "
            f"value {self.grid.quarters(written)}; the duration is taken",
            "mend `duration`, or `type`, `dot` and `time-modification`",
            spot,
        )
        return counted
