"""When things happen in a bar: divisions, chords, backup and forward, and rounded durations."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Final

from lxml.etree import _Element as Element

from riffract.formats.musicxml.numbers import decimal_number, whole_number
from riffract.formats.musicxml.report import Report, Spot, line_of
from riffract.formats.musicxml.score import Measure

NOTE_VALUE_QUARTERS: Final = {
    "maxima": Fraction(32),
    "long": Fraction(16),
    "breve": Fraction(8),
    "whole": Fraction(4),
    "half": Fraction(2),
    "quarter": Fraction(1),
    "eighth": Fraction(1, 2),
    "16th": Fraction(1, 4),
    "32nd": Fraction(1, 8),
    "64th": Fraction(1, 16),
    "128th": Fraction(1, 32),
    "256th": Fraction(1, 64),
    "512th": Fraction(1, 128),
    "1024th": Fraction(1, 256),
}
LONGEST_QUARTERS: Final = Fraction(256)
LARGEST_DIVISIONS: Final = 10**9
MOST_DOTS: Final = 8
LARGEST_TUPLET: Final = 1000

_NO_TIME: Final = Fraction(0)


@dataclass(frozen=True, slots=True)
class Timed:
    """A tag of a bar with its time: start since the bar line, and length (0 for most tags)."""

    tag: Element
    spot: Spot
    duration_quarters: Fraction = _NO_TIME


@dataclass(slots=True)
class Clock:
    """Walks through the bars of one part; keeps the divisions from bar to bar.

    Exporters round durations to whole divisions, so a triplet may come as 1 + 1 + 2 of them.
    Where the written value (type, dots, time-modification) does not fit in whole divisions and the
    duration is less than one division away, the written value is what is meant. Two times run
    side by side, then: the one by durations, which backup and forward count in, and the exact one.
    """

    report: Report
    divisions: Fraction | None = None
    content_quarters: Fraction = _NO_TIME
    has_bar_rest: bool = False
    _counted: Fraction = _NO_TIME
    _exact: Fraction = _NO_TIME
    _chord_start: Fraction | None = None
    _is_rounded: bool = False
    _exact_at: dict[Fraction, Fraction] = field(default_factory=dict)

    def walk(self, measure: Measure, bar: int) -> Iterator[Timed]:
        """Yield the tags of a bar in file order, each with its time; backup and forward go unseen.

        Afterwards `content_quarters` holds how far the bar's notes reach.
        """
        self.content_quarters = self._counted = self._exact = _NO_TIME
        self._chord_start = None
        self.has_bar_rest = self._is_rounded = False
        self._exact_at = {_NO_TIME: _NO_TIME}
        for tag in measure.tags:
            spot = Spot(line_of(tag), bar, self._exact)
            match tag.tag:
                case "note":
                    yield self._note(tag, spot)
                case "backup" | "forward":
                    self._move(tag, spot)
                case "attributes":
                    self._read_divisions(tag, spot)
                    yield Timed(tag, spot)
                case _:
                    yield Timed(tag, spot)

    def offset_quarters(self, tag: Element, spot: Spot) -> Fraction:
        """Tell how far a direction or sound is shifted by its `offset`."""
        text = tag.findtext("offset")
        if text is None:
            return _NO_TIME
        ticks = decimal_number(text)
        if ticks is None or abs(shift := ticks / self._divisions(spot)) > LONGEST_QUARTERS:
            self.report.warn(
                "offset",
                f"the offset {text.strip()[:20]!r} is not understood",
                "write a number of divisions",
                spot,
            )
            return _NO_TIME
        return shift

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
        self.divisions = divisions

    def _divisions(self, spot: Spot) -> Fraction:
        if self.divisions is None:
            self.report.warn(
                "divisions",
                "the divisions of a quarter note are not given; 1 is taken",
                "write `divisions` in the attributes of the first bar",
                spot,
            )
            self.divisions = Fraction(1)
        return self.divisions

    def _move(self, tag: Element, spot: Spot) -> None:
        text = tag.findtext("duration")
        length = self._counted_quarters(text, spot)
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
            if not self._is_rounded:
                self.report.warn(
                    "backup",
                    "a `backup` goes back beyond the start of the bar; it stops there",
                    "make the backup as long as what is in front of it",
                    spot,
                )
            length = -self._counted
        exact = max(self._exact + length, _NO_TIME)
        self._counted += length
        self._exact = self._exact_at.setdefault(self._counted, exact)
        self.content_quarters = max(self.content_quarters, self._exact)

    def _counted_quarters(self, text: str | None, spot: Spot) -> Fraction | None:
        """Read a duration in quarters; `None` if it is no number, negative or far too long."""
        ticks = decimal_number(text)
        if ticks is None or ticks < 0:
            return None
        quarters = ticks / self._divisions(spot)
        return quarters if quarters <= LONGEST_QUARTERS else None

    def _note(self, note: Element, spot: Spot) -> Timed:
        if note.find("grace") is not None:
            return Timed(note, spot)
        counted, exact = self._durations(note, spot)
        if note.find("chord") is not None:
            start = self._exact if self._chord_start is None else self._chord_start
            self.content_quarters = max(self.content_quarters, start + exact)
            return Timed(note, Spot(spot.line, spot.bar, start), exact)
        rest = note.find("rest")
        is_bar_rest = rest is not None and rest.get("measure") == "yes"
        self.has_bar_rest |= is_bar_rest
        self._chord_start = self._exact
        self._counted += counted
        self._exact += exact
        self._exact_at.setdefault(self._counted, self._exact)
        if not is_bar_rest:
            self.content_quarters = max(self.content_quarters, self._exact)
        return Timed(note, spot, exact)

    def _durations(self, note: Element, spot: Spot) -> tuple[Fraction, Fraction]:
        """Give a note's length as counted in divisions, and as meant."""
        text = note.findtext("duration")
        rest = note.find("rest")
        is_bar_rest = rest is not None and rest.get("measure") == "yes"
        written = None if is_bar_rest else written_quarters(note)
        counted = self._counted_quarters(text, spot)
        if counted is not None and (counted == written or (counted > 0 and written is None)):
            return counted, counted
        if written is None or (counted is None and text is not None):
            if not is_bar_rest or text is not None:
                self._report_unusable(text, spot)
            return _NO_TIME, _NO_TIME
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

    def _meant(self, counted: Fraction, written: Fraction, spot: Spot) -> Fraction:
        """Choose between a duration and the written value that differs from it."""
        divisions = self._divisions(spot)
        is_whole = (written * divisions).denominator == 1
        if not is_whole and abs(counted - written) * divisions < 1:
            self._is_rounded = True
            self.report.warn(
                "rounded",
                "durations are rounded to whole divisions; the exact value is taken from note "
                "type, dots and tuplet",
                "nothing; or export with more divisions a quarter",
                spot,
            )
            return written
        if counted == 0:
            self.report.warn(
                "zero",
                "a note has the duration 0; the written note value is taken",
                "write how many divisions the note lasts",
                spot,
            )
            return written
        self.report.warn(
            "disagreement",
            f"the duration of a note is {counted} quarters, but its written value {written}; "
            "the duration is taken",
            "mend `duration`, or `type`, `dot` and `time-modification`",
            spot,
        )
        return counted


def written_quarters(note: Element) -> Fraction | None:
    """Work out the value that a note is written with: type, dots and tuplet; `None` without a type.

    A note with n dots lasts 2 - 2^-n times its type; a tuplet of m in the time of n, n/m of that.

    Source: MusicXML 4.0, `type`, `dot`, `time-modification`.
    """
    value = NOTE_VALUE_QUARTERS.get((note.findtext("type") or "").strip())
    if value is None:
        return None
    dots = min(len(note.findall("dot")), MOST_DOTS)
    if dots:
        value *= 2 - Fraction(1, 2**dots)
    tuplet = note.find("time-modification")
    if tuplet is None:
        return value
    actual = whole_number(tuplet.findtext("actual-notes"), 1, LARGEST_TUPLET)
    normal = whole_number(tuplet.findtext("normal-notes"), 1, LARGEST_TUPLET)
    if actual is None or normal is None:
        return None
    return value * normal / actual
