"""How the strings are tuned: as labels and words tell, in the octave of the standard tuning."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, TypeAlias

from riffract.formats.pasted.report import Report, quoted
from riffract.formats.pasted.systems import System
from riffract.formats.pasted.words import Words
from riffract.formats.standard_tuning import standard_tuning
from riffract.music import Tuning, pitch_name
from riffract.music.pitch import HIGHEST_PITCH, LOWEST_PITCH

_PC: Final = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11, "H": 11}
_SEMITONES: Final = {"": 0, "#": 1, "♯": 1, "b": -1, "♭": -1}
_LABEL = re.compile(r"([A-Ha-h])([#b♯♭]?)(-?[0-9])?")
_OCTAVE: Final = 12
_FIFTH: Final = 7
_HIGHEST_STANDARD_SEMITONES: Final = 3
"""`G standard` lies above the usual tuning, `A♭ standard` below."""

Name: TypeAlias = tuple[str, int | None]
"""The name of a string, and its octave if that is written."""


@dataclass(frozen=True, slots=True)
class Strings:
    """The strings of the text.

    Attributes:
        tuning: low to high.
        is_upside_down: whether the rows stand with the lowest string on top.
    """

    tuning: Tuning
    is_upside_down: bool = False


def strings_of(
    systems: Sequence[System], words: Words, tuning: Tuning | None, report: Report
) -> Strings | None:
    """Settle the tuning. What the caller knows comes first, then words, then the labels.

    Labels that are those of the standard tuning are often left standing under words that say
    otherwise (common practice); other labels are believed before the words.

    Args:
        systems: all of one number of rows.
        words: what the text says.
        tuning: what the caller knows.
        report: where choices and problems are told.
    """
    count = len(systems[0].rows)
    names = _row_names(systems, report)
    usual = standard_tuning(count)
    labelled, is_upside_down = _labelled(names, usual)
    is_upside_down |= systems[0].labels[0] == str(count)
    place = systems[0].rows[0].place(0)
    if is_upside_down:
        report.warn(
            "upside down",
            "the rows stand upside down, the lowest string on top; they are read that way",
            "put the highest string on top if that is wrong",
            place,
        )
    if tuning is not None:
        if tuning.string_count != count:
            report.error(
                f"the tab has {count} strings, the tuning that is given has {tuning.string_count}",
                "give a tuning for each string of the tab, or leave it out",
                place,
            )
            return None
        return Strings(tuning, is_upside_down)
    opens = _said(words, count, report) if words.tells_tuning else None
    if opens is None:
        opens = labelled
    elif any(names) and labelled not in (usual, opens) and not _are_alike(labelled, opens):
        report.warn(
            "labels against words",
            f"{quoted(words.tuning_text)} does not agree with the names of the rows; "
            f"the rows are believed: {_listed(labelled)}",
            "correct the one or the other",
            words.tuning_place,
        )
        opens = labelled
    if not all(LOWEST_PITCH <= pitch <= HIGHEST_PITCH for pitch in opens):
        report.error("the strings are tuned beyond all hearing", "correct the tuning", place)
        return None
    if not any(names) and not words.tells_tuning:
        report.warn(
            "standard tuning",
            f"no tuning is given; standard tuning is taken: {_listed(opens)}",
            "write the names of the strings in front of their rows, or `Tuning: …` above",
            place,
        )
    return Strings(Tuning(open_pitches=opens, capo=words.capo), is_upside_down)


def _are_alike(one: Sequence[int], other: Sequence[int]) -> bool:
    return all((a - b) % _OCTAVE == 0 for a, b in zip(one, other, strict=True))


def _listed(opens: Sequence[int]) -> str:
    return " ".join(pitch_name(pitch) for pitch in opens)


def _row_names(systems: Sequence[System], report: Report) -> tuple[Name | None, ...]:
    """Read the labels of the first system that has most of them, from the top."""
    best = max(systems, key=lambda system: sum(map(bool, system.labels)))
    letters = [[label.upper() for label in system.labels] for system in systems]
    other = next(
        (
            system
            for system, own in zip(systems, letters, strict=True)
            if any(a and b and a != b.upper() for a, b in zip(own, best.labels, strict=True))
        ),
        None,
    )
    if other is not None:
        report.warn(
            "other labels",
            "the strings have other names in another system; the names of the first are taken",
            "give each tuning a file of its own",
            other.rows[0].place(0),
        )
    matches = [_LABEL.fullmatch(label) for label in best.labels]
    if "H" in (match[1].upper() for match in matches if match):
        names = [_german(match) if match else "" for match in matches]
    else:
        names = [match[1].upper() + match[2] if match else "" for match in matches]
    octaves = [int(match[3]) if match and match[3] else None for match in matches]
    return tuple(
        (name, octave) if name else None for name, octave in zip(names, octaves, strict=True)
    )


def _german(match: re.Match[str]) -> str:
    """Where a string is named H, B is what others call B flat."""
    name = match[1].upper() + match[2]
    return {"B": "Bb", "H": "B"}.get(name, name)


def _labelled(names: Sequence[Name | None], usual: tuple[int, ...]) -> tuple[tuple[int, ...], bool]:
    """Give the open strings, low to high, and whether the names start with the lowest one."""
    if not any(names):
        return usual, False
    from_top = _nearest_tuning(names[::-1], usual)
    from_bottom = _nearest_tuning(names, usual)
    is_upside_down = _unlikeness(from_bottom, usual) < _unlikeness(from_top, usual)
    return (from_bottom, True) if is_upside_down else (from_top, False)


def _distance(opens: Sequence[int], usual: Sequence[int]) -> int:
    return sum(abs(a - b) for a, b in zip(opens, usual, strict=True))


def _unlikeness(opens: Sequence[int], usual: Sequence[int]) -> int:
    """Compare the intervals between neighbouring strings, wherever the whole tuning lies."""
    return sum(
        abs((b - a) - (d - c))
        for (a, b), (c, d) in zip(pairwise(opens), pairwise(usual), strict=True)
    )


def _nearest_tuning(names: Sequence[Name | None], usual: Sequence[int]) -> tuple[int, ...]:
    """Give each name its octave: rising strings, as near to the standard tuning as can be.

    A written octave is kept, and a string without a name takes its standard pitch.
    """
    nearest = tuple(_near(name, pitch) for name, pitch in zip(names, usual, strict=True))
    if any(name is None or name[1] is not None for name in names) or _rises(nearest):
        return nearest
    chains = [
        _chain([name for name in names if name is not None], nearest[0] + shift)
        for shift in (-_OCTAVE, 0, _OCTAVE)
    ]
    return min(chains, key=lambda opens: _distance(opens, usual))


def _rises(pitches: Sequence[int]) -> bool:
    return all(b >= a for a, b in pairwise(pitches))


def _near(name: Name | None, usual: int) -> int:
    if name is None:
        return usual
    letters, octave = name
    if octave is not None:
        return (octave + 1) * _OCTAVE + _pc(letters, wrap=False)
    up = (_pc(letters) - usual) % _OCTAVE
    return usual + up - (_OCTAVE if up >= _OCTAVE // 2 else 0)


def _chain(names: Sequence[Name], lowest: int) -> tuple[int, ...]:
    """Lay strings one above the other, each at most an octave above the one before."""
    pitches = [lowest]
    for letters, _ in names[1:]:
        pitches.append(pitches[-1] + 1 + (_pc(letters) - pitches[-1] - 1) % _OCTAVE)
    return tuple(pitches)


def _pc(letters: str, *, wrap: bool = True) -> int:
    semitones = _PC[letters[0].upper()] + _SEMITONES[letters[1:2]]
    return semitones % _OCTAVE if wrap else semitones


def _said(words: Words, count: int, report: Report) -> tuple[int, ...] | None:
    """Give the open strings that the words tell, low to high."""
    usual = standard_tuning(count)
    if words.names:
        if len(words.names) != count:
            report.warn(
                "tuning not used",
                f"{quoted(words.tuning_text)} names {len(words.names)} strings, "
                f"the tab has {count}; it is not used",
                "name one for each row",
                words.tuning_place,
            )
            return None
        up = _nearest_tuning(words.names, usual)
        down = _nearest_tuning(words.names[::-1], usual)
        return down if _distance(down, usual) < _distance(up, usual) else up
    if words.dropped:
        return _dropped(words.dropped, usual, words.semitones_down)
    if words.standard and words.standard != "E":
        shift = (_pc(words.standard) - usual[0]) % _OCTAVE
        shift -= _OCTAVE if shift > _HIGHEST_STANDARD_SEMITONES else 0
        return tuple(pitch + shift for pitch in usual)
    return tuple(pitch - words.semitones_down for pitch in usual)


def _dropped(name: str, usual: Sequence[int], semitones_down: int) -> tuple[int, ...]:
    """Tune the lowest string to a name, and the others so that the next one is a fifth above.

    All move together: drop C is drop D a whole step lower (common practice). Words such as `half
    step down` count only beside drop D; beside another name they explain it.

    >>> [pitch_name(pitch) for pitch in _dropped("C", (40, 45, 50, 55, 59, 64), 0)]
    ['C2', 'G2', 'C3', 'F3', 'A3', 'D4']
    """
    lowest = usual[0] - (usual[0] - _pc(name)) % _OCTAVE
    if name == "D":
        lowest -= semitones_down
    shift = lowest + _FIFTH - usual[1]
    return (lowest, *(pitch + shift for pitch in usual[1:]))
