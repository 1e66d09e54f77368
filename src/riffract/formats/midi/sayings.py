"""What a file of ours says in text events, in the words of a tab's header, and is read back."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from riffract.music import Metre, Passage, Proposed, Tuning, pitch_named
from riffract.music.tuning import FEWEST_STRINGS, MOST_STRINGS

EXACT: Final = "exact"
"""`times: exact` says that each tick is meant as it stands, so that no grid is looked for."""

STRINGS: Final = "strings"
"""`channels: strings` says that channel and string have the same number, the tenth passed over."""

NO_SECTION: Final = "-"
"""A marker that only ends the section before it."""

_SAYING: Final = re.compile(r"(tuning|capo|frets|channels|metre|times|proposed): *(\S.*)")
_METRE: Final = re.compile(r"(\d{1,2})/(\d{1,2}) = (\d{1,2}(?:\+\d{1,2})*)")
_LONGEST: Final = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class Sayings:
    """What text events say; nothing where they do not.

    Attributes:
        tuning: the strings.
        has_string_channels: whether each channel is the string of its number.
        has_exact_times: whether times are meant to the tick.
        proposed: what was proposed when the file was written.
    """

    tuning: Tuning | None = None
    has_string_channels: bool = False
    has_exact_times: bool = False
    proposed: tuple[Proposed, ...] = ()


def saying_of(text: str) -> tuple[str, str] | None:
    """Split a text of ours into key and value; `None` if it is none.

    >>> saying_of("tuning: E2 A2 D3 G3 B3 E4"), saying_of("Verse: loud")
    (('tuning', 'E2 A2 D3 G3 B3 E4'), None)
    """
    match = _SAYING.fullmatch(text) if len(text) <= _LONGEST else None
    return None if match is None else (match[1], match[2].strip())


def sayings_of(texts: Iterable[str]) -> Sayings:
    """Understand texts of ours; one that is broken counts as not there.

    >>> sayings_of(["tuning: E1 A1 D2 G2", "frets: 21", "times: exact"]).tuning.frets
    21
    """
    said = dict(pair for text in texts if (pair := saying_of(text)) is not None)
    names = said.get("proposed", "").split()
    return Sayings(
        tuning=_tuning(said),
        has_string_channels=said.get("channels") == STRINGS,
        has_exact_times=said.get("times") == EXACT,
        proposed=tuple(p for p in Proposed if p.value in names),
    )


def _tuning(said: dict[str, str]) -> Tuning | None:
    names = said.get("tuning", "").split()
    if not FEWEST_STRINGS <= len(names) <= MOST_STRINGS:
        return None
    try:
        return Tuning(
            open_pitches=tuple(map(pitch_named, names)),
            capo=int(said.get("capo", "0")),
            frets=int(said.get("frets", "24")),
        )
    except ValueError:
        return None


def grouping_of(text: str) -> Metre | None:
    """Understand a metre with its groups.

    >>> grouping_of("metre: 11/8 = 3+3+3+2").groups
    (3, 3, 3, 2)
    """
    pair = saying_of(text)
    match = _METRE.fullmatch(pair[1]) if pair and pair[0] == "metre" else None
    if match is None:
        return None
    try:
        metre = Metre(groups=tuple(map(int, match[3].split("+"))), unit=int(match[2]))
    except ValueError:
        return None
    return metre if metre.units == int(match[1]) else None


def passage_sayings(passage: Passage, *, has_exact_times: bool) -> list[str]:
    """Say what a MIDI file has no messages for."""
    tuning = passage.tuning
    said = [f"tuning: {tuning.label()}"]
    if tuning.capo:
        said.append(f"capo: {tuning.capo}")
    said += [f"frets: {tuning.frets}", f"channels: {STRINGS}"]
    if has_exact_times:
        said.append(f"times: {EXACT}")
    if passage.proposed:
        said.append(f"proposed: {' '.join(passage.proposed)}")
    return said


def metre_saying(metre: Metre) -> str:
    """Say how a metre is grouped."""
    return f"metre: {metre.label_with_groups()}"
