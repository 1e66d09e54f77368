"""The background that ships: how open music is spread over each measure, as a small table.

It holds quantiles only, so a passage can be placed in it, but nothing can be found that is like it.
Every piece counts as one, as in `standing`. `tools/corpus_from_notes.py` made the table.
"""

import json
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import cache
from importlib.resources import files
from typing import Any, Final, TypeAlias

import numpy as np
from numpy.typing import NDArray

from riffract.weighing.comparing.comparison import Comparison, CorpusNote
from riffract.weighing.comparing.likeness import Scales, distances
from riffract.weighing.comparing.measure import Values
from riffract.weighing.comparing.measures_of import MEASURES, MEASURES_VERSION
from riffract.weighing.comparing.profile import Profile
from riffract.weighing.comparing.standing import Standing, counting_itself

LEVELS: Final = (*range(6), *range(10, 95, 5), *range(95, 101))
"""In hundredths: each one where something is rare, each fifth between."""

DIGITS: Final = 4
"""So many significant digits are kept."""

FILE: Final = "background.json"

MeasuredPieces: TypeAlias = Iterable[tuple[int, NDArray[np.float32]]]
"""A piece's number and the values of its windows; a piece may come in several parts."""


def compare_with_background(profile: Profile) -> Comparison:
    """Place a passage in the background."""
    table = background()
    of_length = table["windows"][str(profile.window_attacks)]
    scales = Scales(middle=np.array(of_length["middle"]), spread=np.array(of_length["spread"]))
    values, pieces = profile.values, int(of_length["pieces"])
    distance = float(distances(values[None, :], scales.middle, scales)[0])
    nearer, _ = shares_at(of_length["distance"], distance)
    return Comparison(
        corpus=CorpusNote(
            title=table["title"],
            provenance=table["provenance"],
            files=int(table["files"]),
            pieces=pieces,
            passages=int(of_length["passages"]),
            for_strings_share=0.0,
            uneven_metre_share=float(of_length["uneven_metre_share"]),
            usual_distance=None,
            unfit=tuple(table["unfit"]),
        ),
        window_attacks=profile.window_attacks,
        windows=len(profile.windows),
        standings=tuple(
            _standing(profile, k, of_length["quantiles"][measure.name], pieces)
            for k, measure in enumerate(MEASURES)
            if measure.name not in table["unfit"]
        ),
        distance=distance,
        as_far_share=counting_itself(1.0 - nearer, pieces),
        by_measures=(),
        by_line=(),
    )


def shares_at(quantiles: Sequence[float], value: float) -> tuple[float, float]:
    """Read from quantiles how much lies below a value, and how much is equal to it.

    A value that several levels share is where many are tied: they reach from the first of these
    levels to the last. Between two levels the share is interpolated.

    Args:
        quantiles: by `LEVELS`, rising.
        value: the value; rounded as the table is.

    >>> steps = [float(level) for level in LEVELS]
    >>> shares_at(steps, 50.0), shares_at(steps, 52.5), shares_at(steps, 200.0)
    ((0.5, 0.0), (0.525, 0.0), (1.0, 0.0))
    >>> shares_at([0.0] * 10 + steps[10:], 0.0)
    (0.0, 0.25)
    """
    levels = np.array(LEVELS) / 100
    rounded = significant(value)
    first, behind = bisect_left(quantiles, rounded), len(levels)
    last = bisect_right(quantiles, rounded)
    if last > first:
        return float(levels[first]), float(levels[last - 1] - levels[first])
    if first in {0, behind}:
        return float(first == behind), 0.0
    low, high = quantiles[first - 1], quantiles[first]
    part = (rounded - low) / (high - low)
    return float(levels[first - 1] + part * (levels[first] - levels[first - 1])), 0.0


@cache
def background() -> Mapping[str, Any]:
    """Read the table.

    Raises:
        ValueError: if it was made with other measures, which is a mistake of ours.
    """
    table: dict[str, Any] = json.loads(files(__package__).joinpath(FILE).read_text("utf-8"))
    if table["measures"] != MEASURES_VERSION or table["levels"] != list(LEVELS):
        raise ValueError(f"{FILE} was made with other measures; make it anew")
    return table


def table_text(
    pieces: Mapping[int, MeasuredPieces],
    *,
    title: str,
    provenance: str,
    unfit: Sequence[str] = (),
) -> str:
    """Write the table.

    Args:
        pieces: what was measured, by the length of the windows.
        title: what the background is called.
        provenance: where it comes from, by whom, under which licence, how it was made.
        unfit: names of measures by which the pieces were chosen; they count nothing.
    """
    numbered = {attacks: list(rows) for attacks, rows in sorted(pieces.items())}
    table = {
        "title": title,
        "provenance": provenance,
        "measures": MEASURES_VERSION,
        "files": len({number for rows in numbered.values() for number, _ in rows}),
        "levels": list(LEVELS),
        "unfit": list(unfit),
        "windows": {str(attacks): _of_length(rows, unfit) for attacks, rows in numbered.items()},
    }
    return json.dumps(table, ensure_ascii=False, separators=(",", ":")) + "\n"


def weighted_quantiles(values: Values, weights: Values) -> list[float]:
    """Give the quantiles of `LEVELS`: the least value up to which so much of the weight lies.

    >>> weighted_quantiles(np.array([3.0, 1.0, 2.0]), np.array([1.0, 1.0, 2.0]))[::7]
    [1.0, 1.0, 2.0, 3.0, 3.0]
    """
    order = np.argsort(values, kind="stable")
    heights = np.cumsum(weights[order]) / weights.sum()
    places = np.searchsorted(heights, np.array(LEVELS) / 100 - 1e-12)
    return [significant(v) for v in values[order][np.minimum(places, len(values) - 1)].tolist()]


def significant(value: float) -> float:
    """Round to the digits that the table keeps.

    >>> significant(0.123456), significant(12.0)
    (0.1235, 12.0)
    """
    return float(f"{value:.{DIGITS}g}")


def _standing(profile: Profile, k: int, quantiles: Sequence[float], pieces: int) -> Standing:
    value = float(profile.values[k])
    below, equal = shares_at(quantiles, value)
    return Standing(
        measure=MEASURES[k],
        value=value,
        lowest=float(profile.windows[:, k].min()),
        highest=float(profile.windows[:, k].max()),
        below_share=below,
        equal_share=equal,
        pieces=pieces,
    )


def _of_length(
    rows: Sequence[tuple[int, NDArray[np.float32]]], unfit: Sequence[str]
) -> dict[str, Any]:
    values = np.concatenate([part for _, part in rows]).astype(np.float64)
    piece = np.repeat([number for number, _ in rows], [len(part) for _, part in rows])
    weights = 1.0 / np.bincount(piece)[piece]
    all_scales = Scales.of(values)
    is_fit = np.array([m.name not in unfit for m in MEASURES])
    scales = replace(all_scales, spread=all_scales.spread * is_fit)
    uneven = [m.name for m in MEASURES].index("uneven_metre_share")
    return {
        "pieces": len(np.unique(piece)),
        "passages": len(values),
        "uneven_metre_share": significant(float(values[:, uneven].mean())),
        "middle": [significant(v) for v in scales.middle.tolist()],
        "spread": [significant(v) for v in scales.spread.tolist()],
        "distance": weighted_quantiles(distances(values, scales.middle, scales), weights),
        "quantiles": {
            m.name: weighted_quantiles(values[:, k], weights)
            for k, m in enumerate(MEASURES)
            if is_fit[k]
        },
    }
