"""Words that players write for a technique."""

import re
from typing import Final

from riffract.music import Technique

_TAIL: Final = r"[\s.\-‑–—_|┤)\]]*"
_WORDS: Final = (
    (r"p\.?\s?m\.?|palm[\s-]*mut(?:e|ed|ing)?", Technique.PALM_MUTE),
    (r"let[\s-]*ring|l\.?\s?r\.|l\.?\s?v\.|laissez[\s-]*vibrer", Technique.LET_RING),
    (r"(?:wide |slight )?vib(?:rato|r?)", Technique.VIBRATO),
    (r"dead[\s-]*notes?|(?:left[\s-]*hand |string )?muted?", Technique.DEAD),
)
_PATTERNS: Final = tuple(
    (re.compile(rf"[(\[]?(?:{words}){_TAIL}", re.IGNORECASE), technique)
    for words, technique in _WORDS
)
_LASTING: Final = re.compile(r"(.+?)\s+(?:throughout|sempre|always)\.?", re.IGNORECASE)
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


def technique_of_glyph(name: str) -> Technique | None:
    """Tell which technique a named glyph stands for. Source: SMuFL glyph names, from memory."""
    return _GLYPHS.get(name)
