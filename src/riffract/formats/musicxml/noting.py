"""One note: from its tags and signs to a written note."""

from fractions import Fraction
from typing import Final

from lxml.etree import _Element as Element

from riffract.formats.musicxml.clock import Timed
from riffract.formats.musicxml.numbers import decimal_number, whole_number
from riffract.formats.musicxml.report import Report, Spot
from riffract.formats.musicxml.signs import Signs
from riffract.formats.musicxml.values import beam_count, written_value
from riffract.formats.musicxml.written import HarmonicPitch, WrittenGrace, WrittenNote
from riffract.music import Technique
from riffract.music.tuning import MOST_FRETS, MOST_STRINGS

USUAL_GRACE_QUARTERS: Final = Fraction(1, 2)
FARTHEST_TOUCH: Final = 2 * MOST_FRETS
"""A string can be touched where the neck has no frets any more."""

_LONGEST_VOICE: Final = 20


def written_note(
    timed: Timed, signs: Signs, pitch: int | None, report: Report, *, grace_place: int | None
) -> WrittenNote:
    """Put together what is known of a note.

    Args:
        timed: its tags and when it is.
        signs: how it is played.
        pitch: its pitch after transposition.
        report: where mistakes are told.
        grace_place: its place among graces; `None` if it is none.
    """
    spot = timed.spot
    if "unpitched" in timed.inside:
        signs.techniques |= Technique.DEAD
    if timed.tag.get("print-object") == "no":
        report.warn(
            "hidden",
            "a note that is not printed is read like any other",
            "take it out if it only serves playback",
            spot,
        )
    string = whole_number(signs.string_text, 1, MOST_STRINGS)
    if string is None and signs.string_text is not None:
        _report_number(signs.string_text, "string", 1, MOST_STRINGS, report=report, spot=spot)
    fret_text = _fret_text(signs, has_string=string is not None)
    farthest = FARTHEST_TOUCH if signs.harmonic is HarmonicPitch.TOUCHING else MOST_FRETS
    fret = whole_number(fret_text, 0, farthest)
    if fret is None and fret_text is not None:
        _report_number(fret_text, "fret", 0, farthest, report=report, spot=spot)
    return WrittenNote(
        spot=spot,
        duration_ticks=timed.duration_ticks,
        voice=voice_of(timed),
        pitch=pitch,
        string=string,
        fret=fret,
        techniques=signs.techniques,
        bend=signs.bend,
        harmonic=signs.harmonic,
        is_tie_start=signs.is_tie_start,
        is_tie_stop=signs.is_tie_stop,
        tremolo_marks=tremolo_marks(timed, signs),
        grace=None if grace_place is None else _grace(timed, grace_place, report),
    )


def voice_of(timed: Timed) -> str:
    """Name the voice of a note; empty if it has none."""
    voice = timed.inside.get("voice")
    return "" if voice is None else (voice.text or "")[:_LONGEST_VOICE]


def tremolo_marks(timed: Timed, signs: Signs) -> int:
    """Count strokes through the stem and beams, which together say how fast a tremolo is.

    Source: MusicXML 4.0, `tremolo`: "the number of attached beams is not included in this value".
    """
    if signs.tremolo is None:
        return 0
    kind = timed.inside.get("type")
    beams = beam_count(kind.text) if signs.tremolo.has_beams and kind is not None else 0
    return signs.tremolo.strokes + beams


def _fret_text(signs: Signs, *, has_string: bool) -> str | None:
    """Give the text that the fret is read from; a cross in its place makes the note dead."""
    plain = (signs.fret_text or "").strip()
    if plain in {"x", "X"}:
        signs.techniques |= Technique.DEAD
        return "0"
    if not plain and has_string and Technique.DEAD in signs.techniques:
        return "0"
    if signs.harmonic is not None and (exact := decimal_number(plain)) is not None:
        return str(round(exact))  # nodes beside the fret, such as 2.7 and 3.2
    return signs.fret_text


def _report_number(
    text: str, name: str, low: int, high: int, *, report: Report, spot: Spot
) -> None:
    report.error(
        f"a {name} is a number from {low} to {high}, found {text.strip()[:20]!r}",
        f"write the {name} as a number"
        + (", 1 for the highest-lying string" if name == "string" else ""),
        spot,
    )


def _grace(timed: Timed, place: int, report: Report) -> WrittenGrace:
    grace = timed.inside["grace"]
    _warn_of_stolen_time(grace, report, timed.spot)
    value = written_value(timed.tag, timed.inside).quarters()
    slash = grace.get("slash")
    is_short = slash == "yes" or (slash is None and grace.get("steal-time-previous") is not None)
    return WrittenGrace(place, value or USUAL_GRACE_QUARTERS, is_short)


def _warn_of_stolen_time(grace: Element, report: Report, spot: Spot) -> None:
    if any(
        name in grace.attrib
        for name in ("steal-time-previous", "steal-time-following", "make-time")
    ):
        report.warn(
            "stolen time",
            "how much time a grace note takes from its neighbours is not kept",
            "nothing; or write it as an ordinary note",
            spot,
        )
