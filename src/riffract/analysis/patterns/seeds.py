"""Stretches that come back moved: where patterns are looked for, in time that grows like the notes.

Looking at every pair of points takes time that grows with their square. So a point is compared
only with points whose surroundings are alike: the next few steps of its line, or the next few
attacks of the whole texture. Of these, each is compared with the next few ones only; a longer
surrounding reaches further, since it is rarer.
"""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.analysis.patterns.lines import NONE, Ids, PointSet
from riffract.analysis.patterns.surroundings import ATTACK_STEPS, LINE_STEPS, Surroundings

FEWEST_POINTS: Final = 4
"""Three notes come back in any music."""

OVERLAP_SHARE: Final = 0.2
"""How many of its notes an occurrence may share with another one: a phrase may end with the note
that the next one starts with."""

DENSE_SHARE: Final = 0.75
"""Of the notes within a stretch of the whole texture, how many have to come back."""

_FURTHER_ATTACKS: Final = 32
"""So far is a row followed beyond the surroundings that its notes were found by."""

PERIODIC_SHARE: Final = 0.9
"""How many of its notes must come back within it for a row to be a smaller one, repeated."""

_PERIODS_TRIED: Final = 64
"""A smaller row starts again at one of so many next notes."""

_PARTNERS: Final = (24, 8, 4)
"""With how many of the next like surroundings each is compared, from the shortest on."""


def returning_stretches(
    points: PointSet, around: Surroundings, *, fewest_ticks: float = 0.0
) -> list[Ids]:
    """List the shapes that come back: rows of attacks of the whole texture, and rows of one line.

    A row of attacks may miss up to a quarter of its notes, but no whole attack; a row of a line
    misses nothing. Where a row runs on into its own image, it is cut to one period.

    Args:
        points: where to look.
        around: what follows each of them.
        fewest_ticks: from first to last attack; shorter rows are left out.

    Returns:
        The points of the first example of each shape, rising; the shapes by their first example's
        onset, then the longest first. At least `FEWEST_POINTS` each.
    """
    first, second = _matches(points, around)
    if not len(first):
        return []
    vector = points.key[second] - points.key[first]
    rank = np.argsort(vector, kind="stable")  # the pairs come by their first points
    rows = _rows(points, around, first[rank], vector[rank], fewest_ticks)
    rank = np.lexsort((_place_in_lines(points.follower)[first], vector))
    rows += _line_rows(points, first[rank], second[rank], vector[rank], fewest_ticks)
    rows.sort(key=lambda row: (row[0], -len(row)))
    return _distinct_shapes(points, rows)


def _matches(points: PointSet, around: Surroundings) -> tuple[Ids, Ids]:
    """Pair points that have like surroundings, with all that these surroundings hold."""
    attacks = np.arange(1, len(around.first))
    attacks[-1] = NONE
    found = [np.empty(0, dtype=np.int64)]
    for numbers, steps, partners in zip(around.of_line, LINE_STEPS, _PARTNERS, strict=False):
        pairs = _all_steps(_partners(numbers, partners), points.follower, steps)
        found.append(pairs[0] * len(points) + pairs[1])
    for numbers, steps, partners in zip(around.of_attack, ATTACK_STEPS, _PARTNERS, strict=True):
        pairs = _all_steps(_partners(numbers, partners), attacks, steps)
        pairs = _points_of(around.first, pairs)
        found.append(pairs[0] * len(points) + pairs[1])
    keys = _distinct(np.concatenate(found))
    first, second = keys // len(points), keys % len(points)
    moved = points.onset_ticks[second] > points.onset_ticks[first]
    return first[moved], second[moved]


