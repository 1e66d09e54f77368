"""What mirrors what, around which point, how far does it go, and where does it bend?

Kinds of mirror, each asked of the passage on its own:

- `rhythm`: the row of note values, rests among them, reads the same backwards;
- `retrograde`: the pitches of the attacks come back in reverse; their pace may differ;
- `inversion`: a stretch of the moving voice comes back upside down, in the same order;
- `retrograde_inversion`: the intervals of the moving voice come back in reverse, signs kept;
- `weight`: the lowest open string falls at equal distances on both sides;
- `gesture`: a fall answers a climb (or a climb a fall), note by note, at another pace.

An axis of attacks stands where their onsets mirror: on an attack, or midway between two. Where
values and not onsets mirror (long short | short long), it stands where the values meet.
"""

from collections.abc import Sequence

from riffract.analysis.attacks import Attack
from riffract.analysis.finding import (
    Gesture,
)
from riffract.analysis.mirror_finding import ReorderableMirror
from riffract.analysis.mirror_in_pitch import inversion_mirrors, retrograde_inversion_mirrors
from riffract.analysis.mirror_in_time import retrograde_mirrors, rhythm_mirrors, weight_mirrors
from riffract.analysis.mirror_of_limbs import gesture_mirrors
from riffract.analysis.mirror_rows import attack_items, voice_items
from riffract.music import Passage


def find_mirrors(
    passage: Passage,
    attacks: Sequence[Attack],
    lead: Sequence[int],
    anchors: frozenset[int],
    gesture: Gesture | None,
) -> tuple[ReorderableMirror, ...]:
    """Find the mirrors of a passage, of all kinds.

    Args:
        passage: the passage.
        attacks: its attacks.
        lead: indices of the moving voice's notes.
        anchors: indices of the notes on the lowest open string.
        gesture: the shape of the moving voice, if there is one.

    Returns:
        By kind; within a kind the one with most evidence first; further ones only if they have
        at least 60 % of its evidence and stand elsewhere.
    """
    tested: list[ReorderableMirror] = []
    tested += rhythm_mirrors(passage, attacks)
    everything = attack_items(passage, attacks)
    voice = voice_items(passage, attacks, lead)
    tested += retrograde_mirrors(passage, everything, "all strings")
    if [item.attack for item in voice] != [item.attack for item in everything] or any(
        len(item.content.pitches) > 1 for item in everything
    ):
        tested += retrograde_mirrors(passage, voice, "the moving voice")
    tested += inversion_mirrors(passage, voice)
    tested += retrograde_inversion_mirrors(passage, voice)
    tested += weight_mirrors(passage, attacks, anchors)
    if gesture is not None:
        tested += gesture_mirrors(passage, voice, gesture)
    return tuple(tested)
