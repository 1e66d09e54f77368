"""The prompter: only what is said, to be read aloud, with the time that there is for it."""

import re
from collections.abc import Iterator, Mapping, Sequence
from itertools import accumulate
from textwrap import shorten
from types import MappingProxyType
from typing import Final

from riffract.analysis.saying import language, say
from riffract.essay.shot_list import WORDS_A_MINUTE
from riffract.essay.shots import Line, Shot
from riffract.formats.problem import Problem, Severity
from riffract.publish.wording import clock_text

STRESSED: Final[Mapping[str, Mapping[str, str]]] = MappingProxyType(
    {
        "en": MappingProxyType(
            {
                "accelerando": "accelerANdo",
                "chromatic": "chroMATic",
                "collection": "colLECtion",
                "dominant": "DOminant",
                "hexatonic": "hexaTONic",
                "inversion": "inVERsion",
                "motive": "MOtive",
                "octatonic": "octaTONic",
                "ostinato": "ostiNAto",
                "palindrome": "PALindrome",
                "retrograde": "RETrograde",
                "semitone": "SEMitone",
                "sonority": "soNORity",
                "transposition": "transpoSItion",
                "trichord": "TRIchord",
                "tetrachord": "TETrachord",
                "tritone": "TRItone",
                "étude": "ÉTude",
            }
        ),
        "de": MappingProxyType(
            {
                "Akzent": "AkZENT",
                "Chromatik": "ChroMAtik",
                "chromatisch": "chroMAtisch",
                "Hexatonik": "HexaTOnik",
                "hexatonisch": "hexaTOnisch",
                "Intervall": "InterVALL",
                "Krebs": "KREBS",
                "Motiv": "MoTIV",
                "Oktatonik": "OktaTOnik",
                "oktatonisch": "oktaTOnisch",
                "Ostinato": "OstiNAto",
                "Palindrom": "PalinDROM",
                "Transposition": "TransposiTION",
                "Tritonus": "TRItonus",
                "Étude": "ÉTÜde",
            }
        ),
    }
)
"""Terms of the trade that are easily stressed wrongly, the stressed syllable in capitals; by
language. From memory of common dictionaries."""

_SHORT_OF_SECONDS: Final = 0.25
"""What a reader does not notice: a breath is longer."""


def speaking_seconds(text: str) -> float:
    """Tell how long a line takes to be read aloud.

    Source: 160 words a minute, the slower end of a public broadcaster's subtitle rate as quoted
    by captioning guides; radio monologue has the same rate (Tauroza & Allison, Applied
    Linguistics 11, 1990, from memory).

    >>> speaking_seconds("Listen to the string that rings on.")
    2.625
    """
    return len(text.split()) * 60.0 / WORDS_A_MINUTE


def stressed(text: str) -> str:
    """Write stressed syllables of known terms in capitals.

    >>> stressed("Octatonic, then the semitones.")
    'OctaTONic, then the SEMitones.'
    """
    terms = STRESSED.get(language().code.partition("-")[0], {})
    if not terms:
        return text
    longest_first = sorted(terms, key=len, reverse=True)
    known = re.compile(rf"\b({'|'.join(map(re.escape, longest_first))})", re.IGNORECASE)
    folded = {term.casefold(): marked for term, marked in terms.items()}
    return known.sub(lambda found: _cased(folded[found[0].casefold()], found[0]), text)


def prompter_text(shots: Sequence[Shot]) -> str:
    """Write what is said, shot by shot; each line with its time in the film and how long it takes.

    A shot in which nothing is said is left out.
    """
    starts = [0.0, *accumulate(shot.length_seconds for shot in shots)]
    spoken = [
        _shot(number, shot, start)
        for number, (shot, start) in enumerate(zip(shots, starts, strict=False), start=1)
        if shot.lines
    ]
    words = sum(len(line.text.split()) for shot in shots for line in shot.lines)
    head = say(
        "{words} words, {seconds} s read aloud, in a film of {film} s",
        words=words,
        seconds=f"{words * 60.0 / WORDS_A_MINUTE:.0f}",
        film=f"{starts[-1]:.0f}",
    )
    return "\n\n".join([head, *spoken]) + "\n"


def prompter_problems(shots: Sequence[Shot]) -> tuple[Problem, ...]:
    """Warn of lines that take longer to be said than until the next one."""
    return tuple(
        Problem(
            what=f"“{shorten(line.text, 48, placeholder=' …')}” takes "
            f"{speaking_seconds(line.text):.1f} s to be said and "
            f"has {line.end_seconds - line.start_seconds:.1f} s",
            mend="shorten it, or give its claim a longer excerpt",
            place=shot.name,
            severity=Severity.WARNING,
        )
        for shot in shots
        for line in shot.lines
        if speaking_seconds(line.text) > line.end_seconds - line.start_seconds + _SHORT_OF_SECONDS
    )


def _shot(number: int, shot: Shot, start: float) -> str:
    return "\n".join([f"{number}. {' '.join(shot.title.split())}", *_lines(shot.lines, start)])


def _lines(lines: Sequence[Line], start: float) -> Iterator[str]:
    for line in lines:
        seconds = f"{speaking_seconds(line.text):.1f}"
        yield f"[{clock_text(start + line.start_seconds)}, {seconds} s]"
        yield stressed(" ".join(line.text.split()))


def _cased(marked: str, found: str) -> str:
    """Keep a capital that starts the word as it was written."""
    return (marked[0].upper() if found[0].isupper() else marked[0]) + marked[1:]
