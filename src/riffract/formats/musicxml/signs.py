"""How a note is played, from the signs on it."""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal, NamedTuple

from lxml.etree import _Element as Element

from riffract.formats.musicxml.bends import (
    MOST_BEND_STEPS,
    WIDEST_STEP_CENTS,
    BendStep,
    Step,
)
from riffract.formats.musicxml.numbers import decimal_number, whole_number
from riffract.formats.musicxml.report import Report, Spot
from riffract.formats.musicxml.wording import technique_in_words, technique_of_glyph
from riffract.formats.musicxml.written import HarmonicPitch
from riffract.music import Technique
from riffract.music.notes import PLAIN

EndType = Literal["start", "stop"]


@dataclass(frozen=True, slots=True)
class LegatoEnd:
    """One end of a hammer-on, pull-off or slide."""

    technique: Technique
    end: EndType


class Trill(NamedTuple):
    """What is said about the other note of a trill.

    Attributes:
        accidental: the accidental that it has, `None` if that of the key.
        step: `whole`, `half` or `unison`, `None` if not said.
        fret: the text of its fret, `?` if nobody knows it, `None` if not said.
    """

    accidental: str | None = None
    step: str | None = None
    fret: str | None = None


class Tremolo(NamedTuple):
    """Strokes of a tremolo.

    Attributes:
        strokes: how many are written.
        has_beams: whether the note's beams count, too.
    """

    strokes: int
    has_beams: bool


class WaveEnd(NamedTuple):
    """One end of a wavy line: the one of a trill, or vibrato."""

    end: EndType
    is_trill: bool


@dataclass(slots=True)
class Signs:
    """What the signs on one note say.

    Attributes:
        techniques: flags that hold for this note by itself.
        legato: ends of hammer-ons, pull-offs and slides.
        waves: ends of wavy lines, in order.
        bend: the steps of its bend.
        harmonic: what its pitch stands for, if it is a harmonic.
        trill: what is said about its trill, `None` without one.
        tremolo: its tremolo, `None` without one.
        is_tie_start, is_tie_stop: whether a tie leads on, or here.
        has_slur_stop: whether a slur ends here.
        has_diamond: whether its head is a diamond, the usual one for a harmonic.
        has_fermata: whether the music waits.
        bracketed_text: a fret in brackets, as it stands beside a trill.
        string_text, fret_text: what is written for string and fret, `None` if nothing is.
    """

    techniques: Technique = PLAIN
    legato: Sequence[LegatoEnd] = ()
    waves: Sequence[WaveEnd] = ()
    bend: Sequence[BendStep] = ()
    harmonic: HarmonicPitch | None = None
    trill: Trill | None = None
    tremolo: Tremolo | None = None
    is_tie_start: bool = False
    is_tie_stop: bool = False
    has_slur_stop: bool = False
    has_diamond: bool = False
    has_fermata: bool = False
    bracketed_text: str | None = None
    string_text: str | None = None
    fret_text: str | None = None


def signs_of(children: Iterable[tuple[str, Element]], spot: Spot, report: Report) -> Signs:
    """Read the signs on a note; what is not understood is reported once for each kind.

    Marks that only concern the look of the page (stems, beams, accidentals, tuplet brackets) are
    passed over, since they say nothing that pitch, duration, string and fret do not say.

    Args:
        children: the tags in the note, each after its name.
        spot: where the note stands.
        report: where signs without a meaning are told.
    """
    signs = Signs()
    context = _Context(signs, spot, report)
    for name, tag in children:
        read = _ON_NOTE.get(name, _unknown)
        if read is not None:
            read(tag, context)
    if signs.has_diamond and signs.harmonic is None:
        report.left_out("notehead", spot, detail="diamond")
    if signs.bracketed_text is not None:
        _settle_brackets(signs, spot, report)
    if signs.techniques and Technique.PINCH_HARMONIC in signs.techniques:
        signs.techniques &= ~Technique.ARTIFICIAL_HARMONIC  # the sign of the standard for both
    return signs


def _settle_brackets(signs: Signs, spot: Spot, report: Report) -> None:
    if signs.trill is None:
        report.left_out("other-technical", spot, detail=f"({signs.bracketed_text})")
    else:
        signs.trill = signs.trill._replace(fret=signs.bracketed_text)


class _Context(NamedTuple):
    signs: Signs
    spot: Spot
    report: Report

    def add(self, technique: Technique) -> None:
        self.signs.techniques |= technique


_Reader = Callable[[Element, _Context], None]

