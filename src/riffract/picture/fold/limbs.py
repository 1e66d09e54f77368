"""The limbs of a fold: which notes stand for them, how long, and where the mirror is between."""

from collections import Counter
from collections.abc import Sequence
from fractions import Fraction
from typing import Final

from riffract.analysis.finding import Mirror
from riffract.music import NoteTable, Span
from riffract.picture.string_mark import Posture
from riffract.picture.voices import Voices

STRAIGHT_WITHIN: Final = 0.05
"""A pace this close to 1 is even."""

ON_TIME_QUARTERS: Final = Fraction(1, 8)
"""Partners off by less are level: a thirty-second, less than is read off a picture."""


def is_even(notes: NoteTable, mirror: Mirror) -> bool:
    """Tell whether a limb turned around at its own pace meets most of its partners in time.

    Both limbs may last equally long, and yet one of them hurry first and the other one last.
    """
    if abs(mirror.scale - 1.0) > STRAIGHT_WITHIN:
        return False
    axis = mirror_quarters(notes, mirror, is_even=True)
    off = [abs(middle - axis) for middle in _middles(notes, mirror)]
    return not off or 2 * sum(one <= ON_TIME_QUARTERS for one in off) >= len(off)


def mirror_quarters(notes: NoteTable, mirror: Mirror, *, is_even: bool) -> Fraction:
    """Tell where the mirror stands: midway between the middles of most partners.

    Of several such places the one nearest to the axis counts. A mirror that bends starts in the gap
    between the nearest partners instead; that of passes stands where it was found.
    """
    if not mirror.pairs or mirror.of == "passes":
        return mirror.axis_quarters
    if not is_even:
        left, right = notes[mirror.pairs[0].left], notes[mirror.pairs[0].right]
        return (min(left.end_quarters, right.onset_quarters) + right.onset_quarters) / 2
    return Counter(_middles(notes, mirror)).most_common(1)[0][0]


def _middles(notes: NoteTable, mirror: Mirror) -> list[Fraction]:
    """Give the moments midway between the middles of partners, from the axis outwards."""
    pairs = [(notes[pair.left], notes[pair.right]) for pair in mirror.pairs]
    return [
        (a.onset_quarters + a.end_quarters + b.onset_quarters + b.end_quarters) / 4
        for a, b in pairs
    ]


def limb_notes(voices: Voices, mirror: Mirror, span: Span, paired: Sequence[int]) -> list[int]:
    """Choose what stands for a limb: its partners, and the moving voice between them.

    For the rhythm that is one note of each attack, for the weight the lowest open string, for
    passes the first note of each.
    """
    known = set(paired)
    found = set(known)
    for attack in voices.attacks:
        if not span.holds(attack.onset_quarters) or known.intersection(attack.notes):
            continue
        lead = [i for i in attack.notes if i in voices.lead]
        anchors = [i for i in attack.notes if voices.postures[i] is Posture.ANCHORS]
        if mirror.of == "passes":
            continue
        if mirror.of == "weight":
            found.update(anchors[:1])
        elif mirror.of == "rhythm":
            found.update((lead or list(attack.notes))[:1])
        else:
            found.update(lead[:1])
    return sorted(found)


def lengths_stood_for(voices: Voices, mirror: Mirror) -> dict[int, Fraction]:
    """Tell how long a note lasts that stands for more: for its attack, or for a whole pass.

    So does the stroke of a string that rings on: else its image would lie over all others. A pass
    lasts until the next one starts; the innermost of the left limb as far from the axis as that of
    the right limb starts behind it.
    """
    if mirror.of == "rhythm":
        return {note: attack.value_quarters for attack in voices.attacks for note in attack.notes}
    if mirror.of != "passes":
        ringing = voices.ringing_notes
        return {i: a.value_quarters for a in voices.attacks for i in a.notes if i in ringing}
    starts = {note: a.onset_quarters for a in voices.attacks for note in a.notes}
    left = sorted((pair.left for pair in mirror.pairs), key=lambda note: starts[note])
    right = sorted((pair.right for pair in mirror.pairs), key=lambda note: starts[note])
    ends = [2 * mirror.axis_quarters - starts[right[0]], mirror.right.end_quarters]
    return {
        note: end - starts[note]
        for limb, last in zip((left, right), ends, strict=True)
        for note, end in zip(limb, [*(starts[n] for n in limb[1:]), last], strict=True)
    }
