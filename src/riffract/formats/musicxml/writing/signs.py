"""How a note is played, as tags inside `notations`."""

from collections.abc import Sequence
from itertools import pairwise
from typing import Final, NamedTuple

from lxml.etree import _Element as Element

from riffract.formats.musicxml.writing.tags import append_filled, child, loose
from riffract.music import Note, Technique
from riffract.music.notes import PLAIN

TOUCHED: Final = Technique.ARTIFICIAL_HARMONIC | Technique.PINCH_HARMONIC
HARMONICS: Final = Technique.NATURAL_HARMONIC | TOUCHED

_AT_THE_START: Final = {
    Technique.ACCENT: "accent",
    Technique.STACCATO: "staccato",
    Technique.SCOOP: "scoop",
    Technique.PLOP: "plop",
}
_AT_THE_END: Final = {Technique.DOIT: "doit", Technique.FALLOFF: "falloff"}
_ORNAMENTED: Final = Technique.TRILL | Technique.TREMOLO | Technique.VIBRATO
_ARTICULATED: Final = (
    Technique.ACCENT
    | Technique.STACCATO
    | Technique.SCOOP
    | Technique.PLOP
    | Technique.DOIT
    | Technique.FALLOFF
)
_PICKED: Final = HARMONICS | Technique.DOWN_STROKE | Technique.UP_STROKE
_LEGATO_ON_FRETS: Final = Technique.HAMMER_ON | Technique.PULL_OFF
_STROKES: Final = {Technique.DOWN_STROKE: "down-bow", Technique.UP_STROKE: "up-bow"}
_FRETTED: Final = {Technique.HAMMER_ON: ("hammer-on", "H"), Technique.PULL_OFF: ("pull-off", "P")}


class Played(NamedTuple):
    """What is to be said about how one written note is played.

    Attributes:
        techniques: of the whole note.
        starts_here, ends_here: whether the note itself does; else ties lead here, or on.
        leads_to: signs that start here and belong to a later note.
        string, fret: where; `None` on a staff of notation.
        bend: cents that it passes through.
        other_fret: the one that a trill goes to and fro with; `None` if there is none.
        tremolo_marks: how fast tremolo picking is, beams included; 0 if that is not said.
        beams: how many beams the written note has.
    """

    techniques: Technique
    starts_here: bool = True
    ends_here: bool = True
    leads_to: Technique = PLAIN
    string: int | None = None
    fret: int | None = None
    bend: Sequence[int] = ()
    other_fret: int | None = None
    tremolo_marks: int = 0
    beams: int = 0


def touched_fret(note: Note) -> int | None:
    """Give the fret that a stopped string is touched over; that of a trill is another matter."""
    is_touched = note.techniques & TOUCHED and Technique.TRILL not in note.techniques
    return note.other_fret if is_touched else None


def write_signs(notations: Element, played: Played) -> None:
    """Add slides, ornaments, technical signs and articulations."""
    said = played.techniques
    if played.string is not None and (said | played.leads_to) & Technique.SLIDE:
        _slides(notations, played)
    if said & _ORNAMENTED:
        _ornaments(notations, played)
    technical = loose("technical")
    if said & _PICKED:
        _picking(technical, played)
    if played.string is not None and played.fret is not None:
        write_place(technical, played.string, played.fret)
        _fretting(technical, played, str(played.string))
    append_filled(notations, technical)
    if said & _ARTICULATED:
        articulations = loose("articulations")
        _articulations(articulations, played)
        append_filled(notations, articulations)


def write_harmonic(technical: Element, techniques: Technique, pitch: str) -> None:
    """Add a harmonic, and say what its written pitch stands for, e.g. `sounding-pitch`."""
    harmonic = child(technical, "harmonic")
    child(harmonic, "artificial" if techniques & TOUCHED else "natural")
    child(harmonic, pitch)


def write_place(technical: Element, string: int, fret: int) -> None:
    """Add string and fret."""
    child(technical, "string", string)
    child(technical, "fret", fret)


