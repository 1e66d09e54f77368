"""The lines before the music: title, strings, first metre and tempo."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Final

from riffract.formats.tab.faults import Fault, Report, Spot, either, nearest, shortened
from riffract.formats.tab.labels import plain_name, with_guessed_octaves
from riffract.formats.tab.lines import (
    DIRECTIVE_KEYS,
    HEADER_KEYS,
    PASSAGE_KEY,
    ROW_LABELS,
    Directive,
    StringRow,
)
from riffract.formats.tab.marks import write_metre, write_tempo
from riffract.formats.tab.sheet import on_one_line
from riffract.formats.tab.values import number_text, read_value, write_value
from riffract.music import Metre, Passage, Proposed, Tuning, pitch_named
from riffract.music.tuning import FEWEST_STRINGS, MOST_FRETS, MOST_STRINGS

_SAID_OTHERWISE: Final = {
    "time signature": "metre",
    "time sig": "metre",
    "meter": "metre",
    "bpm": "tempo",
    "name": "title",
    "song": "title",
    "part": "section",
    "upbeat": "pickup",
    "anacrusis": "pickup",
}
"""Words of the trade for keys that are called otherwise here."""
PLAIN_FRETS: Final = 24
PLAIN_SCALE_MM: Final = 648.0
PLAIN_TEMPO: Final = Fraction(120)
SHORTEST_MM, LONGEST_MM = 200, 1500
MM_PER_INCH: Final = 25.4

_PITCH_LIKE = re.compile(r"[A-Ga-g][#♯b♭♮]?-?[0-9]{0,3}")
_INCHES = re.compile(r"([0-9]{1,2}(?:\.[0-9]{1,3})?)\s?(?:in|inch|inches|\"|”|″)", re.IGNORECASE)
_WHOLE = re.compile(r"[0-9]{1,3}")
_LENGTH = re.compile(r"([0-9]{2,5}(?:\.[0-9]{1,20})?)\s?(?:mm)?", re.IGNORECASE)
_TUNING_HOW: Final = "name the open strings from low to high, like `tuning: E2 A2 D3 G3 B3 E4`"


@dataclass(slots=True)
class Heading:
    """What the header says; what is not said, or not readable, is `None`.

    Attributes:
        lines: the line of each key that was given.
        tuning_fault: what is wrong with the tuning; told once the rows have been looked at.
    """

    title: str = ""
    pitches: tuple[int, ...] | None = None
    capo: int = 0
    frets: int = PLAIN_FRETS
    scale_length_mm: float = PLAIN_SCALE_MM
    pickup_quarters: Fraction | None = None
    proposed: tuple[Proposed, ...] = ()
    lines: dict[str, int] = field(default_factory=dict)
    tuning_fault: tuple[Fault, Spot] | None = None

    def tuning(self) -> Tuning | None:
        """Give the instrument, if its strings are known."""
        if self.pitches is None:
            return None
        return Tuning(
            open_pitches=self.pitches,
            capo=self.capo,
            frets=self.frets,
            scale_length_mm=self.scale_length_mm,
        )


def read_heading(directives: Sequence[Directive], report: Report) -> Heading:
    """Read the keys that belong at the top; report what is wrong with them."""
    heading = Heading()
    said: dict[str, Directive] = {}
    for directive in directives:
        if directive.key not in HEADER_KEYS:
            continue
        if directive.key in said:
            report_twice(directive, said[directive.key], report)
            continue
        said[directive.key] = directive
        heading.lines[directive.key] = directive.line
        fault = _take(directive, heading)
        if fault is not None and directive.key == "tuning":
            heading.tuning_fault = fault, spot_of(directive)
        elif fault is not None:
            report.error(fault, spot_of(directive))
    if heading.capo >= heading.frets:
        fault = Fault(
            what=f"a capo at fret {heading.capo} leaves nothing of {heading.frets} frets",
            mend=f"write `capo: 0` to `capo: {heading.frets - 1}`",
        )
        report.error(fault, Spot(heading.lines.get("capo", heading.lines.get("frets", 0))))
        heading.capo = 0
    return heading


def spot_of(directive: Directive) -> Spot:
    """Point at the value of a directive."""
    return Spot(directive.line, directive.column + 1)


def given_twice(directive: Directive, first_line: int) -> Fault:
    """Say that a key stands twice where it can stand once."""
    return Fault(
        what=f"`{directive.key}` is given twice, first in line {first_line}",
        mend="take one of them out",
    )


def report_twice(directive: Directive, first: Directive, report: Report) -> None:
    """Tell that a key stands twice; with the same words it does no harm."""
    tell = report.warn if directive.value == first.value else report.error
    tell(given_twice(directive, first.line), spot_of(directive))


def with_known_key(directive: Directive, report: Report) -> Directive | None:
    """Give a directive its known key; one that is nearly known is taken for it, with a warning."""
    known = (*HEADER_KEYS, *DIRECTIVE_KEYS, PASSAGE_KEY)
    if directive.key in known:
        return directive
    meant = _SAID_OTHERWISE.get(directive.key)
    close = [meant] if meant else nearest(directive.key, known)
    spot = Spot(directive.line, 1)
    shown = shortened(directive.key)
    if not close:
        mend = f"known keys are {', '.join(known)}; start a remark with `#`"
        if directive.key in ROW_LABELS:
            mend = "put it right above the rows of the strings"
        what = f"`{shown}` is no key of a tab; the line is left out"
        report.warn(Fault(what=what, mend=mend), spot)
        return None
    what = f"`{shown}` is no key of a tab; it is read as `{close[0]}`"
    report.warn(Fault(what=what, mend=f"write {either(close)}"), spot)
    return Directive(close[0], directive.value, directive.line, directive.column)


def guessed_tuning(
    heading: Heading, rows: Sequence[StringRow], first_line: int, report: Report
) -> Tuning | None:
    """Report a tuning that is missing or cannot be read, with what the rows say it could be.

    Returns:
        The guess, so that the other mistakes can be found; nothing if the labels do not tell.
    """
    missing = Fault(what="no `tuning` is given", mend=_TUNING_HOW), Spot(first_line)
    fault, spot = heading.tuning_fault or missing
    names = _names_by_rows(heading, rows)
    if names and fault.mend == _TUNING_HOW:
        mend = f"name the open strings at the top; by its rows it could be `tuning: {names}`"
        fault = Fault(what=fault.what, mend=mend)
    report.error(fault, spot)
    return heading.tuning()


def _names_by_rows(heading: Heading, rows: Sequence[StringRow]) -> str:
    labels = [row.label for row in reversed(rows)]
    named = " ".join(labels)
    if not all(label[-1:].isdecimal() for label in labels):
        named = with_guessed_octaves(labels) or ""
    pitches = _pitches(named)
    if isinstance(pitches, Fault):
        return ""
    heading.pitches = pitches
    return " ".join(f"{name[0].upper()}{name[1:]}" for name in named.split())


def write_heading(passage: Passage, *, is_whole: bool, has_pickup: bool = True) -> list[str]:
    """Write the header of a passage.

    Args:
        passage: whose.
        is_whole: say what is plain, too.
        has_pickup: a first bar that is too short is meant to be.
    """
    tuning, first = passage.tuning, passage.bars[0]
    strings = [plain_name(pitch, tuning, with_octave=True) for pitch in tuning.open_pitches]
    title = on_one_line(passage.title)
    lines = [f"title: {title}"] if title else []
    lines.append(f"tuning: {' '.join(strings)}")
    if tuning.capo or is_whole:
        lines.append(f"capo: {tuning.capo}")
    if tuning.frets != PLAIN_FRETS or is_whole:
        lines.append(f"frets: {tuning.frets}")
    if tuning.scale_length_mm != PLAIN_SCALE_MM or is_whole:
        lines.append(f"scale: {f'{tuning.scale_length_mm!r}'.removesuffix('.0')}")
    lines.append(f"metre: {write_metre(first.metre)}")
    tempo = passage.tempos[0]
    lines.append(f"tempo: {write_tempo(tempo.quarters_per_minute, is_ramp=tempo.is_ramp)}")
    is_short = first.length_quarters < first.metre.length_quarters
    if is_short and has_pickup and not first.is_free:
        lines.append(f"pickup: {write_value(first.length_quarters)}")
    if passage.proposed:
        lines.append(f"proposed: {', '.join(passage.proposed)}")
    return lines


def pickup_fault(pickup_quarters: Fraction, metre: Metre) -> Fault | None:
    """Say what is wrong with a pick-up that is no shorter than a bar."""
    if pickup_quarters < metre.length_quarters:
        return None
    found = number_text(pickup_quarters / metre.unit_quarters)
    what = f"a pick-up of {found} units is no shorter than a bar of {metre.label()}"
    return Fault(
        what=what, mend="write how long the first bar is, like `pickup: e`, or leave it out"
    )


def _take(directive: Directive, heading: Heading) -> Fault | None:
    value = directive.value
    match directive.key:
        case "title":
            heading.title = value
        case "tuning":
            return _take_tuning(value, heading)
        case "capo":
            return _take_count(directive, heading, most=MOST_FRETS - 1)
        case "frets":
            return _take_count(directive, heading, most=MOST_FRETS)
        case "scale":
            return _take_scale(value, heading)
        case "proposed":
            return _take_proposed(value, heading)
        case _:
            return _take_pickup(value, heading)
    return None


def _take_tuning(value: str, heading: Heading) -> Fault | None:
    pitches = _pitches(value)
    if isinstance(pitches, Fault):
        return pitches
    heading.pitches = pitches
    return None


def _pitches(value: str) -> tuple[int, ...] | Fault:
    names = value.replace(",", " ").split()
    if len(names) == 1 and set(value.upper()) <= set("ABCDEFG#"):
        names = re.findall(r"[A-Ga-g]#?", value)
    odd = [name for name in names if not _PITCH_LIKE.fullmatch(name)]
    if odd or not names:
        what = f"`{shortened(odd[0] if names[1:] else value)}` is not the pitch of a string"
        return Fault(what=what, mend=_TUNING_HOW)
    if not FEWEST_STRINGS <= len(names) <= MOST_STRINGS:
        count = "1 string" if len(names) == 1 else f"{len(names)} strings"
        what = f"a tuning of {count}; an instrument here has {FEWEST_STRINGS} to {MOST_STRINGS}"
        return Fault(what=what, mend=_TUNING_HOW)
    pitches = []
    for name in names:
        try:
            pitches.append(pitch_named(name))
        except ValueError:  # told to the user with a suggestion
            return _tuning_fault(name, names)
    return tuple(pitches)


def _tuning_fault(name: str, names: Sequence[str]) -> Fault:
    what = f"the octave of string `{name}` is missing"
    if name[-1:].isdecimal():
        what = f"`{shortened(name)}` lies beyond every instrument"
    guess = with_guessed_octaves(names) or "E2 A2 D3 G3 B3 E4"
    return Fault(what=what, mend=f"write the octaves too, perhaps `tuning: {guess}`")


def _take_count(directive: Directive, heading: Heading, *, most: int) -> Fault | None:
    least = 1 if directive.key == "frets" else 0
    if _WHOLE.fullmatch(directive.value) and least <= int(directive.value) <= most:
        if directive.key == "frets":
            heading.frets = int(directive.value)
        else:
            heading.capo = int(directive.value)
        return None
    what = f"`{shortened(directive.value)}` is not a number of frets"
    return Fault(what=what, mend=f"write `{directive.key}: {least}` to `{directive.key}: {most}`")


def _take_scale(value: str, heading: Heading) -> Fault | None:
    match = _LENGTH.fullmatch(value)
    if match is None or not SHORTEST_MM <= float(match[1]) <= LONGEST_MM:
        what = f"`{shortened(value)}` is not the length of a string"
        mend = f"write nut to bridge in mm, {SHORTEST_MM} to {LONGEST_MM}, like `scale: 648`"
        inches = _INCHES.fullmatch(value)
        if inches is not None:
            mend = f"write it in mm: `scale: {round(float(inches[1]) * MM_PER_INCH)}`"
        return Fault(what=what, mend=mend)
    heading.scale_length_mm = float(match[1])
    return None


def _take_pickup(value: str, heading: Heading) -> Fault | None:
    length = read_value(value)
    if isinstance(length, Fault):
        return length
    heading.pickup_quarters = length
    return None


def _take_proposed(value: str, heading: Heading) -> Fault | None:
    known = [str(proposed) for proposed in Proposed]
    found: list[Proposed] = []
    for word in value.lower().replace(",", " ").split():
        if word not in known:
            close = nearest(word, known)
            what = f"nothing that is proposed is called `{shortened(word)}`"
            return Fault(what=what, mend=f"write {either(close or known)}")
        found.append(Proposed(word))
    heading.proposed = tuple(dict.fromkeys(found))
    return None