_NOTE_WITHOUT_SIGNS: Final = (
    *("pitch", "unpitched", "rest", "chord", "duration", "voice", "staff", "grace", "cue"),
    *("type", "dot", "time-modification", "accidental", "stem", "beam", "notehead-text"),
    *("instrument", "listen", "footnote", "level"),
)
_NOTATIONS_WITHOUT_SIGNS: Final = ("tuplet", "accidental-mark", "footnote", "level")
_TECHNICAL_WITHOUT_SIGNS: Final = ("open-string",)
_BRACKETED: Final = re.compile(r"\(\s*([0-9]{1,2}|\?)\s*\)")
_TREMOLO_GLYPH: Final = re.compile(r"tremolo([1-9])")
"""As SMuFL names strokes through a stem (from memory)."""


def _unknown(tag: Element, context: "_Context") -> None:
    context.report.left_out(str(tag.tag), context.spot)


def _ends(tag: Element) -> Iterator[EndType]:
    """List which ends a line has on this note; `continue` is both."""
    kind = tag.get("type", "")
    if kind in {"stop", "continue"}:
        yield "stop"
    if kind in {"start", "continue"}:
        yield "start"


def _tie(tag: Element, context: _Context) -> None:
    if tag.get("type") == "let-ring":
        context.add(Technique.LET_RING)
    for end in _ends(tag):
        if end == "start":
            context.signs.is_tie_start = True
        else:
            context.signs.is_tie_stop = True


def _notehead(tag: Element, context: _Context) -> None:
    shape = (tag.text or "").strip()
    if shape == "x":
        context.add(Technique.DEAD)
    elif shape == "diamond":
        context.signs.has_diamond = True
    elif shape not in {"", "normal"}:
        context.report.left_out("notehead", context.spot, detail=shape)
    if tag.get("parentheses") == "yes":
        context.report.left_out("notehead in parentheses", context.spot)


def _play(tag: Element, context: _Context) -> None:
    for child in tag:
        technique = technique_of_play(child, context.spot, context.report)
        if technique is not None:
            context.add(technique)


def technique_of_play(child: Element, spot: Spot, report: Report) -> Technique | None:
    """Read one tag of `play`: no technique for a mute that is off, `None` if not understood."""
    text = (child.text or "").strip()
    if child.tag == "mute" and text in _MUTES:
        return _MUTES[text]
    if child.tag == "other-play":
        technique = technique_in_words(child.get("type", "")) or technique_in_words(text)
        if technique is not None:
            return technique
    report.left_out(child.tag, spot, detail=text)
    return None


_MUTES: Final = {
    "palm": Technique.PALM_MUTE,
    "straight": Technique.DEAD,
    "off": Technique(0),
}


def _lyric(_: Element, context: _Context) -> None:
    context.report.left_out("lyric", context.spot)


def _slur(tag: Element, context: _Context) -> None:
    context.signs.has_slur_stop |= tag.get("type") == "stop"


def _legato(technique: Technique) -> _Reader:
    def read(tag: Element, context: _Context) -> None:
        ends = (LegatoEnd(technique, end) for end in _ends(tag))
        context.signs.legato = (*context.signs.legato, *ends)

    return read


def _group(table: Mapping[str, _Reader | None]) -> _Reader:
    def read(tag: Element, context: _Context) -> None:
        for child in tag:
            inner = table.get(child.tag, _unknown)
            if inner is not None:
                inner(child, context)

    return read


def _flag(technique: Technique) -> _Reader:
    def read(_: Element, context: _Context) -> None:
        context.add(technique)

    return read


def _ornaments(tag: Element, context: _Context) -> None:
    """Read ornaments; a wavy line beside a trill is part of it, any other one vibrato."""
    is_trill = tag.find("trill-mark") is not None
    for child in tag:
        match child.tag:
            case "trill-mark":
                context.add(Technique.TRILL)
                context.signs.trill = Trill(step=child.get("trill-step"))
            case "accidental-mark" if context.signs.trill is not None:
                accidental = (child.text or "").strip()
                context.signs.trill = context.signs.trill._replace(accidental=accidental)
            case "wavy-line":
                ends = (WaveEnd(end, is_trill) for end in _ends(child))
                context.signs.waves = (*context.signs.waves, *ends)
            case "tremolo":
                _tremolo(child, context)
            case "accidental-mark":
                pass
            case _:
                _unknown(child, context)


def _tremolo(tag: Element, context: _Context) -> None:
    """Read a tremolo; one without measure may name strokes by its glyph, beams and all."""
    kind = tag.get("type", "single")
    strokes = whole_number(tag.text or "3", 0, 8)
    if kind == "unmeasured":
        glyph = _TREMOLO_GLYPH.fullmatch(tag.get("smufl", ""))
        strokes = int(glyph[1]) if glyph else 0
    if kind not in {"single", "unmeasured"} or strokes is None:
        context.report.left_out("tremolo", context.spot, detail=kind)
        return
    context.add(Technique.TREMOLO)
    context.signs.tremolo = Tremolo(strokes, has_beams=kind == "single")


