"""The tones that an amplifier puts below what is played."""

from collections.abc import Set as AbstractSet
from math import ceil, floor, log2


def undertones(struck: AbstractSet[int], sounding: AbstractSet[int]) -> set[int]:
    """List where an amplifier puts tones below what is struck.

    Definition: an octave below each sounding pitch, and what each struck one is mixed to with the
    others that sound (`mixtures`).

    >>> sorted(undertones({52, 61}, {52, 61}))
    [32, 33, 40, 45, 46, 49]
    """
    found = {pitch - 12 for pitch in sounding}
    return found.union(*(mixtures(pitch, sounding - {pitch}) for pitch in struck))


def mixtures(pitch: int, others: AbstractSet[int]) -> set[int]:
    """List where an amplifier puts tones that are not there without a pitch.

    Definition: an octave below it; for it and each other one, of frequencies f < g, the two pitches
    next to g - f and to 2f - g.

    Source: intermodulation of the second and third order, common practice.

    >>> sorted(mixtures(62, {55}))
    [42, 43, 44, 50]
    """
    found = {pitch - 12}
    for other in others:
        low, high = sorted((2.0 ** (pitch / 12.0), 2.0 ** (other / 12.0)))
        for tone in (high - low, 2.0 * low - high):
            if tone > 0.0:
                found |= {floor(12.0 * log2(tone)), ceil(12.0 * log2(tone))}
    return found
