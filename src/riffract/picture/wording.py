"""Short words for the picture: lengths of time and single notes."""

from collections.abc import Mapping, Sequence
from fractions import Fraction

from riffract.analysis.saying import say
from riffract.analysis.spelling import pitch_spelled
from riffract.analysis.wording import NOTE_VALUES, NoteValue, counted, note_value_for
from riffract.music import Metre


def length_words(quarters: Fraction) -> str:
    """Say how long, in the largest note value that measures it exactly.

    >>> length_words(Fraction(1, 2)), length_words(Fraction(3, 4)), length_words(Fraction(2, 3))
    ('one eighth', 'three sixteenths', 'two triplet eighths')
    """
    for value in NOTE_VALUES:
        if (quarters / value.quarters).denominator == 1:
            return counted(int(quarters / value.quarters), value.name)
    return say("{number} quarters", number=f"{float(quarters):.2f}")


def length_count(quarters: Fraction) -> str:
    """Say how long with a figure, for places where room is short.

    >>> length_count(Fraction(1, 2)), length_count(Fraction(3, 4))
    ('1 eighth', '3 sixteenths')
    """
    for value in NOTE_VALUES:
        if (quarters / value.quarters).denominator == 1:
            return value.counted_in(quarters)
    return say("{number} quarters", number=f"{float(quarters):.2f}")


def change_words(expected: Sequence[int], found: Sequence[int], names: Mapping[int, str]) -> str:
    """Say which pitches stand in place of which, as MIDI pitches; octaves only if they tell.

    >>> names = {9: "A", 11: "B", 2: "D"}
    >>> change_words([45, 50], [47, 50], names), change_words([45], [57], names)
    ('B, not A', 'A3, not A2')
    >>> change_words([45, 50], [45], names)
    'without D'
    """
    lost = [pitch for pitch in expected if pitch not in found]
    new = [pitch for pitch in found if pitch not in expected]
    if len(lost) == len(new) == 1:
        if lost[0] % 12 == new[0] % 12:
            now, then = pitch_spelled(new[0], names), pitch_spelled(lost[0], names)
            return say("{now}, not {then}", now=now, then=then)
        return say("{now}, not {then}", now=names[new[0] % 12], then=names[lost[0] % 12])
    if len(new) == 1 and not lost:
        return say("with {note}", note=names[new[0] % 12])
    if len(lost) == 1 and not new:
        return say("without {note}", note=names[lost[0] % 12])
    return say("other notes")


def lengths_alike(lengths: Sequence[Fraction], metre: Metre) -> list[str]:
    """Write lengths with figures in one note value, so that they can be compared.

    It is the metre's unit, a shorter one if that does not measure them all, and the nearest
    sixteenth if none does.

    >>> six = Metre(groups=(6,), unit=8)
    >>> lengths_alike([Fraction(3), Fraction(2)], six), lengths_alike([Fraction(7, 4)], six)
    (['6 eighths', '4 eighths'], ['7 sixteenths'])
    """
    value = note_value_for(lengths, metre) or NoteValue(Fraction(1, 4), "sixteenth")
    return [value.counted_in(length) for length in lengths]


def each_way(reach_quarters: Fraction, metre: Metre) -> str:
    """Say how far a mirror holds to both sides of its axis.

    >>> each_way(Fraction(3), Metre(groups=(6,), unit=8))
    '6 eighths each way'
    """
    return say("{length} each way", length=lengths_alike([reach_quarters], metre)[0])
