"""How long studying takes, with and without chance, how it grows, and how much memory it needs.

Run from the repository: python -m bench.study [SIZE ...]

Two manners of music: a riff, mirrored in itself and stated again and again, and a line that never
comes back. Each size is studied in a process of its own, so that its memory is its own.
"""

import resource
import sys
from collections.abc import Sequence
from fractions import Fraction
from functools import partial
from math import log2
from multiprocessing import get_context
from time import perf_counter, process_time
from typing import Final, NamedTuple

import numpy as np
from bench.timing import machine, ratio

from riffract.analysis.reordering import Reordering
from riffract.music import Metre, NoteTableBuilder, Passage, TempoMark, Tuning, bars_in_row
from riffract.weighing import drawing
from riffract.weighing.chance import Chance
from riffract.weighing.weigh import study_passage

SEVEN_EIGHT: Final = Metre(groups=(2, 2, 3), unit=8)
SEVEN: Final = Tuning(open_pitches=(35, 40, 45, 50, 55, 59, 64))
SIZES: Final = (300, 2_000, 20_000, 100_000)
RIFF_NOTES: Final = 60
TARGETS: Final = {
    (300, False): 0.3,
    (300, True): 2.0,
    (2_000, True): 3.0,
    (100_000, True): 120.0,
}
"""Seconds at most, by size and whether chance is asked."""

FURTHEST_GROWTH: Final = 1.2
MOST_GIGABYTES: Final = 2.0


class Cost(NamedTuple):
    """What a study took."""

    seconds: float
    cpu_seconds: float
    gigabytes: float
    findings: int


def riff(notes: int) -> Passage:
    """Make a random riff, mirrored in itself, and state it until there are so many notes."""
    rng = np.random.default_rng(notes)
    half = rng.integers(0, 20, RIFF_NOTES // 2).tolist()
    values = rng.integers(1, 4, RIFF_NOTES // 2).tolist()
    times = -(-notes // RIFF_NOTES)
    return _line((half + half[::-1]) * times, (values + values[::-1]) * times)


def through_composed(notes: int) -> Passage:
    """Make a line that walks on without ever meaning to come back."""
    rng = np.random.default_rng(notes)
    walk = np.abs(np.cumsum(rng.integers(-3, 4, notes)) % 40 - 20)
    return _line(walk.tolist(), rng.integers(1, 4, notes).tolist())


def _line(frets: Sequence[int], sixteenths: Sequence[int]) -> Passage:
    builder = NoteTableBuilder()
    at = 0
    for fret, value in zip(frets, sixteenths, strict=True):
        string = 6 if fret < 10 else 5
        builder.add(
            onset_quarters=Fraction(at, 4),
            duration_quarters=Fraction(value, 4),
            string=string,
            fret=fret,
            pitch=SEVEN.pitch_at(string, fret),
        )
        at += value
    bars = -(-at // 14)
    return Passage(
        title="Bench",
        tuning=SEVEN,
        bars=bars_in_row((SEVEN_EIGHT, None, n + 1) for n in range(bars)),
        tempos=(TempoMark(at_quarters=Fraction(0), quarters_per_minute=120.0),),
        notes=builder.build(),
    )


MANNERS: Final = {"a riff": riff, "through-composed": through_composed}


def without_chance() -> None:
    """Let every drawn question be answered at once, so that only the finding takes time."""

    def undrawn(rows: Sequence[Reordering], *, seed: int, **_: object) -> list[Chance]:
        return [
            Chance(observed=row.observed, draws=(row.observed,), model="", seed=seed)
            for row in rows
        ]

    vars(drawing)["chances_of"] = undrawn  # only here, in a process of its own


def cost(job: tuple[str, int, bool]) -> Cost:
    """Study one passage, warmed up on a small one."""
    manner, size, has_chance = job
    if not has_chance:
        without_chance()
    study_passage(MANNERS[manner](80))
    passage = MANNERS[manner](size)
    start, cpu = perf_counter(), process_time()
    study = study_passage(passage)
    seconds, cpu_seconds = perf_counter() - start, process_time() - cpu
    kilobytes = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return Cost(seconds, cpu_seconds, kilobytes / 1e6, len(study.findings))


def cost_alone(job: tuple[str, int, bool]) -> Cost:
    """Study one passage in a process of its own."""
    with get_context("spawn").Pool(1) as pool:
        return pool.map(cost, [job])[0]


def a_thousand_passes(passage: Passage) -> float:
    """The floor: touch every number of the passage, a thousand times."""
    notes = passage.notes
    columns = (notes.onset_ticks, notes.duration_ticks, notes.pitch, notes.string, notes.fret)
    return float(sum(column.sum() for _ in range(1000) for column in columns))


def _told(size: int, seconds: float, *, has_chance: bool) -> str:
    target = TARGETS.get((size, has_chance))
    if target is None:
        return ""
    return f"  (target {target:g} s: {'met' if seconds <= target else 'MISSED'})"


def print_growth(manner: str, sizes: Sequence[int], *, has_chance: bool) -> None:
    """Print the cost of each size, and how it grows from the second size on."""
    print(f"\n{manner}, {'with' if has_chance else 'without'} chance")
    costs = []
    for size in sizes:
        once = cost_alone((manner, size, has_chance))
        costs.append(once)
        print(
            f"{size:8d} notes: {once.seconds:8.3f} s, {once.cpu_seconds:8.3f} s of processor, "
            f"{once.gigabytes:5.2f} of {MOST_GIGABYTES:g} GB, {once.findings} findings"
            f"{_told(size, once.seconds, has_chance=has_chance)}",
            flush=True,
        )
    large = [(n, c) for n, c in zip(sizes, costs, strict=True) if n >= 2_000]
    if len(large) > 1:
        (first, least), (last, most) = large[0], large[-1]
        growth = log2(most.cpu_seconds / least.cpu_seconds) / log2(last / first)
        print(f"growth exponent of processor time from {first} notes on: {growth:.2f}", end="")
        print(f"  (target {FURTHEST_GROWTH}: {'met' if growth <= FURTHEST_GROWTH else 'MISSED'})")


def main() -> None:
    print(machine())
    sizes = [int(size) for size in sys.argv[1:]] or list(SIZES)
    passage = riff(300)
    floor = ratio(partial(study_passage, passage), partial(a_thousand_passes, passage), rounds=5)
    print(f"300 notes: {floor:.0f} × a thousand passes over the columns")
    for manner in MANNERS:
        for has_chance in (False, True):
            print_growth(manner, sizes, has_chance=has_chance)


if __name__ == "__main__":
    main()
