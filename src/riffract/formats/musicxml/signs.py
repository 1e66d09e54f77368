"""How a note is played, from the signs on it."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Final, Literal, NamedTuple

from lxml.etree import _Element as Element

from riffract.formats.musicxml.numbers import decimal_number
from riffract.formats.musicxml.report import Report, Spot
from riffract.formats.musicxml.wording import technique_in_words, technique_of_glyph
from riffract.formats.musicxml.written import HarmonicPitch
from riffract.music import Technique

WIDEST_BEND_CENTS: Final = 2400

EndType = Literal["start", "stop"]


@dataclass(frozen=True, slots=True)
class LegatoEnd:
    """One end of a hammer-on, pull-off or slide."""

    technique: Technique
    end: EndType


@dataclass(slots=True)
class Signs:
    """What the signs on one note say.

    Attributes:
        techniques: flags that hold for this note by itself.
        legato: ends of hammer-ons, pull-offs and slides.
        waves: ends of vibrato lines, in order.
        bend_cents: how far it is bent at its goal.
        harmonic: what its pitch stands for, if it is a harmonic.
        is_tie_start, is_tie_stop: whether a tie leads on, or here.
        has_slur_stop: whether a slur ends here.
        string_text, fret_text: what is written for string and fret, `None` if nothing is.
        has_diamond: whether its head is a diamond, the usual one for a harmonic.
    """

    techniques: Technique = Technique(0)  # noqa: RUF009  # flags are immutable
    legato: list[LegatoEnd] = field(default_factory=list)
    waves: list[EndType] = field(default_factory=list)
    bend_cents: int = 0
    harmonic: HarmonicPitch | None = None
    is_tie_start: bool = False
    is_tie_stop: bool = False
    has_slur_stop: bool = False
    has_diamond: bool = False
    string_text: str | None = None
    fret_text: str | None = None


def signs_of(note: Element, spot: Spot, report: Report) -> Signs:
    """Read the signs on a note; what is not understood is reported once for each kind.

    Marks that only concern the look of the page (stems, beams, accidentals, tuplet brackets) are
    passed over, since they say nothing that pitch, duration, string and fret do not say.
    """
    signs = Signs()
    context = _Context(signs, spot, report)
    for tag in note:
        if (read := _ON_NOTE.get(tag.tag)) is not None:
            read(tag, context)
        elif tag.tag not in _NOTE_WITHOUT_SIGNS:
            report.left_out(tag.tag, spot)
    if signs.has_diamond and signs.harmonic is None:
        report.left_out("notehead", spot, detail="diamond")
    return signs


class _Context(NamedTuple):
    signs: Signs
    spot: Spot
    report: Report

    def add(self, technique: Technique) -> None:
        self.signs.techniques |= technique


_Reader = Callable[[Element, _Context], None]

_NOTE_WITHOUT_SIGNS: Final = frozenset(
    {
        *("pitch", "unpitched", "rest", "chord", "duration", "voice", "staff", "grace", "cue"),
        *("type", "dot", "time-modification", "accidental", "stem", "beam", "notehead-text"),
        *("instrument", "listen", "footnote", "level"),
    }
)
_NOTATIONS_WITHOUT_SIGNS: Final = frozenset({"tuplet", "accidental-mark", "footnote", "level"})
_TECHNICAL_WITHOUT_SIGNS: Final = frozenset({"open-string"})


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


def _notations(tag: Element, context: _Context) -> None:
    for child in tag:
        if (read := _IN_NOTATIONS.get(child.tag)) is not None:
            read(child, context)
        elif child.tag not in _NOTATIONS_WITHOUT_SIGNS:
            context.report.left_out(child.tag, context.spot)


def _slur(tag: Element, context: _Context) -> None:
    context.signs.has_slur_stop |= tag.get("type") == "stop"


def _legato(technique: Technique) -> _Reader:
    def read(tag: Element, context: _Context) -> None:
        context.signs.legato.extend(LegatoEnd(technique, end) for end in _ends(tag))

    return read


def _group(table: dict[str, _Reader], without_signs: frozenset[str] = frozenset()) -> _Reader:
    def read(tag: Element, context: _Context) -> None:
        for child in tag:
            if (inner := table.get(child.tag)) is not None:
                inner(child, context)
            elif child.tag not in without_signs:
                context.report.left_out(child.tag, context.spot)

    return read


def _flag(technique: Technique) -> _Reader:
    def read(_: Element, context: _Context) -> None:
        context.add(technique)

    return read


def _ornaments(tag: Element, context: _Context) -> None:
    """Read a wavy line as vibrato, unless a trill stands before it."""
    is_trill = tag.find("trill-mark") is not None
    for child in tag:
        if child.tag == "wavy-line" and not is_trill:
            context.signs.waves.extend(_ends(child))
        elif child.tag not in {"accidental-mark", "wavy-line"}:
            context.report.left_out(child.tag, context.spot)


def _other(tag: Element, context: _Context) -> None:
    text = (tag.text or "").strip()
    technique = technique_in_words(text) or technique_of_glyph(tag.get("smufl", ""))
    if technique is None:
        context.report.left_out(tag.tag, context.spot, detail=text)
    else:
        context.add(technique)


def _bend(tag: Element, context: _Context) -> None:
    """Take the widest bend of a note; a release, written with a negative width, only undoes one."""
    semitones = decimal_number(tag.findtext("bend-alter"))
    if tag.find("with-bar") is not None:
        context.report.left_out("with-bar", context.spot)
    elif semitones is None or abs(semitones) * 100 > WIDEST_BEND_CENTS:
        context.report.warn(
            "bend",
            "a bend without a usable width is left out",
            "write `bend-alter` in semitones, e.g. 2 or 0.5",
            context.spot,
        )
    elif semitones < 0 and tag.find("pre-bend") is None:
        _release(context)
    elif semitones:
        context.add(Technique.BEND)
        cents = abs(round(semitones * 100))
        context.signs.bend_cents = max(context.signs.bend_cents, cents)


def _release(context: _Context) -> None:
    if Technique.BEND not in context.signs.techniques:
        context.report.warn(
            "release",
            "a release on a note that is not bent itself is left out",
            "nothing, if the bend before it is the point",
            context.spot,
        )


def _harmonic(tag: Element, context: _Context) -> None:
    pitches = {
        "sounding-pitch": HarmonicPitch.SOUNDING,
        "touching-pitch": HarmonicPitch.TOUCHING,
        "base-pitch": HarmonicPitch.BASE,
    }
    said = [pitch for name, pitch in pitches.items() if tag.find(name) is not None]
    if tag.find("artificial") is not None:
        context.report.warn(
            "artificial harmonic",
            "artificial harmonics are not understood; only their sounding pitch is read, if given",
            "write natural harmonics as `natural`, others with `sounding-pitch`",
            context.spot,
        )
        context.signs.harmonic = (
            HarmonicPitch.SOUNDING if said[:1] == [HarmonicPitch.SOUNDING] else None
        )
        return
    context.add(Technique.NATURAL_HARMONIC)
    context.signs.harmonic = said[0] if said else HarmonicPitch.UNSTATED


def _string(tag: Element, context: _Context) -> None:
    context.signs.string_text = tag.text or ""


def _fret(tag: Element, context: _Context) -> None:
    context.signs.fret_text = tag.text or ""


_IN_TECHNICAL: Final[dict[str, _Reader]] = {
    "string": _string,
    "fret": _fret,
    "hammer-on": _legato(Technique.HAMMER_ON),
    "pull-off": _legato(Technique.PULL_OFF),
    "bend": _bend,
    "harmonic": _harmonic,
    "other-technical": _other,
}
_IN_ARTICULATIONS: Final[dict[str, _Reader]] = {
    "accent": _flag(Technique.ACCENT),
    "strong-accent": _flag(Technique.ACCENT),
    "staccato": _flag(Technique.STACCATO),
    "staccatissimo": _flag(Technique.STACCATO),
    "other-articulation": _other,
}
_IN_NOTATIONS: Final[dict[str, _Reader]] = {
    "tied": _tie,
    "slur": _slur,
    "slide": _legato(Technique.SLIDE),
    "glissando": _legato(Technique.SLIDE),
    "technical": _group(_IN_TECHNICAL, _TECHNICAL_WITHOUT_SIGNS),
    "articulations": _group(_IN_ARTICULATIONS),
    "ornaments": _ornaments,
    "other-notation": _other,
}
_ON_NOTE: Final[dict[str, _Reader]] = {
    "tie": _tie,
    "notations": _notations,
    "notehead": _notehead,
    "play": _play,
    "lyric": _lyric,
}