def _other(tag: Element, context: _Context) -> None:
    text = (tag.text or "").strip()
    bracketed = _BRACKETED.fullmatch(text)
    technique = technique_in_words(text) or technique_of_glyph(tag.get("smufl", ""))
    if bracketed is not None:
        context.signs.bracketed_text = bracketed[1]
    elif technique is None:
        context.report.left_out(str(tag.tag), context.spot, detail=text)
    else:
        context.add(technique)


def _bend(tag: Element, context: _Context) -> None:
    semitones = decimal_number(tag.findtext("bend-alter"))
    steps = context.signs.bend
    if semitones is None or abs(semitones) * 100 > WIDEST_STEP_CENTS:
        context.report.warn(
            "bend",
            "a bend without a usable width is left out",
            "write `bend-alter` in semitones, e.g. 2 or 0.5",
            context.spot,
        )
        return
    if len(steps) >= MOST_BEND_STEPS:
        context.report.left_out(f"bend after {MOST_BEND_STEPS} others on one note", context.spot)
        return
    release = tag.find("release")
    _warn_of_nuances(tag, release, context)
    kind = Step.BEND if release is None else Step.RELEASE
    kind = kind if tag.find("pre-bend") is None else Step.PRE_BEND
    with_bar = tag.find("with-bar") is not None
    context.signs.bend = (*steps, BendStep(kind, round(semitones * 100), with_bar=with_bar))


def _warn_of_nuances(bend: Element, release: Element | None, context: _Context) -> None:
    is_timed = release is not None and release.get("offset") is not None
    if is_timed or bend.get("first-beat") is not None or bend.get("last-beat") is not None:
        context.report.warn(
            "timed bend",
            "when within the note a bend turns is not kept; it turns evenly",
            "tie notes if it matters, and write the bend of each",
            context.spot,
        )


def _harmonic(tag: Element, context: _Context) -> None:
    is_artificial = tag.find("artificial") is not None
    context.add(Technique.ARTIFICIAL_HARMONIC if is_artificial else Technique.NATURAL_HARMONIC)
    said = (kind for name, kind in _HARMONIC_PITCHES.items() if tag.find(name) is not None)
    context.signs.harmonic = next(said, HarmonicPitch.UNSTATED)


_HARMONIC_PITCHES: Final = {
    "sounding-pitch": HarmonicPitch.SOUNDING,
    "touching-pitch": HarmonicPitch.TOUCHING,
    "base-pitch": HarmonicPitch.BASE,
}


def _tap(tag: Element, context: _Context) -> None:
    """Read a tap; one of the fretting hand is a hammer-on from nowhere."""
    is_left = tag.get("hand") == "left"
    context.add(Technique.HAMMER_ON if is_left else Technique.TAP)


def _fermata(_: Element, context: _Context) -> None:
    context.signs.has_fermata = True


def _string(tag: Element, context: _Context) -> None:
    context.signs.string_text = tag.text or ""


def _fret(tag: Element, context: _Context) -> None:
    context.signs.fret_text = tag.text or ""


_IN_TECHNICAL: Final[dict[str, _Reader | None]] = {
    "string": _string,
    "fret": _fret,
    "hammer-on": _legato(Technique.HAMMER_ON),
    "pull-off": _legato(Technique.PULL_OFF),
    "bend": _bend,
    "harmonic": _harmonic,
    "tap": _tap,
    "down-bow": _flag(Technique.DOWN_STROKE),
    "up-bow": _flag(Technique.UP_STROKE),
    "other-technical": _other,
    **dict.fromkeys(_TECHNICAL_WITHOUT_SIGNS),
}
_IN_ARTICULATIONS: Final[dict[str, _Reader | None]] = {
    "accent": _flag(Technique.ACCENT),
    "strong-accent": _flag(Technique.ACCENT),
    "staccato": _flag(Technique.STACCATO),
    "staccatissimo": _flag(Technique.STACCATO),
    "scoop": _flag(Technique.SCOOP),
    "plop": _flag(Technique.PLOP),
    "doit": _flag(Technique.DOIT),
    "falloff": _flag(Technique.FALLOFF),
    "other-articulation": _other,
}
_IN_NOTATIONS: Final[dict[str, _Reader | None]] = {
    "tied": _tie,
    "slur": _slur,
    "slide": _legato(Technique.SLIDE),
    "glissando": _legato(Technique.SLIDE),
    "technical": _group(_IN_TECHNICAL),
    "articulations": _group(_IN_ARTICULATIONS),
    "ornaments": _ornaments,
    "fermata": _fermata,
    "other-notation": _other,
    **dict.fromkeys(_NOTATIONS_WITHOUT_SIGNS),
}
_ON_NOTE: Final[dict[str, _Reader | None]] = {
    "tie": _tie,
    "notations": _group(_IN_NOTATIONS),
    "notehead": _notehead,
    "play": _play,
    "lyric": _lyric,
    **dict.fromkeys(_NOTE_WITHOUT_SIGNS),
}
