"""What is measured of a window's rhythm and texture.

The *values* of a window are the times from each attack to the next one in it.
"""

from typing import Final

import numpy as np

from riffract.weighing.comparing.measure import Measure, Unit, Values
from riffract.weighing.comparing.windows import Windows

COMMON: Final = "common practice"
OURS: Final = "ours"


def attacks_per_quarter(windows: Windows) -> Values:
    """Count attacks by time."""
    return np.asarray(windows.value_quarters.shape[1] / windows.value_quarters.sum(axis=1))


def distinct_values(windows: Windows) -> Values:
    """Count the different values."""
    ordered = np.sort(windows.value_id, axis=1)
    return np.asarray(1.0 + (np.diff(ordered, axis=1) > 0).sum(axis=1))


def commonest_value_share(windows: Windows) -> Values:
    """Find how much of the rhythm its commonest value makes up."""
    ordered = np.sort(windows.value_id, axis=1)
    count = ordered.shape[1]
    places = np.broadcast_to(np.arange(count), ordered.shape)
    is_new = np.concatenate(
        [np.ones((len(ordered), 1), dtype=np.bool_), np.diff(ordered, axis=1) > 0], axis=1
    )
    run_start = np.maximum.accumulate(np.where(is_new, places, 0), axis=1)
    return np.asarray((places - run_start + 1).max(axis=1) / count)


def npvi(windows: Windows) -> Values:
    """Measure how much neighbouring values contrast."""
    values = windows.value_quarters
    left, right = values[:, :-1], values[:, 1:]
    return np.asarray(100.0 * (np.abs(left - right) / ((left + right) / 2.0)).mean(axis=1))


def evenness(windows: Windows) -> Values:
    """Measure how evenly the attacks are spread over the window, taken as a circle."""
    values = windows.value_quarters
    count = values.shape[1]
    onsets = np.cumsum(values, axis=1) - values
    turns = onsets / values.sum(axis=1, keepdims=True) - np.arange(count) / count
    return np.asarray(np.abs(np.exp(2j * np.pi * turns).mean(axis=1)))


def off_beat_share(windows: Windows) -> Values:
    """Find how many attacks fall on no felt beat."""
    return np.asarray(1.0 - windows.is_on_beat.mean(axis=1))


def uneven_metre_share(windows: Windows) -> Values:
    """Find how many attacks stand in bars of an uneven metre."""
    return np.asarray(windows.is_in_uneven_bar.mean(axis=1))


def chord_share(windows: Windows) -> Values:
    """Find how many attacks strike several notes."""
    return np.asarray((windows.note_count > 1).mean(axis=1))


def notes_per_attack(windows: Windows) -> Values:
    """Count notes an attack."""
    return np.asarray(windows.note_count.mean(axis=1))


RHYTHM: Final = (
    Measure(
        name="attacks_per_quarter",
        unit=Unit.PER_QUARTER,
        phrase="the density of its attacks",
        definition="values in the window / quarters from its first attack to its last",
        source=COMMON,
        formula=attacks_per_quarter,
    ),
    Measure(
        name="distinct_values",
        unit=Unit.COUNT,
        phrase="the number of different note values",
        definition="how many different times from one attack to the next there are",
        source=COMMON,
        formula=distinct_values,
    ),
    Measure(
        name="commonest_value_share",
        unit=Unit.SHARE,
        phrase="the share of its commonest note value",
        definition="values equal to the most frequent one / all values",
        source=COMMON,
        formula=commonest_value_share,
    ),
    Measure(
        name="npvi",
        unit=Unit.NONE,
        phrase="the contrast of neighbouring note values",
        definition="100 × mean of |d_k - d_k+1| / ((d_k + d_k+1) / 2) over neighbouring values d",
        source="Grabe & Low (2002); Patel & Daniele, Cognition 87 (2003)",
        formula=npvi,
    ),
    Measure(
        name="evenness",
        unit=Unit.NONE,
        phrase="the evenness of its attacks",
        definition="|mean of exp(2 pi i (t_k / T - k / n))| over the n attacks but the last, t_k "
        "being the time of the k-th after the first, T that of the last; 1 if all values are equal",
        source="Amiot, Music Through Fourier Space (2016), from memory",
        formula=evenness,
    ),
    Measure(
        name="off_beat_share",
        unit=Unit.SHARE,
        phrase="the share of attacks off the beat",
        definition="attacks that start on no felt beat / all attacks; the felt beats are the "
        "metre's stated groups, else threes in 6/8, 9/8 and 12/8, twos with a three at the end in "
        "other metres of eighths or shorter, single units in all others",
        source=COMMON,
        formula=off_beat_share,
    ),
    Measure(
        name="uneven_metre_share",
        unit=Unit.SHARE,
        phrase="the share of attacks in an uneven metre",
        definition="attacks in bars whose felt beats differ in size, or whose number of felt beats "
        "has a prime factor above 3 / all attacks",
        source=COMMON,
        formula=uneven_metre_share,
    ),
    Measure(
        name="chord_share",
        unit=Unit.SHARE,
        phrase="the share of attacks that strike several notes at once",
        definition="attacks of two or more notes / all attacks",
        source=COMMON,
        formula=chord_share,
    ),
    Measure(
        name="notes_per_attack",
        unit=Unit.NONE,
        phrase="the number of notes an attack strikes on average",
        definition="notes / attacks, dead notes included",
        source=COMMON,
        formula=notes_per_attack,
    ),
)
"""In the order in which they are shown."""
