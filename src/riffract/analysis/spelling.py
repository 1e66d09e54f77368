"""Letters for pitch classes: one spelling for all that a finding names."""

from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction
from itertools import product
from types import MappingProxyType
from typing import Final

from riffract.analysis.saying import say
from riffract.music import Passage

_LINE_OF_FIFTHS = "G♭ D♭ A♭ E♭ B♭ F C G D A E B F♯ C♯ G♯ D♯ A♯"
_PLACES = {name: place for place, name in enumerate(_LINE_OF_FIFTHS.split())}
_WHITE = {0: "C", 2: "D", 4: "E", 5: "F", 7: "G", 9: "A", 11: "B"}
_LETTERS = tuple(_WHITE.items())
_SIGNS = {-1: "♭", 0: "", 1: "♯"}
_BLACK = {
    1: ("D♭", "C♯"),
    3: ("E♭", "D♯"),
    6: ("G♭", "F♯"),
    8: ("A♭", "G♯"),
    10: ("B♭", "A♯"),
}
_NOTHING: Final[Mapping[int, str]] = MappingProxyType({})


def spelled(pcs: Iterable[int], said: Mapping[int, str] = _NOTHING) -> Mapping[int, str]:
    """Spell pitch classes so that they fit together.

    Definition: no letter serves more than two of them; of the spellings left, the one whose names
    lie closest together on the line of fifths (least variance), since music that belongs together
    does; flats if two are as good. White keys keep their plain names.

    Args:
        pcs: pitch classes; octaves and doublings do not matter.
        said: names that are given, by pitch class; the others fit themselves to them.

    Returns:
        Names with the music signs, by pitch class.

    Source: Temperley, The Cognition of Basic Musical Structures (2001), on the line of fifths,
    from memory; reduced to the twelve names that a fretboard needs.

    >>> " ".join(spelled([2, 4, 5, 7, 9, 10, 1]).values())
    'C♯ D E F G A B♭'
    """
    members = sorted({pc % 12 for pc in pcs})
    choices = [(said[pc],) if pc in said else _choices(pc) for pc in members]
    names = min(product(*choices), key=_awkwardness, default=())
    return dict(zip(members, names, strict=True))


def _choices(pc: int) -> tuple[str, ...]:
    return _BLACK.get(pc) or (_WHITE[pc],)


def _awkwardness(names: tuple[str, ...]) -> tuple[int, int, int]:
    letters = [name[0] for name in names]
    crowded = sum(max(letters.count(letter) - 2, 0) for letter in set(letters))
    places = [_PLACES[name] for name in names]
    # The variance times the number of names squared, which stays a whole number.
    spread = len(places) * sum(place * place for place in places) - sum(places) ** 2
    return crowded, spread, sum(name.endswith("♯") for name in names)


def twelve_names(pcs: Iterable[int], said: Mapping[int, str] = _NOTHING) -> Mapping[int, str]:
    """Name all twelve pitch classes so that they fit those of a passage.

    Definition: those that occur are `spelled` together; of the others each takes the name that lies
    closer to their middle on the line of fifths. What is said already keeps its name. All findings
    of a passage share these names.

    >>> " ".join(twelve_names([2, 4, 6, 7, 9, 11, 1]).values())
    'C C♯ D D♯ E F F♯ G G♯ A B♭ B'
    """
    occurring = spelled(pcs, said)
    places = [_PLACES[name] for name in occurring.values()] or [_PLACES["D"]]
    middle = sum(places) / len(places)
    others = {
        pc: min(_choices(pc), key=lambda name: abs(_PLACES[name] - middle)) for pc in range(12)
    }
    return {**others, **said, **occurring}


def names_in(passage: Passage) -> Mapping[int, str]:
    """Name all twelve pitch classes as a passage names them: its findings, words and pictures.

    Open strings are called what players call them, and the other notes fit themselves to that.
    """
    notes = passage.notes
    return twelve_names(notes.pitch[notes.is_pitched].tolist(), passage.tuning.string_names())


def scale_names(pcs: Iterable[int], names: Mapping[int, str]) -> Mapping[int, str]:
    """Name the members of a scale: seven of them take a letter each.

    Definition: of the seven rows of letters, one for each letter that the lowest member may have,
    the one with the fewest accidentals; of two as good the one that keeps more of the names given.
    A scale with another number of members, or one that would need double accidentals, keeps the
    names given.

    Args:
        pcs: the members.
        names: the names of all twelve in this passage.

    Returns:
        All twelve names, the scale's own in them.

    Source: common practice.

    >>> flats = twelve_names([1, 3, 5, 8, 10])
    >>> named = scale_names([7, 9, 11, 0, 2, 4, 6], flats)
    >>> " ".join(named[pc] for pc in (7, 9, 11, 0, 2, 4, 6))
    'G A B C D E F♯'
    >>> named = scale_names([6, 8, 10, 11, 1, 3, 5], flats)
    >>> " ".join(named[pc] for pc in (6, 8, 10, 11, 1, 3, 5))
    'G♭ A♭ B♭ C♭ D♭ E♭ F'
    """
    members = sorted({pc % 12 for pc in pcs})
    if len(members) != len(_LETTERS):
        return names
    rows = [_row(members, first) for first in range(len(_LETTERS))]
    fitting = [row for row in rows if row is not None]
    if not fitting:
        return names

    def cost(row: tuple[str, ...]) -> tuple[int, int]:
        accidentals = sum(len(name) - 1 for name in row)
        return accidentals, sum(names[pc] != name for pc, name in zip(members, row, strict=True))

    best = min(fitting, key=cost)
    return {**names, **dict(zip(members, best, strict=True))}


def _row(members: Sequence[int], first: int) -> tuple[str, ...] | None:
    """Write rising pitch classes with letters in a row; `None` if one needs two accidentals."""
    row = []
    for step, pc in enumerate(members):
        white, letter = _LETTERS[(first + step) % len(_LETTERS)]
        sign = _SIGNS.get((pc - white + 6) % 12 - 6)
        if sign is None:
            return None
        row.append(letter + sign)
    return tuple(row)


def pitch_spelled(pitch: int, names: Mapping[int, str]) -> str:
    """Name a MIDI pitch with its octave in a given spelling.

    >>> pitch_spelled(61, spelled([1, 5, 8]))
    'D♭4'
    """
    return f"{names[pitch % 12]}{pitch // 12 - 1}"


def pitch_axis_spelled(axis_pitch: Fraction, names: Mapping[int, str]) -> str:
    """Name a MIDI pitch that notes are turned about, or what lies between two.

    Args:
        axis_pitch: a whole or a half one.
        names: of the twelve pitch classes.

    >>> names = spelled([9, 10])
    >>> pitch_axis_spelled(Fraction(57), names), pitch_axis_spelled(Fraction(115, 2), names)
    ('A3', 'the middle of A3 and B♭3')
    """
    below = int(axis_pitch)
    if axis_pitch.denominator == 1:
        return pitch_spelled(below, names)
    return say(
        "the middle of {below} and {above}",
        below=pitch_spelled(below, names),
        above=pitch_spelled(below + 1, names),
    )
