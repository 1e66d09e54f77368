"""What is measured of a window's pitch classes: how many, how mixed, out of which collection."""

from functools import cache, partial
from typing import Final

import numpy as np

from riffract.analysis.collections.form import FORMS
from riffract.analysis.pitch_class_set import ALL_TWELVE, SETS, transpositions_onto_itself
from riffract.music.notes import Ints
from riffract.weighing.comparing.measure import Measure, Unit, Values
from riffract.weighing.comparing.measures_of_rhythm import COMMON, OURS
from riffract.weighing.comparing.windows import Windows


def distinct_pcs(windows: Windows) -> Values:
    """Count the different pitch classes."""
    return np.asarray((windows.pc_count > 0).sum(axis=1), dtype=np.float64)


def pc_entropy_bits(windows: Windows) -> Values:
    """Measure how evenly the pitch classes are mixed."""
    shares = windows.pc_count / windows.pc_count.sum(axis=1, keepdims=True)
    logs = np.log2(shares, out=np.zeros_like(shares), where=shares > 0)
    return np.asarray(-(shares * logs).sum(axis=1) + 0.0)


def fourier_share(windows: Windows, *, k: int) -> Values:
    """Find how much of what tells the pitch classes from an even spread is in f_k."""
    powers = np.abs(np.fft.rfft(windows.pc_count, axis=1))[:, 1:] ** 2 * (2, 2, 2, 2, 2, 1)
    total = powers.sum(axis=1)
    is_even = total < 1e-9
    return np.asarray(np.where(is_even, 0.0, powers[:, k - 1] / np.where(is_even, 1.0, total)))


def collection_fit(windows: Windows, *, family: str) -> Values:
    """Find how many notes the best form of a family holds."""
    holds = np.array(
        [[form.mask >> pc & 1 for pc in range(12)] for form in FORMS if form.family.name == family]
    )
    inside = windows.pc_count @ holds.T
    return np.asarray(inside.max(axis=1) / windows.pc_count.sum(axis=1))


def symmetrical_size(windows: Windows) -> Values:
    """Find the size of the smallest symmetrical collection that holds every pitch class."""
    masks = (windows.pc_count > 0) @ (1 << np.arange(12))
    return np.asarray(smallest_symmetrical_sizes()[masks], dtype=np.float64)


def interval_class_share(windows: Windows, *, interval_class: int) -> Values:
    """Find how many pairs of the line's pitch classes lie at an interval class."""
    has = windows.line_pc > 0
    pairs = (has & np.roll(has, interval_class, axis=1)).sum(axis=1)
    halves = 2 if interval_class == 6 else 1
    size = has.sum(axis=1)
    return np.asarray(pairs / halves / np.maximum(size * (size - 1) / 2, 1))


@cache
def smallest_symmetrical_sizes() -> Ints:
    """Give for every pitch-class set the size of the smallest symmetrical set that holds it.

    Definition: a set is symmetrical if some transposition by 1 to 11 semitones maps it onto
    itself; the twelve notes are. Shape: (4096,).

    >>> from riffract.analysis.pitch_class_set import mask_of
    >>> sizes = smallest_symmetrical_sizes()
    >>> [int(sizes[mask_of(s)]) for s in ([0, 4], [0, 1, 4], [0, 1, 6], [0, 2, 4, 5, 7, 9, 11])]
    [3, 6, 4, 12]
    """
    masks = np.arange(SETS)
    sizes = np.full(SETS, 12, dtype=np.int64)
    symmetrical = (m for m in range(1, ALL_TWELVE) if len(transpositions_onto_itself(m)) > 1)
    for mask in symmetrical:
        is_held = (masks & ~mask) == 0
        sizes[is_held] = np.minimum(sizes[is_held], mask.bit_count())
    sizes.setflags(write=False)
    return sizes


_COLLECTIONS: Final = ("hexatonic", "octatonic", "whole-tone", "diatonic", "pentatonic")
_INTERVAL_CLASSES: Final = {
    1: "semitones",
    2: "whole tones",
    3: "minor thirds",
    4: "major thirds",
    5: "fourths and fifths",
    6: "tritones",
}
_FOURIER: Final = {
    1: "how far its notes crowd together on the circle of semitones (f1)",
    2: "how far its notes split into two crowds a tritone apart (f2)",
    3: "how hexatonic or augmented its notes are (f3)",
    4: "how octatonic its notes are (f4)",
    5: "how diatonic its notes are (f5)",
    6: "how whole-tone its notes are (f6)",
}

PITCH_CLASSES: Final = (
    Measure(
        name="distinct_pcs",
        unit=Unit.COUNT,
        phrase="the number of different notes, octaves counting as one",
        definition="pitch classes that occur in any note",
        source=COMMON,
        formula=distinct_pcs,
    ),
    Measure(
        name="pc_entropy_bits",
        unit=Unit.BITS,
        phrase="how evenly its notes are mixed",
        definition="- sum of p log2 p over the pitch classes, p being the share of the notes",
        source="Shannon (1948)",
        formula=pc_entropy_bits,
    ),
    *(
        Measure(
            name=f"fourier_{k}_share",
            unit=Unit.SHARE,
            phrase=phrase,
            definition=f"w_{k} f_{k}² / sum of w_j f_j² over j = 1..6, f being the Fourier "
            "magnitudes of the notes by pitch class, w = 2 and for j = 6 1; 0 for an even spread",
            source="magnitudes: Quinn (2006-07), Amiot (2016); the share is ours",
            formula=partial(fourier_share, k=k),
        )
        for k, phrase in _FOURIER.items()
    ),
    *(
        Measure(
            name=f"{family.replace('-', '_')}_fit",
            unit=Unit.SHARE,
            phrase=f"the share of notes inside the best {family} collection",
            definition=f"notes inside the {family} form that holds most of them / all notes",
            source=COMMON,
            formula=partial(collection_fit, family=family),
        )
        for family in _COLLECTIONS
    ),
    Measure(
        name="symmetrical_size",
        unit=Unit.COUNT,
        phrase="the size of the smallest symmetrical collection that holds it",
        definition="members of the smallest set that some transposition maps onto itself and that "
        "holds every pitch class; 12 if there is no smaller one, as for a whole diatonic scale",
        source=f"limited transposition: Messiaen (1944); the measure is {OURS}",
        formula=symmetrical_size,
    ),
    *(
        Measure(
            name=f"interval_class_{ic}_share",
            unit=Unit.SHARE,
            phrase=f"the share of {word} among all pairs of its line's notes",
            definition=f"entry {ic} of the interval-class vector of the line's pitch-class set / "
            "number of pairs; 0 for a single pitch class",
            source="Forte, The Structure of Atonal Music (1973)",
            formula=partial(interval_class_share, interval_class=ic),
        )
        for ic, word in _INTERVAL_CLASSES.items()
    ),
)
"""In the order in which they are shown."""
