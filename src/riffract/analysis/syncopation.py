"""How strong each place of a bar is, and how much an attack pulls against that."""

from collections.abc import Sequence
from fractions import Fraction

from riffract.music import Metre

_LARGEST_FINE_DENOMINATOR = 64


def place_weight(metre: Metre, place_quarters: Fraction) -> int:
    """Tell how strong a place in the bar is: 0 for its start, less for every finer division.

    Definition: the bar divides into its groups, and a group into units. Where no grouping is
    stated the beats divide by twos as long as they can, so that the middle of 4/4 is stronger than
    its second beat. Below the unit every halving costs one more; so does a division by three.

    Args:
        metre: of the bar.
        place_quarters: from its start, in [0, length of the bar).

    Source: Longuet-Higgins & Lee, Music Perception 1/4 (1984), 424-441 (from memory), whose tree
    for 4/4 this gives; stated groupings take the place of equal division.

    >>> four = Metre(groups=(4,), unit=4)
    >>> [place_weight(four, Fraction(k, 2)) for k in range(8)]
    [0, -3, -2, -3, -1, -3, -2, -3]
    >>> eleven = Metre(groups=(3, 3, 3, 2), unit=8)
    >>> [place_weight(eleven, Fraction(k, 2)) for k in range(11)]
    [0, -2, -2, -1, -2, -2, -1, -2, -2, -1, -2]
    """
    places = place_quarters / metre.unit_quarters
    if places.denominator > 1:
        finest = place_weight_of_units(metre)
        return finest - min(places.denominator, _LARGEST_FINE_DENOMINATOR).bit_length() + 1
    for depth, starts in enumerate(_levels(metre)):
        if int(places) in starts:
            return -depth
    return place_weight_of_units(metre)


def place_weight_of_units(metre: Metre) -> int:
    """Tell the weight of the weakest units of a bar."""
    levels = _levels(metre)
    return 1 - len(levels) if len(levels[-1]) == metre.units else -len(levels)


def _levels(metre: Metre) -> list[set[int]]:
    """The places of each level in units, the bar line first."""
    starts = [sum(metre.beats[:k]) for k in range(len(metre.beats))]
    if len(metre.groups) > 1:
        return [{0}, set(starts)]
    levels = [{0}]
    stride = len(starts)
    while stride > 1:
        stride = stride // 2 if stride % 2 == 0 else 1
        levels.append(set(starts[::stride]))
    return levels


def syncopation(
    metre: Metre, places_quarters: Sequence[Fraction], next_quarters: Sequence[Fraction]
) -> tuple[int, ...]:
    """Tell for each attack how much stronger the strongest place is that it is held across.

    Definition: an attack of weight a, followed by no other one until after a place of weight b,
    is syncopated by b - a if that is more than 0. The places looked at are those of the units.

    Args:
        metre: of all bars.
        places_quarters: where each attack falls in its bar.
        next_quarters: where the next attack falls, from the start of the same bar.

    Returns:
        In the order given; 0 where nothing is held across.

    Source: Longuet-Higgins & Lee (1984), as in `place_weight`.

    >>> four = Metre(groups=(4,), unit=4)
    >>> held = [(Fraction(0), Fraction(1)), (Fraction(1), Fraction(3)), (Fraction(3), Fraction(4))]
    >>> syncopation(four, [a for a, _ in held], [b for _, b in held])
    (0, 1, 0)
    """
    return tuple(
        _held_across(metre, place, after)
        for place, after in zip(places_quarters, next_quarters, strict=True)
    )


def _held_across(metre: Metre, place: Fraction, after: Fraction) -> int:
    unit = metre.unit_quarters
    own = place_weight(metre, place)
    first = int(place / unit) + 1
    # Beyond a whole bar every place has been passed once.
    last = min(-int(-after // unit), first + metre.units)
    passed = [place_weight(metre, Fraction(k % metre.units) * unit) for k in range(first, last)]
    return max(max(passed, default=own) - own, 0)
