"""In how many places on the neck the passes of a riff are played."""

from collections.abc import Mapping, Sequence
from typing import Final

from riffract.analysis.attacks import Attack
from riffract.analysis.finding import Reading
from riffract.music import Passage, Proposed

ALIKE_SHARE: Final = 0.5
"""Two passes are played in one place if at least so many of their attacks lie alike: a hand that
takes one note elsewhere has not moved."""

Places = tuple[tuple[int, int], ...]


def neck_places(passage: Passage, attacks: Sequence[Attack], reading: Reading) -> int:
    """Count the places on the neck where a riff is played.

    Definition: each pass joins the first earlier place of which at least half of its attacks are
    stopped on the same strings at the same frets; a pass that joins none is a new place.

    Args:
        passage: the passage.
        attacks: all its attacks.
        reading: the riff.

    Returns:
        At least 1; 1 if the strings and frets are not the writer's.
    """
    if Proposed.FINGERING in passage.proposed:
        return 1
    known: list[dict[int, Places]] = []
    for one in reading.passes:
        own = {place: _places(passage, attacks[attack]) for place, attack in one.pairs}
        if not any(_lie_alike(own, other) for other in known):
            known.append(own)
    return max(len(known), 1)


def _places(passage: Passage, attack: Attack) -> Places:
    notes = passage.notes
    return tuple(sorted((int(notes.string[i]), int(notes.fret[i])) for i in attack.notes))


def _lie_alike(own: Mapping[int, Places], other: Mapping[int, Places]) -> bool:
    both = own.keys() & other.keys()
    return sum(own[k] == other[k] for k in both) >= ALIKE_SHARE * len(both)