def _slides(notations: Element, played: Played) -> None:
    number = str(played.string)
    if played.starts_here and Technique.SLIDE in played.techniques:
        child(notations, "slide", type="stop", number=number)
    if played.ends_here and Technique.SLIDE in played.leads_to:
        child(notations, "slide", type="start", number=number, line_type="solid")


def _ornaments(notations: Element, played: Played) -> None:
    """Add ornaments; a wavy line beside a trill would be part of it, so they stand apart."""
    ornaments = loose("ornaments")
    if Technique.TRILL in played.techniques and played.starts_here:
        child(ornaments, "trill-mark")
    if Technique.TREMOLO in played.techniques:
        _tremolo(ornaments, played.tremolo_marks, played.tremolo_marks - played.beams)
    append_filled(notations, ornaments)
    if Technique.VIBRATO in played.techniques:
        vibrato = child(notations, "ornaments")
        child(vibrato, "wavy-line", type="start", number="1")
        child(vibrato, "wavy-line", type="stop", number="1")


def _tremolo(ornaments: Element, marks: int, strokes: int) -> None:
    """Add tremolo strokes; tremolo that is slower than the note's own beams has no measure.

    Source: MusicXML 4.0, `tremolo`: "the number of attached beams is not included"; it "should be
    0 for unmeasured tremolos", for which `smufl` names the sign.
    """
    if marks and strokes >= 0:
        child(ornaments, "tremolo", strokes, type="single")
        return
    tremolo = child(ornaments, "tremolo", 0, type="unmeasured")
    if marks:
        tremolo.set("smufl", f"tremolo{marks}")


def _picking(technical: Element, played: Played) -> None:
    techniques = played.techniques
    if techniques & HARMONICS:
        write_harmonic(technical, techniques, "sounding-pitch")
    if played.starts_here:
        for stroke, name in _STROKES.items():
            if stroke in techniques:
                child(technical, name)
        if Technique.PINCH_HARMONIC in techniques:
            child(technical, "other-technical", "P.H.")


def _fretting(technical: Element, played: Played, number: str) -> None:
    if (played.techniques | played.leads_to) & _LEGATO_ON_FRETS:
        for sign, (name, text) in _FRETTED.items():
            if played.starts_here and sign in played.techniques:
                child(technical, name, type="stop", number=number)
            if played.ends_here and sign in played.leads_to:
                child(technical, name, text, type="start", number=number)
    if not (played.starts_here and played.techniques):
        return
    _bend(technical, played.bend)
    if Technique.TAP in played.techniques:
        child(technical, "tap", "T", hand="right")
    if Technique.TRILL in played.techniques:
        other_fret = "?" if played.other_fret is None else played.other_fret
        child(technical, "other-technical", f"({other_fret})")


def _bend(technical: Element, cents: Sequence[int]) -> None:
    """Add a bend step by step; a way back is a release.

    Only the bar lowers a string, so a way that goes below its fret is said to be made with it.

    Source: MusicXML 4.0, `bend-alter`: it "represents the number of steps in the bend", so that
    "a release after a bend has a negative bend-alter value".
    """
    with_bar = min(cents, default=0) < 0
    if cents and (cents[0] or len(cents) == 1):
        _step(technical, cents[0], "pre-bend", with_bar=with_bar)
    for before, after in pairwise(cents):
        kind = "release" if abs(after) < abs(before) else None
        _step(technical, after - before, kind, with_bar=with_bar)


def _step(technical: Element, cents: int, kind: str | None, *, with_bar: bool) -> None:
    bend = child(technical, "bend")
    child(bend, "bend-alter", f"{cents / 100:g}")
    if kind is not None:
        child(bend, kind)
    if with_bar:
        child(bend, "with-bar", "w/bar")


def _articulations(articulations: Element, played: Played) -> None:
    said: dict[Technique, str] = {}
    if played.starts_here:
        said |= _AT_THE_START
    if played.ends_here:
        said |= _AT_THE_END
    for technique, name in said.items():
        if technique in played.techniques:
            child(articulations, name)
