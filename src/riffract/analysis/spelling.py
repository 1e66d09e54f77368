"""Letters for pitch classes: one spelling for all that a finding names."""

from collections.abc import Iterable, Mapping, Sequence
from itertools import product

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


def spelled(pcs: Iterable[int]) -> Mapping[int, str]:
    """Spell pitch classes so that they fit together.

    Definition: no letter serves more than two of them; of the spellings left, the one whose names
    lie closest together on the line of fifths (least variance), since music that belongs together
    does; flats if two are as good. White keys keep their plain names.

    Args:
        pcs: pitch classes; octaves and doublings do not matter.

    Returns:
        Names with the music signs, by pitch class.

    Source: Temperley, The Cognition of Basic Musical Structures (2001), on the line of fifths,
    from memory; reduced to the twelve names that a fretboard needs.

    >>> " ".join(spelled([2, 4, 5, 7, 9, 10, 1]).values())
    'C♯ D E F G A B♭'
    """
    members = sorted({pc % 12 for pc in pcs})
    choices = [_BLACK.get(pc) or (_WHITE[pc],) for pc in members]
    names = min(product(*choices), key=_awkwardness, default=())
    return dict(zip(members, names, strict=True))


def _awkwardness(names: tuple[str, ...]) -> tuple[int, int, int]:
    letters = [name[0] for name in names]
    crowded = sum(max(letters.count(letter) - 2, 0) for letter in set(letters))
    places = [_PLACES[name] for name in names]
    # The variance times the number of names squared, which stays a whole number.
    spread = len(places) * sum(place * place for place in places) - sum(places) ** 2
    return crowded, spread, sum(name.endswith("♯") for name in names)


def twelve_names(pcs: Iterable[int]) -> Mapping[int, str]:
    """Name all twelve pitch classes so that they fit those of a passage.

    Definition: those that occur are `spelled` together; of the others each takes the name that lies
    closer to their middle on the line of fifths. All findings of a passage share these names.

    >>> " ".join(twelve_names([2, 4, 6, 7, 9, 11, 1]).values())
    'C C♯ D D♯ E F F♯ G G♯ A B♭ B'
    """
    occurring = spelled(pcs)
    places = [_PLACES[name] for name in occurring.values()] or [_PLACES["D"]]
    middle = sum(places) / len(places)
    others = {
        pc: min(_BLACK.get(pc) or (_WHITE[pc],), key=lambda name: abs(_PLACES[name] - middle))
        for pc in range(12)
    }
    return {pc: occurring.get(pc, others[pc]) for pc in range(12)}


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
