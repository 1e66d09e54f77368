"""Short words for the picture: lengths of time and single notes."""

from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Final

from riffract.analysis.saying import in_digits, say, say_count
from riffract.analysis.spelling import pitch_spelled
from riffract.analysis.wording import NOTE_VALUES, NoteValue, counted, listed, note_value_for
from riffract.music import Metre

FEWEST_BARS: Final = 3
MOST_EIGHTHS, MOST_SHORT_VALUES = 24, 12
"""Longer than so many eighths, or sixteenths and shorter values, a length is told in quarters."""

_PARTS: Final = {Fraction(1, 4): "¼", Fraction(1, 2): "½", Fraction(3, 4): "¾"}


def length_words(quarters: Fraction) -> str:
    """Say how long, in the largest note value that measures it exactly; if long, in quarters.

    >>> length_words(Fraction(1, 2)), length_words(Fraction(3, 4)), length_words(Fraction(2, 3))
    ('one eighth', 'three sixteenths', 'two triplet eighths')
    >>> length_words(Fraction(15, 4)), length_words(Fraction(29, 8))
    ('3¾ quarters', 'three quarters and five thirty-seconds')
    """
    return _in_quarters(quarters) or listed(
        [counted(count, value.name) for count, value in _values(quarters)]
    )


def length_count(quarters: Fraction) -> str:
    """Say how long with a figure, for places where room is short.

    >>> length_count(Fraction(1, 2)), length_count(Fraction(3, 4)), length_count(Fraction(29, 8))
    ('1 eighth', '3 sixteenths', '3 quarters + 5 thirty-seconds')
    """
    return _in_quarters(quarters) or " + ".join(
        value.counted_in(count * value.quarters) for count, value in _values(quarters)
    )


def _values(quarters: Fraction) -> list[tuple[int, NoteValue]]:
    """Write a length as one note value so many times; a long one as quarters and a rest."""
    value = _measuring(quarters)
    if value is None:
        return []
    count = int(quarters / value.quarters)
    if not _is_long(count, value):
        return [(count, value)]
    rest = quarters % 1
    return [(int(quarters), NOTE_VALUES[0]), *_values(rest)]


def _in_quarters(quarters: Fraction) -> str:
    """Write a long length as quarters and a half, or what no value measures; else nothing."""
    value = _measuring(quarters)
    if value is None:
        return say("{number} quarters", number=in_digits(f"{float(quarters):.2f}"))
    has_part = quarters % 1 in _PARTS
    return (
        _with_part(quarters) if has_part and _is_long(int(quarters / value.quarters), value) else ""
    )


def _measuring(quarters: Fraction) -> NoteValue | None:
    values = (v for v in NOTE_VALUES if (quarters / v.quarters).denominator == 1)
    return next(values, None)


def _is_long(count: int, value: NoteValue) -> bool:
    if value.quarters >= 1:
        return False
    return count > (MOST_EIGHTHS if value.quarters == Fraction(1, 2) else MOST_SHORT_VALUES)


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
    return other_notes()


def other_notes() -> str:
    """Say that notes stand in place of others, which are too many to be named."""
    return say("other notes")


def lengths_alike(lengths: Sequence[Fraction], metre: Metre) -> list[str]:
    """Write lengths with figures in one note value, so that they can be compared.

    It is the metre's unit, a shorter one if that does not measure them all, and the nearest
    sixteenth if none does; the quarter where one of them would be told as too many shorter values.

    >>> six = Metre(groups=(6,), unit=8)
    >>> lengths_alike([Fraction(3), Fraction(2)], six), lengths_alike([Fraction(7, 4)], six)
    (['6 eighths', '4 eighths'], ['7 sixteenths'])
    >>> lengths_alike([Fraction(45, 4), Fraction(5, 2)], six)
    ['11¼ quarters', '2½ quarters']
    """
    value = note_value_for(lengths, metre) or NoteValue(Fraction(1, 4), "sixteenth")
    if any(_is_long(int(length / value.quarters), value) for length in lengths):
        return [_with_part(length) or length_count(length) for length in lengths]
    return [value.counted_in(length) for length in lengths]


def _with_part(quarters: Fraction) -> str:
    """Write a length as quarters and a half or a quarter of one, if that is exact."""
    if quarters.denominator == 1:
        return NOTE_VALUES[0].counted_in(quarters)
    part = _PARTS.get(quarters % 1, "")
    return say("{number} quarters", number=f"{int(quarters) or ''}{part}") if part else ""


def each_way(reach_quarters: Fraction, metre: Metre, *, is_steady: bool = False) -> str:
    """Say how far a mirror holds to both sides of its axis.

    Args:
        reach_quarters: so far.
        metre: that it starts in.
        is_steady: whether all bars are of this metre, so that whole bars can be counted.

    >>> each_way(Fraction(3), Metre(groups=(6,), unit=8))
    '6 eighths each way'
    >>> each_way(Fraction(12), Metre(groups=(6,), unit=8), is_steady=True)
    '4 bars each way'
    """
    bars = reach_quarters / metre.length_quarters
    length = lengths_alike([reach_quarters], metre)[0]
    if is_steady and bars.denominator == 1 and bars >= FEWEST_BARS:
        length = say_count(int(bars), "{count} bar", "{count} bars")
    return say("{length} each way", length=length)
