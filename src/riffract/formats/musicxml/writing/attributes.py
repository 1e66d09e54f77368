"""Divisions, metre, clefs and strings at the start of a bar."""

from statistics import mean
from typing import Final

from lxml.etree import _Element as Element

from riffract.formats.musicxml.writing.notes import Staff
from riffract.formats.musicxml.writing.pitches import write_pitch
from riffract.formats.musicxml.writing.tags import append_filled, child, loose
from riffract.music import Bar, Tuning

_LOWEST_MEAN_FOR_TREBLE: Final = 45
"""Where open strings lie lower on the average, a bass clef needs fewer ledger lines."""


def write_first_attributes(
    measure: Element, bar: Bar, tuning: Tuning, staves: tuple[Staff, ...], divisions: int
) -> None:
    """Add what holds from the start: divisions, metre, clefs, strings, transposition."""
    attributes = child(measure, "attributes")
    child(attributes, "divisions", divisions)
    child(child(attributes, "key"), "fifths", 0)
    _time(attributes, bar)
    if len(staves) > 1:
        child(attributes, "staves", len(staves))
    for staff in staves:
        _clef(attributes, staff, tuning)
    for staff in staves:
        if staff.is_tab:
            _strings(attributes, staff, tuning)
    _transpose(attributes)


def write_change(measure: Element, bar: Bar, before: Bar) -> None:
    """Add the metre where it changes."""
    if (bar.metre, bar.is_free) != (before.metre, before.is_free):
        attributes = loose("attributes")
        _time(attributes, bar)
        append_filled(measure, attributes)


def _time(attributes: Element, bar: Bar) -> None:
    """Add a time signature; for a free bar the one that its beats are counted in is not shown."""
    time = child(attributes, "time")
    if bar.is_free:
        time.set("print-object", "no")
    child(time, "beats", "+".join(map(str, bar.metre.groups)))
    child(time, "beat-type", bar.metre.unit)
    if bar.is_free:
        child(child(attributes, "time"), "senza-misura")


def _clef(attributes: Element, staff: Staff, tuning: Tuning) -> None:
    clef = child(attributes, "clef")
    if staff.number:
        clef.set("number", str(staff.number))
    is_low = mean(tuning.open_pitches) < _LOWEST_MEAN_FOR_TREBLE
    sign, line = ("TAB", 5) if staff.is_tab else ("F", 4) if is_low else ("G", 2)
    child(clef, "sign", sign)
    child(clef, "line", line)


def _strings(attributes: Element, staff: Staff, tuning: Tuning) -> None:
    """Add the lines of the tab, counted from the bottom, and the capo.

    Source: MusicXML 4.0, `staff-tuning`: "the open, non-capo tuning of the lines".
    """
    details = child(attributes, "staff-details")
    if staff.number:
        details.set("number", str(staff.number))
    child(details, "staff-lines", tuning.string_count)
    for line, pitch in enumerate(tuning.open_pitches, start=1):
        write_pitch(child(details, "staff-tuning", line=str(line)), pitch, "tuning-")
    if tuning.capo:
        child(details, "capo", tuning.capo)


def _transpose(attributes: Element) -> None:
    transpose = child(attributes, "transpose")
    child(transpose, "diatonic", 0)
    child(transpose, "chromatic", 0)
    child(transpose, "octave-change", -1)
