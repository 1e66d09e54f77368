"""Letters for pitch classes: one spelling for all that a finding names."""

from collections.abc import Iterable, Mapping
from itertools import product

_LINE_OF_FIFTHS = "G♭ D♭ A♭ E♭ B♭ F C G D A E B F♯ C♯ G♯ D♯ A♯"
_PLACES = {name: place for place, name in enumerate(_LINE_OF_FIFTHS.split())}
_WHITE = {0: "C", 2: "D", 4: "E", 5: "F", 7: "G", 9: "A", 11: "B"}
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


def pitch_spelled(pitch: int, names: Mapping[int, str]) -> str:
    """Name a MIDI pitch with its octave in a given spelling.

    >>> pitch_spelled(61, spelled([1, 5, 8]))
    'D♭4'
    """
    return f"{names[pitch % 12]}{pitch // 12 - 1}"
