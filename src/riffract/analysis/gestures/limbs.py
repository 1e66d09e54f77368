"""Limbs: where a line falls, where it rises, and where it goes nowhere."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise
from statistics import median
from typing import Final

from riffract.analysis.finding import Direction

TOLERANCE_SEMITONES: Final = 4.0
"""How far a line may turn back within a limb. A major third: neighbour notes, turns and broken
thirds stay within a limb, a returning fourth starts another."""

REVERSAL_SHARE: Final = 0.45
"""What a step that turns back costs in a stretch that goes nowhere, as a share of its size: below a
half, so that to-and-fro is not taken for a fall, where every other step costs its whole size."""

REVERSAL_MOST_SEMITONES: Final = 1.15
"""The most that such a step costs: such that broken thirds that climb are a climb, and wider leaps
to and fro are not many short limbs."""

STANDING_NOTES: Final = 6
"""A pitch stands still if it comes this often in a row: then it costs a limb that should move as
much as a cut does. Three or four are one long note struck again."""

STANDING_RUNS: Final = 3
"""It must also come so many times as often in a row as is usual in the line, where every pitch may
be struck several times."""

_A_TRIFLE: Final = 1e-5
"""Far below any difference of costs: decides between splits that cost the same."""

LEVEL_SEMITONES: Final = 2
"""A stretch that goes nowhere within this range is level: a note with its neighbours."""

TREND_SHARE: Final = 2 / 3
"""A limb with returns still falls or rises if its straight line covers this share of its range;
to-and-fro that happens to end on the other side does not."""


_TURNS: Final = {("falling", "rising"): min, ("rising", "falling"): max}


@dataclass(frozen=True, slots=True, kw_only=True)
class LineLimb:
    """A stretch of a line, from note `start` up to but not including note `stop`."""

    start: int
    stop: int
    direction: Direction


def limbs_of(
    pitches: Sequence[int],
    *,
    tolerance_semitones: float = TOLERANCE_SEMITONES,
    cut_costs: Sequence[float] | None = None,
) -> tuple[LineLimb, ...]:
    """Split a line into limbs, at the least cost in semitones.

    Definition: every limb falls, rises, or goes nowhere. In a falling limb an upward step costs its
    size, in a rising one a downward step. Where the line goes nowhere a step costs its size, but
    little if it turns back. A pitch that stands still costs in the limbs that should move. A cut
    costs the tolerance, and the step that is cut through costs nothing. The cheapest split is found
    by dynamic programming; time grows with the number of notes. Of splits that cost the same, the
    one with fewer limbs is taken, then the one that cuts through wider steps, since what lies close
    together belongs together, then the one whose limbs start later.

    A turning pitch that is struck several times is shared: of an even number the first half ends
    one limb and the second half starts the next; of an odd number the middle one is the turning
    point, which belongs to the limb that it ends unless the cut before it is cheaper. So a line and
    its reverse, one after the other, are two equal limbs.

    Afterwards a limb is called falling or rising if no step goes the other way, or if the straight
    line through it covers the tolerance and two thirds of its range; else level if it stays within
    a whole tone, else turning.

    Args:
        pitches: MIDI pitches in order of time.
        tolerance_semitones: what a cut costs.
        cut_costs: what each cut costs, if they differ; the i-th cuts between notes i and i + 1.

    Returns:
        Limbs in order of time, without gaps; none for an empty line.

    Source: optimal segmentation by dynamic programming (Bellman, CACM 4/6 (1961), 284, from
    memory); the costs are ours.

    >>> [(limb.start, limb.stop, limb.direction) for limb in limbs_of([9, 7, 8, 5, 2, 0, 3, 7, 9])]
    [(0, 6, 'falling'), (6, 9, 'rising')]
    >>> [(limb.start, limb.stop) for limb in limbs_of([0, 4, 7, 7, 4, 0])]
    [(0, 3), (3, 6)]
    """
    if not pitches:
        return ()
    cuts = [tolerance_semitones] * (len(pitches) - 1) if cut_costs is None else cut_costs
    trifles = [_A_TRIFLE * (1 - min(abs(b - a), 12) / 100) for a, b in pairwise(pitches)]
    starts = _cheapest_starts(
        step_costs(pitches, tolerance_semitones),
        [cut + trifle for cut, trifle in zip(cuts, trifles, strict=True)],
    )
    split = _labelled(pitches, starts, tolerance_semitones)
    shared = [_shared_turn(pitches, left, right, cuts) for left, right in pairwise(split)]
    return _labelled(pitches, [0, *shared], tolerance_semitones)


def step_costs(
    pitches: Sequence[int], tolerance_semitones: float
) -> list[tuple[float, float, float]]:
    """Price each step of a line in a limb that falls, one that rises, one that goes nowhere."""
    standing = _standing_steps(pitches)
    costs = []
    before = 0
    for i, here in enumerate(pitches[:-1]):
        step = pitches[i + 1] - here
        if step:
            turns_back = step * before <= 0
            reversal = min(REVERSAL_SHARE * abs(step), REVERSAL_MOST_SEMITONES)
            nowhere = reversal if turns_back else float(abs(step))
            costs.append((float(max(step, 0)), float(max(-step, 0)), nowhere))
            before = step
        else:
            still = tolerance_semitones / (STANDING_NOTES - 1) if i in standing else 0.0
            costs.append((still, still, 0.0))
    return costs


def direction_of(pitches: Sequence[int], tolerance_semitones: float) -> Direction:
    """Name the way a limb goes.

    >>> direction_of([7, 8, 5, 0], 4.0), direction_of([7, 8, 7], 4.0), direction_of([7, 0, 6], 4.0)
    ('falling', 'level', 'turning')
    """
    extent = max(pitches) - min(pitches)
    trend = trend_semitones(pitches)
    goes_one_way = extent > 0 and _is_monotone(pitches)
    if goes_one_way or abs(trend) >= max(tolerance_semitones, TREND_SHARE * extent):
        return "falling" if trend < 0 else "rising"
    return "level" if extent <= LEVEL_SEMITONES else "turning"


def trend_semitones(pitches: Sequence[int]) -> float:
    """Tell how far the straight line through a line of notes goes from the first to the last.

    Definition: the slope of the least-squares line, times the number of steps.

    >>> trend_semitones([9, 7, 5, 3]), round(trend_semitones([0, 7, 0, 7, 0]), 6)
    (-6.0, 0.0)
    """
    middle = (len(pitches) - 1) / 2
    places = [i - middle for i in range(len(pitches))]
    spread = sum(place * place for place in places)
    covered = sum(place * pitch for place, pitch in zip(places, pitches, strict=True))
    return covered / spread * (len(pitches) - 1) if spread else 0.0


def _labelled(
    pitches: Sequence[int], starts: Sequence[int], tolerance_semitones: float
) -> tuple[LineLimb, ...]:
    return tuple(
        LineLimb(
            start=start,
            stop=stop,
            direction=direction_of(pitches[start:stop], tolerance_semitones),
        )
        for start, stop in zip(starts, [*starts[1:], len(pitches)], strict=True)
    )


def _shared_turn(
    pitches: Sequence[int], left: LineLimb, right: LineLimb, cuts: Sequence[float]
) -> int:
    """Give where the right limb starts if both share the strokes of the pitch they turn at."""
    here = right.start
    turn = _TURNS.get((left.direction, right.direction))
    if turn is None or cuts[here - 1] < 0:
        return here  # a cut that saves has a reason of its own: a new pass, a silence
    top = turn(pitches[here - 1], pitches[here])
    first = here
    while first > left.start and pitches[first - 1] == top:
        first -= 1
    stop = here
    while stop < right.stop and pitches[stop] == top:
        stop += 1
    if stop - first < 2:
        return here
    middle, is_odd = divmod(stop - first, 2)
    before = first + middle
    return before + (is_odd and cuts[before] <= cuts[before - 1])


def _is_monotone(pitches: Sequence[int]) -> bool:
    line = list(pitches)
    return line in (sorted(line), sorted(line, reverse=True))


def _standing_steps(pitches: Sequence[int]) -> set[int]:
    """Give the steps within pitches that stand still, as the places of their first notes."""
    runs = [list(run) for _, run in groupby(range(len(pitches)), key=lambda i: pitches[i])]
    usual = median(len(run) for run in runs)
    long_runs = [r for r in runs if len(r) >= max(STANDING_NOTES, STANDING_RUNS * usual)]
    if len(runs) == 1:
        return set()
    return {i for run in long_runs for i in run[:-1]}


def _cheapest_starts(
    steps: Sequence[tuple[float, float, float]], cuts: Sequence[float]
) -> list[int]:
    """Find the notes that start the limbs of the cheapest split.

    For each kind of limb `cost` holds the cheapest way to be in one at the note that is reached,
    and `origin` where that limb starts. What costs the same is cut later: a turning note belongs to
    the limb that it ends.
    """
    cost, origin = [0.0] * 3, [0] * 3
    limb_before = [-1]  # where the limb before starts, if one starts on this note
    for i, step in enumerate(steps):
        best = min(range(3), key=lambda kind: (cost[kind], -origin[kind]))
        limb_before.append(origin[best])
        after_cut = cost[best] + cuts[i]
        for kind in range(3):
            cost[kind] += step[kind]
            if after_cut <= cost[kind]:
                cost[kind], origin[kind] = after_cut, i + 1
    start = origin[min(range(3), key=lambda kind: (cost[kind], -origin[kind]))]
    starts = []
    while start >= 0:
        starts.append(start)
        start = limb_before[start]
    return starts[::-1]
