"""What a held pitch adds to what sounds: set classes, interval classes, roughness."""

from collections.abc import Iterable
from fractions import Fraction
from typing import Final

import numpy as np

from riffract.analysis.drones.roughness import Floats, roughness_of_rows, sethares, vassilakis
from riffract.analysis.set_class import set_classes
from riffract.analysis.sounding import Slices, pc_masks, pitches_in
from riffract.analysis.what.drone import RoughStretch, Turn
from riffract.music import NoteTable, Span
from riffract.music.notes import NO_PITCH, Ints

FEWEST_PCS: Final = 3
"""Two pitch classes are an interval, which the colours tell already."""


def turns_of(notes: NoteTable, slices: Slices, *, string: int) -> tuple[Turn, ...]:
    """Tell what a held pitch makes of the set classes that sound without it.

    Definition: in each slice the class of all that sounds is set against the class of all but the
    held pitch; those that differ, and have three pitch classes or more with it, are added up.

    Args:
        notes: the passage's notes.
        slices: those in which it sounds.
        string: which string holds it.

    Returns:
        The longest first, then by Forte's numbers; empty if it adds nothing.
    """
    classes, of_set = set_classes()
    pitches = pitches_in(slices, notes)
    together = of_set[pc_masks(pitches)]
    without = of_set[pc_masks(np.delete(pitches, string - 1, axis=1))]
    large = np.array([one.size >= FEWEST_PCS for one in classes])
    kept = (together != without) & large[together]
    pairs, row = np.unique(
        np.stack([without[kept], together[kept]], axis=1), axis=0, return_inverse=True
    )
    ticks = np.zeros(len(pairs), dtype=np.int64)
    np.add.at(ticks, row.ravel(), slices.length_ticks[kept])
    order = np.argsort(-ticks, kind="stable")
    return tuple(
        Turn(
            without=classes[int(pairs[k, 0])].forte,
            together=classes[int(pairs[k, 1])].forte,
            quarters=Fraction(int(ticks[k]), notes.ticks_per_quarter),
        )
        for k in order.tolist()
    )


def only_with_it(notes: NoteTable, slices: Slices, *, string: int) -> tuple[int, ...]:
    """List the interval classes that would not sound without a held pitch, rising.

    Args:
        notes: the passage's notes.
        slices: those in which it sounds.
        string: which string holds it.
    """
    pitches = pitches_in(slices, notes)
    others = np.delete(pitches, string - 1, axis=1)
    with_it = _interval_classes(pitches, [string - 1])
    return tuple(sorted(with_it - _interval_classes(others, range(others.shape[1]))))


def rough_stretches(notes: NoteTable, slices: Slices, *, string: int) -> tuple[RoughStretch, ...]:
    """Give the roughness of each slice, with a held pitch and without.

    Args:
        notes: the passage's notes.
        slices: those in which it sounds.
        string: which string holds it.
    """
    together, without = _roughness(notes, slices, string)
    starts, ends = slices.start_ticks.tolist(), slices.end_ticks.tolist()
    return tuple(
        RoughStretch(
            span=Span(notes.quarters(start), notes.quarters(end)),
            without=round(rest, ROUGHNESS_DIGITS),
            together=round(full, ROUGHNESS_DIGITS),
        )
        for start, end, rest, full in zip(
            starts, ends, without.tolist(), together.tolist(), strict=True
        )
    )


ROUGHNESS_DIGITS: Final = 6
"""More would differ from machine to machine."""


def effect_measures(notes: NoteTable, slices: Slices, *, string: int) -> dict[str, float]:
    """Measure what a held pitch adds.

    Args:
        notes: the passage's notes.
        slices: those in which it sounds.
        string: which string holds it.

    Returns:
        `set_classes_with_it` and `set_classes_without_it`: of three pitch classes or more;
        `roughness` and `roughness_without_it`: means over time by `sethares`;
        `rougher_share`: how much rougher it makes things, as a share of what is heard, and
        `rougher_share_by_depth`, the same by `vassilakis`.
    """
    classes, of_set = set_classes()
    large = np.array([one.size >= FEWEST_PCS for one in classes])
    pitches = pitches_in(slices, notes)
    others = np.delete(pitches, string - 1, axis=1)

    def count(masks: Ints) -> int:
        return int(large[np.unique(of_set[masks])].sum())

    length = slices.length_ticks.astype(np.float64)
    full, rest = (float((r * length).sum()) for r in _roughness(notes, slices, string))
    deep = float((roughness_of_rows(pitches, vassilakis) * length).sum())
    deep_rest = float((roughness_of_rows(others, vassilakis) * length).sum())
    return {
        "set_classes_with_it": count(pc_masks(pitches)),
        "set_classes_without_it": count(pc_masks(others)),
        "roughness": full / float(length.sum()),
        "roughness_without_it": rest / float(length.sum()),
        "rougher_share": 1.0 - rest / full,
        "rougher_share_by_depth": 1.0 - deep_rest / deep,
    }


def _roughness(notes: NoteTable, slices: Slices, string: int) -> tuple[Floats, Floats]:
    pitches = pitches_in(slices, notes)
    without = np.delete(pitches, string - 1, axis=1)
    return roughness_of_rows(pitches, sethares), roughness_of_rows(without, sethares)


def _interval_classes(pitches: Ints, places: Iterable[int]) -> set[int]:
    """List the interval classes between the strings at some places and all others."""
    found: set[int] = set()
    for place in places:
        both = (pitches != NO_PITCH) & (pitches[:, [place]] != NO_PITCH)
        steps = np.abs(pitches - pitches[:, [place]])[both] % 12
        found |= set(np.minimum(steps, 12 - steps).tolist())
    return found - {0}
