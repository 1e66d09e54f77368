"""A pattern in words."""

from collections.abc import Mapping
from typing import Final

from riffract.analysis.saying import in_digits, say, say_count
from riffract.analysis.what.pattern import Pattern, PatternOccurrence
from riffract.analysis.wording import counted, in_words, listed, percent, place_in_words, signed
from riffract.music import Passage

_SPACES: Final = {
    "onset_pitch": "onset and pitch",
    "onset_string_fret": "onset, string and fret",
}

_MOST_PLACES_NAMED: Final = 4
"""Places that a sentence names; the others are counted, since a longer list is not read."""


def pattern_sentence(passage: Passage, what: Pattern) -> str:
    """Tell a pattern in one plain sentence."""
    first, *others = what.occurrences
    named = [f"{place_in_words(passage.place(first.span.start_quarters))}{_lacks(first)}"]
    named += [
        f"{place_in_words(passage.place(one.span.start_quarters))}, {_moved(what, one)}"
        f"{_lacks(one)}"
        for one in others[: _MOST_PLACES_NAMED - 1]
    ]
    left = len(what.occurrences) - len(named)
    if left:
        named.append(counted(left, "more place"))
    told = {
        "size": counted(len(what.vectors), "note"),
        "count": counted(len(what.occurrences), "place"),
        "places": "; ".join(named),
    }
    if what.space == "onset_pitch":
        return say("A figure of {size} stands in {count}: {places}.", **told)
    return say("A hand shape of {size} stands in {count}: {places}.", **told)


def _moved(what: Pattern, one: PatternOccurrence) -> str:
    if not any(one.shift):
        return say("unchanged")
    if what.space == "onset_pitch":
        (semitones,) = one.shift
        return _up_or_down(semitones, counted(abs(semitones), "semitone"))
    strings, frets = one.shift
    moves = []
    if frets:
        moves.append(_up_or_down(frets, counted(abs(frets), "fret")))
    if strings:
        count = counted(abs(strings), "string")
        moves.append(
            say("{count} lower", count=count) if strings > 0 else say("{count} higher", count=count)
        )
    return listed(moves)


def _up_or_down(steps: int, count: str) -> str:
    return say("{steps} up", steps=count) if steps > 0 else say("{steps} down", steps=count)


def _lacks(one: PatternOccurrence) -> str:
    if not one.missing:
        return ""
    count = len(one.missing)
    return say_count(
        count,
        " (without one of its notes)",
        " (without {number} of its notes)",
        number=in_words(count),
    )


def pattern_detail(what: Pattern, measures: Mapping[str, float]) -> str:
    """Tell a pattern in the terms of the field."""
    moves = "; ".join(
        say(
            "{quarters} q, {shift}",
            quarters=in_digits(f"{float(one.shift_quarters):g}"),
            shift=" / ".join(signed(part) for part in one.shift),
        )
        for one in what.occurrences
    )
    return say(
        "Translational pattern in {space}: {points}, {occurrences} ({exact} exact), moved by "
        "{moves}. Compression ratio {ratio}, compactness {compactness}; it saves {bits} bits, "
        "{share} of what is not said by the passes. With steps in another order, a description so "
        "much shorter has p ≤ {p}.",
        space=say(_SPACES[what.space]),
        points=counted(len(what.vectors), "point"),
        occurrences=counted(len(what.occurrences), "occurrence"),
        exact=int(measures["exact_occurrences"]),
        moves=moves,
        ratio=in_digits(f"{measures['compression_ratio']:.2f}"),
        compactness=in_digits(f"{measures['compactness']:.2f}"),
        bits=f"{measures['saved_bits']:.0f}",
        share=percent(measures["saved_share"]),
        p=in_digits(f"{measures['chance_p']:.2g}"),
    )