def _all_steps(pairs: Ids, after: Ids, steps: int) -> Ids:
    """Add to some pairs those that follow them, step by step.

    Neighbouring pairs have most of what follows in common, so that it is doubled, not listed.

    Args:
        pairs: of places whose surroundings hold so many steps. Shape: (2, pairs).
        after: what follows each place.
        steps: how many; a power of two.
    """
    keys, length, ahead = _distinct(pairs[0] * len(after) + pairs[1]), 1, after
    while length < steps:
        keys = _stepped(keys, ahead)
        length, ahead = 2 * length, ahead[ahead]
    keys = _stepped(keys, after)
    return np.stack([keys // len(after), keys % len(after)])


def _stepped(keys: Ids, ahead: Ids) -> Ids:
    first, second = ahead[keys // len(ahead)], ahead[keys % len(ahead)]
    return _distinct(np.concatenate([keys, first * len(ahead) + second]))


def _distinct(keys: Ids) -> Ids:
    """Sort numbers, each once; many times faster than hashing them."""
    keys.sort()
    kept: Ids = keys[np.diff(keys, prepend=NONE) != 0]
    return kept


def _partners(numbers: Ids, partners: int) -> Ids:
    """Pair each place with the next few that have the same number. Shape: (2, pairs)."""
    order = np.argsort(numbers, kind="stable")
    order = order[numbers[order] != NONE]
    ranked = numbers[order]
    pairs = [np.empty((2, 0), dtype=np.int64)]
    for ahead in range(1, min(partners, len(order) - 1) + 1):
        same = ranked[ahead:] == ranked[:-ahead]
        pairs.append(np.stack([order[:-ahead][same], order[ahead:][same]]))
    return np.concatenate(pairs, axis=1)


def _points_of(first: Ids, attacks: Ids) -> Ids:
    """Pair the points of like chords, from low to high. Shape: (2, points)."""
    sizes = first[attacks[0] + 1] - first[attacks[0]]
    within = np.arange(int(sizes.sum())) - np.repeat(np.cumsum(sizes) - sizes, sizes)
    pairs: Ids = np.repeat(first[attacks], sizes, axis=1) + within
    return pairs


def _rows(
    points: PointSet, around: Surroundings, first: Ids, vector: Ids, fewest_ticks: float
) -> list[Ids]:
    """Cut matches, by vector and time, into rows of attacks in which no attack is left out.

    Surroundings have an end, so that each row is then followed on both sides as far as some note of
    each next attack comes back by the same vector.
    """
    attack = around.attack[first]
    starts, stops = _cut((np.diff(vector) != 0) | (np.diff(attack) > 1), len(first))
    if not len(starts):
        return []
    move = vector[starts]
    last = _followed(points, around.first, move, attack[stops - 1], 1)
    begin = _followed(points, around.first, move, attack[starts], -1)
    runs = np.unique(np.stack([move, begin, last]), axis=1)
    return _dense_rows(points, around.first, runs, fewest_ticks)


def _followed(points: PointSet, first: Ids, move: Ids, attack: Ids, by: int) -> Ids:
    """Step from attack to attack as long as some note of the next one comes back."""
    reached = attack.copy()
    going = np.arange(len(attack))
    for _ in range(_FURTHER_ATTACKS):
        ahead = reached[going] + by
        inside = (ahead >= 0) & (ahead < len(first) - 1)
        going, ahead = going[inside], ahead[inside]
        run, _, image = _images(points, first, move[going], ahead, ahead)
        found = np.bincount(run[image != NONE], minlength=len(going)) > 0
        reached[going[found]] += by
        going = going[found]
    return reached


def _images(points: PointSet, first: Ids, move: Ids, begin: Ids, last: Ids) -> tuple[Ids, Ids, Ids]:
    """Move all points of some runs of attacks. Gives run, point and image (or `NONE`) of each."""
    sizes = first[last + 1] - first[begin]
    run = np.repeat(np.arange(len(sizes)), sizes)
    point = np.arange(int(sizes.sum())) + np.repeat(first[begin] - np.cumsum(sizes) + sizes, sizes)
    return run, point, points.found(points.key[point] + move[run])


def _dense_rows(points: PointSet, first: Ids, runs: Ids, fewest_ticks: float) -> list[Ids]:
    """Keep of some runs (move, first and last attack) those of which enough comes back."""
    move, begin, last = runs
    run, point, image = _images(points, first, move, begin, last)
    kept = image != NONE
    count = np.bincount(run[kept], minlength=len(begin))
    sizes = first[last + 1] - first[begin]
    stops = np.cumsum(count)
    dense = (count >= DENSE_SHARE * sizes) & (count >= FEWEST_POINTS)
    cuts = np.stack([stops - count, stops])[:, dense]
    return _examples(points, point[kept], image[kept], cuts, fewest_ticks)


def _line_rows(
    points: PointSet, first: Ids, second: Ids, vector: Ids, fewest_ticks: float
) -> list[Ids]:
    """Cut matches, by vector and line, into rows in which each follows the one before."""
    ends = (
        (np.diff(vector) != 0)
        | (points.follower[first[:-1]] != first[1:])
        | (points.follower[second[:-1]] != second[1:])
    )
    return _examples(points, first, second, _cut(ends, len(first)), fewest_ticks)


def _cut(ends: NDArray[np.bool_], length: int) -> Ids:
    """Give start and stop of each row that is long enough. Shape: (2, rows)."""
    cuts = np.concatenate([[0], np.flatnonzero(ends) + 1, [length]])
    rows = np.stack([cuts[:-1], cuts[1:]])
    return rows[:, np.diff(cuts) >= FEWEST_POINTS]


def _examples(
    points: PointSet, first: Ids, second: Ids, cuts: Ids, fewest_ticks: float
) -> list[Ids]:
    """Take the points of each row; if its image starts too early, up to there."""
    onset = points.onset_ticks
    starts, stops = cuts
    starts, stops = cuts[:, onset[first[stops - 1]] - onset[first[starts]] >= fewest_ticks]
    examples = []
    for start, stop, image in zip(
        starts.tolist(), stops.tolist(), onset[second[starts]].tolist(), strict=True
    ):
        row = first[start:stop]
        within = int(np.searchsorted(onset[row], image))
        if len(row) - within > OVERLAP_SHARE * len(row):
            row = row[:within]
        if len(row) >= FEWEST_POINTS and onset[row[-1]] - onset[row[0]] >= fewest_ticks:
            examples.append(row)
    return examples


def _place_in_lines(follower: Ids) -> Ids:
    """Number the points line by line, each line in order of time. Shape: (points,)."""
    line = np.arange(len(follower))
    for point, after in enumerate(follower.tolist()):
        if after != NONE:
            line[after] = line[point]
    place = np.empty_like(line)
    place[np.argsort(line, kind="stable")] = np.arange(len(line))
    return place


def _distinct_shapes(points: PointSet, rows: list[Ids]) -> list[Ids]:
    """Keep the first row of each shape."""
    seen: set[bytes] = set()
    kept = []
    for row in rows:
        shape = (points.key[row] - points.key[row[0]]).tobytes()
        if shape not in seen:
            seen.add(shape)
            kept.append(row)
    return kept


def repeats_itself(points: PointSet, row: Ids) -> bool:
    """Whether a row is one cell, told twice or more: it comes back moved within itself."""
    key, onset = points.key[row], points.onset_ticks[row]
    for again in range(1, min(len(row) // 2, _PERIODS_TRIED) + 1):
        if onset[again] > onset[0]:
            within = onset < onset[0] + onset[-1] + 1 - onset[again]
            images = key[within] + (key[again] - key[0])
            places = np.minimum(np.searchsorted(key, images), len(key) - 1)
            if (key[places] == images).mean() >= PERIODIC_SHARE:
                return True
    return False
