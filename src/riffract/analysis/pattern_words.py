"""A pattern in words."""

from collections.abc import Mapping
from typing import Final

from riffract.analysis.what.pattern import Pattern, PatternOccurrence
from riffract.analysis.wording import counted, in_words, listed, percent, signed
from riffract.music import Passage

_MOST_PLACES_NAMED: Final = 4
"""Places that a sentence names; the others are counted, since a longer list is not read."""


def pattern_sentence(passage: Passage, what: Pattern) -> str:
    """Tell a pattern in one plain sentence."""
    who = "A figure" if what.space == "onset_pitch" else "A hand shape"
    first, *others = what.occurrences
    named = [f"{passage.place(first.span.start_quarters)}{_lacks(first)}"]
    named += [
        f"{passage.place(one.span.start_quarters)}, {_moved(what, one)}{_lacks(one)}"
        for one in others[: _MOST_PLACES_NAMED - 1]
    ]
    left = len(what.occurrences) - len(named)
    if left:
        named.append(counted(left, "more place"))
    size = counted(len(what.vectors), "note")
    places = counted(len(what.occurrences), "place")
    return f"{who} of {size} stands in {places}: {'; '.join(named)}."


def _moved(what: Pattern, one: PatternOccurrence) -> str:
    if not any(one.shift):
        return "unchanged"
    if what.space == "onset_pitch":
        (semitones,) = one.shift
        return f"{counted(abs(semitones), 'semitone')} {'up' if semitones > 0 else 'down'}"
    strings, frets = one.shift
    moves = []
    if frets:
        moves.append(f"{counted(abs(frets), 'fret')} {'up' if frets > 0 else 'down'}")
    if strings:
        moves.append(f"{counted(abs(strings), 'string')} {'lower' if strings > 0 else 'higher'}")
    return listed(moves)


def _lacks(one: PatternOccurrence) -> str:
    return f" (without {in_words(len(one.missing))} of its notes)" if one.missing else ""


def pattern_detail(what: Pattern, measures: Mapping[str, float]) -> str:
    """Tell a pattern in the terms of the field."""
    space = "onset and pitch" if what.space == "onset_pitch" else "onset, string and fret"
    moves = "; ".join(
        f"{float(one.shift_quarters):g} q, {' / '.join(signed(part) for part in one.shift)}"
        for one in what.occurrences
    )
    exact = int(measures["exact_occurrences"])
    return (
        f"Translational pattern in {space}: {counted(len(what.vectors), 'point')}, "
        f"{counted(len(what.occurrences), 'occurrence')} ({exact} exact), moved by {moves}. "
        f"Compression ratio {measures['compression_ratio']:.2f}, compactness "
        f"{measures['compactness']:.2f}; it saves {measures['saved_bits']:.0f} bits, "
        f"{percent(measures['saved_share'])} of what is not said by the passes. With steps in "
        f"another order, a description so much shorter has p ≤ {measures['chance_p']:.2g}."
    )
