"""Words that players write for a technique."""

import re
from typing import Final

from riffract.music import Technique

_TAIL: Final = r"[\s.\-‑–—_|┤)\]]*"
_TAPPED_HARMONIC: Final = Technique.TAP | Technique.ARTIFICIAL_HARMONIC
_WORDS: Final = (
    (r"p\.?\s?m\.?|palm[\s-]*mut(?:e|ed|ing)?", Technique.PALM_MUTE),
    (r"let[\s-]*ring|l\.?\s?r\.|l\.?\s?v\.|laissez[\s-]*vibrer", Technique.LET_RING),
    (r"(?:wide |slight )?vib(?:rato|r?)", Technique.VIBRATO),
    (r"t\.?\s?h\.?|tap(?:ped)?[\s-]*harm(?:onics?)?", _TAPPED_HARMONIC),
    (r"a\.?\s?h\.?|art(?:ificial)?[\s-]*harm(?:onics?)?", Technique.ARTIFICIAL_HARMONIC),
    (r"p\.?\s?h\.?|pinch(?:ed)?[\s-]*harm(?:onics?)?", Technique.PINCH_HARMONIC),
    (r"n\.?\s?h\.?|nat(?:ural)?[\s-]*harm(?:onics?)?", Technique.NATURAL_HARMONIC),
    (r"tap(?:ping|ped)?", Technique.TAP),
    (r"dead[\s-]*notes?|(?:left[\s-]*hand |string )?muted?", Technique.DEAD),
)
_PATTERNS: Final = tuple(
    (re.compile(rf"[(\[]?(?:{words}){_TAIL}", re.IGNORECASE), technique)
    for words, technique in _WORDS
)
_LASTING: Final = re.compile(r"(.+?)\s+(?:throughout|sempre|always)\.?", re.IGNORECASE)
_RAMP: Final = re.compile(
    r"(?:(?:poco|molto)\s+)?(?:(?P<faster>accel(?:erando|\.)?|string(?:endo|\.))"
    r"|rit(?:ardando|ard\.?|\.)?|rall(?:entando|\.)?|allarg(?:ando|\.))(?:\s+(?:poco\s+a\s+poco|molto))?"
    + _TAIL,
    re.IGNORECASE,
)
_GLYPHS: Final = {
    "guitarVibratoStroke": Technique.VIBRATO,
    "guitarWideVibratoStroke": Technique.VIBRATO,
}


def technique_in_words(text: str) -> Technique | None:
    """Tell which technique words stand for; `None` if they are about something else.

    Source: common practice: `P.M.`, `let ring`, `vib.`.

    >>> technique_in_words("P. M. - - -"), technique_in_words("let ring"), technique_in_words("PMS")
    (<Technique.PALM_MUTE: 1>, <Technique.LET_RING: 2>, None)
    """
    stripped = text.strip()
    return next((t for pattern, t in _PATTERNS if pattern.fullmatch(stripped)), None)


def lasting_technique_in_words(text: str) -> Technique | None:
    """Tell which technique words prescribe from now on; `None` if they do not.

    >>> lasting_technique_in_words("let ring throughout"), lasting_technique_in_words("let ring")
    (<Technique.LET_RING: 2>, None)
    """
    match = _LASTING.fullmatch(text.strip())
    return None if match is None else technique_in_words(match[1])


def ramp_in_words(text: str) -> bool | None:
    """Tell whether words make the tempo rise (or fall) steadily; `None` if they do neither.

    Source: common practice.

    >>> ramp_in_words("accel."), ramp_in_words("poco rit. - - -"), ramp_in_words("Rite")
    (True, False, None)
    """
    match = _RAMP.fullmatch(text.strip())
    return None if match is None else match["faster"] is not None


def technique_of_glyph(name: str) -> Technique | None:
    """Tell which technique a named glyph stands for. Source: SMuFL glyph names, from memory."""
    return _GLYPHS.get(name)
