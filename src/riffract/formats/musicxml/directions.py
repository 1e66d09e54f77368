"""Marks that stand over the notes: tempo, sections, jumps, and extents of a technique."""

import re
from collections import deque
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Final

from lxml.etree import _Element as Element

from riffract.formats.musicxml.clock import Clock, Timed
from riffract.formats.musicxml.flow import jump_in_words, says_jump
from riffract.formats.musicxml.grid import Ticks
from riffract.formats.musicxml.numbers import decimal_number
from riffract.formats.musicxml.report import Report, Spot
from riffract.formats.musicxml.signs import technique_of_play
from riffract.formats.musicxml.texts import tidy_text
from riffract.formats.musicxml.values import NOTE_VALUE_QUARTERS
from riffract.formats.musicxml.wording import (
    lasting_technique_in_words,
    ramp_in_words,
    technique_in_words,
)
from riffract.formats.musicxml.written import NO_LABEL, BarTime, Extent, Marks, Ramp
from riffract.music import Technique

SLOWEST, FASTEST = 5, 1000
LONGEST_LABEL: Final = 80

_NEVER: Final = (10**9, 0)
_END_OF_BAR: Final = 10**18
"""A position beyond any; it counts as the end of its bar."""

_FIRST_NUMBER: Final = re.compile(r"[0-9]{1,4}(?:\.[0-9]{1,4})?")
_SILENT_TYPES: Final = frozenset({"wedge", "octave-shift", "image", "staff-divide"})
_BOXES: Final = frozenset({"rectangle", "square", "circle", "oval"})


@dataclass(slots=True)
class _Line:
    start: BarTime
    end: BarTime | None
    spot: Spot
    is_over_section: bool = False


