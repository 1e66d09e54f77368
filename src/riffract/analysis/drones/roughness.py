"""How rough two tones are together: beats between partials that lie close but apart.

Both models are of clean partials. Distortion makes further partials and difference tones after the
string, so that under much gain a fifth with a ringing string is rougher than they say.
"""

from collections.abc import Callable, Sequence
from functools import cache
from itertools import combinations, product
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.music.notes import NO_PITCH

Floats = NDArray[np.float64]

Model = Callable[[Floats, Floats, Floats, Floats], Floats]
"""Roughness of pure tones, from two frequencies and two amplitudes."""

PARTIALS: Final = 6
"""Of a plucked string these carry most of the sound; with four or eight the order of the intervals
stays as it is."""

DECAY: Final = 0.88
"""Amplitude of each partial over that of the one below it, as in the published examples."""


def sethares(f1_hz: Floats, f2_hz: Floats, a1: Floats, a2: Floats) -> Floats:
    """Give the roughness of pairs of pure tones.

    Definition: a_1 a_2 [exp(-3.5 s x) - exp(-5.75 s x)] with x = |f_2 - f_1| and
    s = 0.24 / (0.0207 min(f_1, f_2) + 18.96).

    Args:
        f1_hz: frequencies of the one tone; any shapes that fit together.
        f2_hz: of the other.
        a1: amplitudes of the one tone.
        a2: of the other.

    Source: Sethares, JASA 94/3 (1993), 1218-1228; the constants from memory.

    >>> one = np.array(1.0)
    >>> round(float(sethares(np.array(440.0), np.array(466.1638), one, one)), 4)
    0.1808
    """
    roughness: Floats = a1 * a2 * _bracket(f1_hz, f2_hz)
    return roughness


def vassilakis(f1_hz: Floats, f2_hz: Floats, a1: Floats, a2: Floats) -> Floats:
    """Give the roughness of pairs of pure tones, with the depth of their beats.

    Definition: (a_1 a_2)^0.1 / 2 (2 min(a_1, a_2) / (a_1 + a_2))^3.11 times the bracket of
    `sethares`.

    Args:
        f1_hz: frequencies of the one tone; any shapes that fit together.
        f2_hz: of the other.
        a1: amplitudes, above 0, of the one tone.
        a2: of the other.

    Source: Vassilakis, dissertation, UCLA (2001), from memory.

    >>> one = np.array(1.0)
    >>> round(float(vassilakis(np.array(440.0), np.array(466.1638), one, one)), 4)
    0.0904
    """
    depth = (2 * np.minimum(a1, a2) / (a1 + a2)) ** 3.11
    roughness: Floats = (a1 * a2) ** 0.1 * 0.5 * depth * _bracket(f1_hz, f2_hz)
    return roughness


def _bracket(f1_hz: Floats, f2_hz: Floats) -> Floats:
    apart = np.abs(f2_hz - f1_hz)
    scale = 0.24 / (0.0207 * np.minimum(f1_hz, f2_hz) + 18.96)
    bracket: Floats = np.exp(-3.5 * scale * apart) - np.exp(-5.75 * scale * apart)
    return bracket


def roughness_between(a_pitch: int, b_pitch: int, model: Model = sethares) -> float:
    """Give the roughness between the partials of two notes, those within each left aside.

    Definition: the model, added up over all pairs of a partial of the one and a partial of the
    other, six each, whose amplitudes fall by 0.88. What is rough depends on the register: deep
    down a whole tone is rougher than a semitone.

    >>> high = [roughness_between(69, 69 + n) for n in range(1, 8)]
    >>> low = [roughness_between(35, 35 + n) for n in range(1, 8)]
    >>> high.index(max(high)) + 1, low.index(max(low)) + 1
    (1, 2)
    """
    return float(_between(model)[a_pitch, b_pitch])


def roughness_of(pitches: Sequence[int], model: Model = sethares) -> float:
    """Give the roughness of notes that sound together: of each by itself, and of each pair.

    >>> round(roughness_of((45, 46)), 4), roughness_of(())
    (0.8125, 0.0)
    """
    between, alone = _between(model), _alone(model)
    pairs = [float(between[a, b]) for k, a in enumerate(pitches) for b in pitches[:k]]
    return float(sum(pairs) + sum(float(alone[pitch]) for pitch in pitches))


def roughness_of_rows(pitches: NDArray[np.int64], model: Model = sethares) -> Floats:
    """Give `roughness_of` each row of pitches; `NO_PITCH` where a string is silent.

    Args:
        pitches: MIDI pitches or `NO_PITCH`. Shape: (rows, strings).
        model: of pure tones.

    Returns:
        Shape: (rows,).
    """
    between, alone = _between(model), _alone(model)
    # In one order whatever the strings, so that the last digits are the same as well.
    pitches = np.sort(pitches, axis=1)
    sounds = pitches != NO_PITCH
    placed = np.where(sounds, pitches, 0)
    rough: Floats = (alone[placed] * sounds).sum(axis=1)
    for a in range(pitches.shape[1]):
        for b in range(a):
            rough += between[placed[:, a], placed[:, b]] * (sounds[:, a] & sounds[:, b])
    return rough


@cache
def _between(model: Model) -> Floats:
    """Tabulate the roughness between two notes. Shape: (128, 128) MIDI pitches."""
    partials, amplitudes = _partials()
    table = np.zeros((128, 128))
    for k, j in product(range(PARTIALS), repeat=2):
        table += model(partials[:, [k]], partials[:, j], amplitudes[k], amplitudes[j])
    table.setflags(write=False)
    return table


@cache
def _alone(model: Model) -> Floats:
    """Tabulate the roughness within one note. Shape: (128,) MIDI pitches."""
    partials, amplitudes = _partials()
    within = np.zeros(128)
    for k, j in combinations(range(PARTIALS), 2):
        within += model(partials[:, k], partials[:, j], amplitudes[k], amplitudes[j])
    within.setflags(write=False)
    return within


def _partials() -> tuple[Floats, Floats]:
    fundamentals = 440.0 * 2.0 ** ((np.arange(128) - 69) / 12)
    number = np.arange(1, PARTIALS + 1)
    return fundamentals[:, np.newaxis] * number, np.power(DECAY, number - 1.0)
