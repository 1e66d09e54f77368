"""What a file says about the strings: lines of the tab, their tuning, and the capo."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

from lxml.etree import _Element as Element

from riffract.formats.musicxml.fields import NO_FIELDS, Fields
from riffract.formats.musicxml.numbers import whole_number
from riffract.formats.musicxml.pitches import is_midi_pitch, step_alter_octave
from riffract.formats.musicxml.report import Report, Spot, line_of
from riffract.formats.musicxml.score import staff_number
from riffract.music.tuning import MOST_FRETS, MOST_STRINGS

HIGHEST_CAPO: Final = MOST_FRETS - 1

_TUNING_NAMES: Final = ("tuning-step", "tuning-alter", "tuning-octave")


@dataclass(slots=True)
class _StaffFacts:
    pitch_of_line: dict[int, int] = field(default_factory=dict)
    lines: int = 0
    capo: int = 0


@dataclass(slots=True)
class StringFacts:
    """What a part says about its strings.

    Attributes:
        scordatura: tags that tune single strings.
        fields: what the score notes down about the instrument beside the standard.
    """

    scordatura: list[Element] = field(default_factory=list)
    fields: Fields = NO_FIELDS
    _tab: _StaffFacts = field(default_factory=_StaffFacts)
    _elsewhere: _StaffFacts = field(default_factory=_StaffFacts)

    def add_staff_details(
        self, details: Element, tab: int | None, report: Report, spot: Spot
    ) -> None:
        """Read the lines, their pitches and the capo; changes within the music are reported."""
        number = details.get("number")
        is_elsewhere = number is not None and tab not in {None, staff_number(number)}
        facts = self._elsewhere if is_elsewhere else self._tab
        if tab is not None and not facts.lines:
            facts.lines = whole_number(details.findtext("staff-lines"), 1, MOST_STRINGS) or 0
        for tuning in details.iterfind("staff-tuning"):
            line = whole_number(tuning.get("line"), 0, MOST_STRINGS)
            pitch = step_alter_octave(tuning, _TUNING_NAMES, report, spot)
            if pitch is not None and line is not None:
                self._tune(facts, line, pitch, report, spot)
            elif line is None:
                report.warn(
                    "tuning line",
                    f"a `staff-tuning` for line {tuning.get('line')!r} is left out",
                    f"count the lines from the bottom, 1 to at most {MOST_STRINGS}",
                    spot,
                )
        capo = whole_number(details.findtext("capo") or "0", 0, HIGHEST_CAPO) or 0
        if facts.capo and capo and facts.capo != capo:
            self._warn_of_change(report, spot)
        facts.capo = facts.capo or capo

    def _tune(self, facts: _StaffFacts, line: int, pitch: int, report: Report, spot: Spot) -> None:
        if not is_midi_pitch(pitch):
            report.error(
                f"an open string is tuned to MIDI pitch {pitch}, outside 0 to 127",
                "mend the octave of its `staff-tuning`",
                spot,
            )
        elif facts.pitch_of_line.setdefault(line, pitch) != pitch:
            self._warn_of_change(report, spot)

    @staticmethod
    def _warn_of_change(report: Report, spot: Spot) -> None:
        report.warn(
            "tuning change",
            "the strings are tuned anew within the music; the first tuning is kept",
            "export each tuning as a passage of its own",
            spot,
        )

    @property
    def capo(self) -> int:
        """The fret that the capo stops, 0 without one."""
        return self._tab.capo or self._elsewhere.capo

    @property
    def lines(self) -> int:
        """How many lines the tab has, 0 if it does not say or there is no tab."""
        return self._tab.lines

    @property
    def pitch_of_line(self) -> Mapping[int, int]:
        """Open strings by line of the tab, counted from the bottom; a count from 0 is mended."""
        found = self._tab.pitch_of_line or self._elsewhere.pitch_of_line
        shift = 1 if 0 in found else 0
        return {line + shift: pitch for line, pitch in found.items()}

    def pitch_of_string(self, report: Report) -> dict[int, int]:
        """Open strings by number, where single strings are retuned."""
        found: dict[int, int] = {}
        for accord in (accord for tag in self.scordatura for accord in tag.iterfind("accord")):
            spot = Spot(line_of(accord))
            string = whole_number(accord.get("string"), 1, MOST_STRINGS)
            pitch = step_alter_octave(accord, _TUNING_NAMES, report, spot)
            if string is not None and pitch is not None and is_midi_pitch(pitch):
                found.setdefault(string, pitch)
        return found