@dataclass(slots=True)
class Directions:
    """Gathers what the directions of one part say, in file order."""

    report: Report
    clock: Clock
    marks: Marks = field(default_factory=Marks)
    tunings: list[Element] = field(default_factory=list)
    _words: list[tuple[Technique | None, BarTime, Spot]] = field(default_factory=list)
    _lasting: list[Extent] = field(default_factory=list)
    _lines: dict[BarTime, deque[_Line]] = field(default_factory=dict)
    _open: dict[tuple[str, str, str], _Line] = field(default_factory=dict)
    _mutes: list[tuple[BarTime, Technique, Spot]] = field(default_factory=list)

    def read(self, timed: Timed) -> None:
        """Read a `direction`, `sound` or `barline`; other tags are not its business."""
        match timed.tag.tag:
            case "direction":
                self._direction(timed.tag, timed.spot)
            case "sound":
                at = self._shifted(timed.spot, self.clock.offset_ticks(timed.tag, timed.spot))
                self._sound(timed.tag, at, timed.spot)
            case "barline":
                self._barline(timed.tag, timed.spot)
            case _:
                pass

    def _barline(self, barline: Element, spot: Spot) -> None:
        if not len(barline):
            return
        self.marks.flow_at(spot).read_barline(barline, self.report, spot)
        if barline.find("fermata") is not None:
            positions = {"left": 0, "middle": spot.position_ticks}
            position = positions.get(barline.get("location", "right"), _END_OF_BAR)
            self.marks.fermatas.add((spot.bar, position))

    def _direction(self, direction: Element, spot: Spot) -> None:
        at = self._shifted(spot, self.clock.offset_ticks(direction, spot))
        staff = direction.findtext("staff") or ""
        is_section = direction.find("direction-type/rehearsal") is not None
        for sign in direction.iterfind("direction-type/*"):
            if sign.tag in {"dashes", "bracket"}:
                self._line(sign, staff, at, spot, is_section=is_section)
            else:
                self._sign(sign, at, spot)
        sound = direction.find("sound")
        if sound is not None:
            if sound.find("offset") is not None:
                at = self._shifted(spot, self.clock.offset_ticks(sound, spot))
            self._sound(sound, at, spot)

    @staticmethod
    def _shifted(spot: Spot, offset: Ticks) -> BarTime:
        return spot.bar, max(spot.position_ticks + offset, 0)

    def _sign(self, sign: Element, at: BarTime, spot: Spot) -> None:
        match sign.tag:
            case "rehearsal":
                self._section(sign, at)
            case "words":
                self._read_words(sign, at, spot)
            case "metronome":
                self._metronome(sign, at, spot)
            case "segno" | "coda":
                self.marks.flow_at(spot).read_sign(str(sign.tag))
            case "scordatura":
                self.tunings.append(sign)
            case "other-direction" if technique_in_words(sign.text or "") is not None:
                self._read_words(sign, at, spot)
            case silent if silent in _SILENT_TYPES:
                pass
            case other:
                self.report.left_out(str(other), spot)

    def _section(self, sign: Element, at: BarTime) -> None:
        label = tidy_text(sign.text, LONGEST_LABEL)
        if label:
            self.marks.sections[at] = label

    def _read_words(self, sign: Element, at: BarTime, spot: Spot) -> None:
        text = tidy_text(sign.text, LONGEST_LABEL)
        technique = technique_in_words(text)
        lasting = lasting_technique_in_words(text)
        jump = jump_in_words(text)
        ramp = ramp_in_words(text)
        if ramp is not None:
            self.marks.ramps[at] = Ramp(ramp, spot)
            self._words.append((None, at, spot))
        elif technique is not None:
            self._words.append((technique, at, spot))
        elif lasting is not None:
            self._lasting.append(Extent(lasting, at, _NEVER, has_end=False))
        elif jump is not None:
            self.marks.flow_at(spot).read_jump(jump)
        elif sign.get("enclosure") in _BOXES:
            self._section(sign, at)
        elif text:
            self.report.warn(
                "words",
                f"the words {text[:40]!r} are not understood and are left out",
                "nothing, if they do not change which notes sound when",
                spot,
            )

    def _metronome(self, sign: Element, at: BarTime, spot: Spot) -> None:
        unit = NOTE_VALUE_QUARTERS.get((sign.findtext("beat-unit") or "").strip())
        number = _FIRST_NUMBER.search(sign.findtext("per-minute") or "")
        if unit is None or number is None or len(sign.findall("beat-unit")) != 1:
            self.report.left_out("metronome without a beat unit and a number", spot)
            return
        dots = min(len(sign.findall("beat-unit-dot")), 4)
        unit *= 2 - Fraction(1, 2**dots)
        self._tempo(float(number.group()) * float(unit), at, spot)

    def _tempo(self, quarters_per_minute: float, at: BarTime, spot: Spot) -> None:
        if not SLOWEST <= quarters_per_minute <= FASTEST:
            self.report.warn(
                "tempo range",
                f"a tempo of {quarters_per_minute:g} quarters a minute is left out",
                f"write a tempo of {SLOWEST} to {FASTEST} quarters a minute",
                spot,
            )
            return
        printed = self.marks.tempos.get(at)
        if printed is not None and abs(printed - quarters_per_minute) > 1:
            self.report.warn(
                "two tempos",
                f"two tempos at one place, {printed:g} and {quarters_per_minute:g} quarters a "
                "minute; the second is taken",
                "let the metronome mark and the `tempo` of its `sound` agree",
                spot,
            )
        self.marks.tempos[at] = quarters_per_minute

    def _line(
        self, sign: Element, staff: str, at: BarTime, spot: Spot, *, is_section: bool
    ) -> None:
        """Read an end of a line: one that starts with a rehearsal mark shows how far that goes."""
        key = (sign.tag, sign.get("number", "1"), staff)
        if sign.get("type") == "start":
            line = _Line(at, None, spot, is_section)
            self._open[key] = line
            if not is_section:
                self._lines.setdefault(at, deque()).append(line)
        elif sign.get("type") == "stop" and (line_open := self._open.pop(key, None)) is not None:
            line_open.end = at
            if line_open.is_over_section:
                self.marks.sections.setdefault(at, NO_LABEL)

    def _sound(self, sound: Element, at: BarTime, spot: Spot) -> None:
        tempo = decimal_number(sound.get("tempo"))
        if tempo is not None:
            self._tempo(float(tempo), at, spot)
        if says_jump(sound):
            self.marks.flow_at(spot).read_sound(sound)
        for play in sound.iterfind("play"):
            for child in play:
                technique = technique_of_play(child, spot, self.report)
                if technique is not None:
                    self._mutes.append((at, technique, spot))

    def extents(self) -> list[Extent]:
        """Put words and lines together: where each technique starts and ends.

        Words with a line (dashes or a bracket) from the same place hold as far as the line; words
        without one only for the notes that start there.
        """
        found = []
        for technique, at, spot in self._words:
            waiting = self._lines.get(at)
            line = waiting.popleft() if waiting else None
            if technique is None:
                continue
            if line is None or line.end is None:
                name = technique.labels[0].replace("_", " ")
                self.report.warn(
                    f"no extent: {name}",
                    f"the words for {name} have no line that ends; they are read for the notes "
                    "that start there only",
                    "draw a dashed line as far as they hold, or mark each note",
                    spot,
                )
            end = at if line is None or line.end is None else max(line.end, at)
            found.append(Extent(technique, at, end, has_end=end > at))
        return found + self._lasting + self._muted_stretches()

    def _muted_stretches(self) -> list[Extent]:
        """Turn playing techniques that hold "from now on" into stretches."""
        changes = sorted(self._mutes, key=lambda change: change[0])
        ends = [at for at, _, _ in changes[1:]]
        return [
            Extent(technique, at, ends[i], has_end=True)
            if i < len(ends)
            else Extent(technique, at, _NEVER, has_end=False)
            for i, (at, technique, _) in enumerate(changes)
            if technique
        ]
