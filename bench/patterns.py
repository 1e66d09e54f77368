"""How well patterns are found, on an open development set, and how long it takes.

The set lies beside the repository; without it only the times are printed.
Run from the repository: python -m bench.patterns
"""

import csv
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from math import log2
from pathlib import Path
from typing import Final

import numpy as np
from bench.pattern_metrics import Agreement, Occurrences, establishment, occurrence, three_layers
from bench.timing import machine, seconds
from numpy.typing import NDArray

from riffract.analysis.patterns.discovery import discover
from riffract.analysis.patterns.lines import PointSet, followers

Ids = NDArray[np.int64]

DEVELOPMENT_SET: Final = Path(__file__).parents[2] / "shared" / "data" / "jku"

TICKS: Final = 480
"""Per quarter: holds the thirty-seconds and triplets of the set."""

_ANNOTATORS: Final = {
    "monophonic": (
        "barlowAndMorgenstern",
        "barlowAndMorgensternRevised",
        "bruhn",
        "schoenberg",
        "sectionalRepetitions",
        "tomCollins",
    ),
    "polyphonic": (
        "barlowAndMorgensternRevised",
        "bruhn",
        "schoenberg",
        "sectionalRepetitions",
        "tomCollins",
    ),
}
"""Those that the set's readme says to use."""

PUBLISHED: Final = (
    "2014, test set of the task, best symbolic methods: three-layer F1 .53 to .61 (second hand)",
    "32 sonata movements (2025), another set: three-layer F1 .13 and .28 (second hand)",
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Piece:
    """A piece with its patterns as annotated; points are written as (ticks, MIDI pitch)."""

    name: str
    notes: list[tuple[int, int]]
    scale_step: Ids
    duration_ticks: Ids
    staff: Ids
    truth: list[list[frozenset[tuple[float, ...]]]]

    def points(self, *, in_steps: bool) -> PointSet:
        """Give its points, with pitch in steps of the staff or in semitones."""
        onset, pitch = np.array(self.notes, dtype=np.int64).T
        onset = onset - onset[0]
        line = followers(onset, onset + self.duration_ticks, pitch, part=self.staff)
        height = self.scale_step if in_steps else pitch
        return PointSet.of(onset, height, line, ticks_per_quarter=TICKS)

    def found(self, *, in_steps: bool) -> list[list[frozenset[tuple[float, ...]]]]:
        """Find its patterns."""
        return [
            [frozenset(self.notes[i] for i in place.points) for place in pattern.places]
            for pattern in discover(self.points(in_steps=in_steps))
        ]


def pieces(version: str) -> Iterator[Piece]:
    """Read the pieces of the development set; none if it is not there."""
    for folder in sorted(DEVELOPMENT_SET.glob(f"*/{version}")):
        (score,) = (folder / "csv").glob("*.csv")
        rows = {(_ticks(row[0]), int(row[1])): row for row in reversed(_rows(score))}
        notes = sorted(rows)
        columns = np.array([rows[note] for note in notes])
        yield Piece(
            name=folder.parent.name,
            notes=notes,
            scale_step=columns[:, 2].astype(np.int64),
            duration_ticks=np.round(columns[:, 3] * TICKS).astype(np.int64),
            staff=columns[:, 4].astype(np.int64),
            truth=list(_truth(folder / "repeatedPatterns", _ANNOTATORS[version])),
        )


def _truth(folder: Path, annotators: Sequence[str]) -> Iterator[list[frozenset[tuple[float, ...]]]]:
    for annotator in annotators:
        for pattern in sorted((folder / annotator).glob("*/occurrences/csv")):
            yield [
                frozenset((_ticks(row[0]), int(row[1])) for row in _rows(file))
                for file in sorted(pattern.glob("*.csv"))
            ]


def _rows(path: Path) -> list[list[float]]:
    with path.open(encoding="ascii", newline="") as file:
        return [[float(cell) for cell in row] for row in csv.reader(file) if row]


def _ticks(quarters: float) -> int:
    return round(quarters * TICKS)


MEASURES: Final[
    tuple[tuple[str, Callable[[Sequence[Occurrences], Sequence[Occurrences]], Agreement]], ...]
] = (
    ("establishment", establishment),
    ("occurrence .75", occurrence),
    ("occurrence .5", partial(occurrence, threshold=0.5)),
    ("three-layer", three_layers),
)


def agreements(version: str, *, in_steps: bool) -> Iterator[tuple[Piece, int, list[Agreement]]]:
    """Compare what is found in each piece with its annotations."""
    for piece in pieces(version):
        found = piece.found(in_steps=in_steps)
        yield piece, len(found), [measure(piece.truth, found) for _, measure in MEASURES]


def report(version: str, *, in_steps: bool) -> None:
    """Print the agreement for each piece and on average."""
    print(f"\n{version}, pitch in {'steps of the staff' if in_steps else 'semitones'}")
    heads = "".join(f"  {name:>15}" for name, _ in MEASURES)
    print(f"{'':22}notes true found{heads}      seconds\n{'':38}" + "     P    R   F1" * 4)
    values = []
    for piece, found, found_agreements in agreements(version, in_steps=in_steps):
        row = [v for a in found_agreements for v in (a.precision, a.recall, a.f1)]
        values.append(row)
        took = seconds(partial(piece.found, in_steps=in_steps))
        print(
            f"{piece.name:22}{len(piece.notes):5}{len(piece.truth):5}{found:6}  "
            f"{_numbers(row)}  {took:7.3f}"
        )
    print(f"{'mean':38}{_numbers(np.mean(values, axis=0).tolist())}")


def _numbers(row: Sequence[float]) -> str:
    return "  ".join(" ".join(f"{v:4.2f}" for v in row[i : i + 3]) for i in range(0, len(row), 3))


def many_notes(notes: int) -> PointSet:
    """Make a line of riffs of two bars, each with slips, in sections that come back later."""
    rng = np.random.default_rng(7)
    riffs = [rng.integers(0, 12, 16) for _ in range(max(notes // 400, 4))]
    row = np.concatenate(
        [riffs[k] for k in rng.integers(0, len(riffs), notes // 64 + 1) for _ in range(4)]
    )[:notes]
    slips = rng.random(len(row)) < 0.02
    height = np.where(slips, row + 1, row) + 40
    onset = np.arange(len(row)) * 2
    line = followers(onset, onset + 2, height)
    return PointSet.of(onset, height, line, ticks_per_quarter=4)


def report_times() -> None:
    """Print how long discovery takes on long lines, and how that grows."""
    print("\ntime")
    sizes, times = (300, 2000, 20_000, 100_000), []
    for size in sizes:
        points = many_notes(size)
        times.append(min(seconds(partial(discover, points)) for _ in range(3)))
        print(f"{size:7} notes: {times[-1]:7.3f} s")
    growth = log2(times[-1] / times[1]) / log2(sizes[-1] / sizes[1])
    print(f"growth exponent from {sizes[1]} on: {growth:.2f}")


def main() -> None:
    print(machine())
    if not DEVELOPMENT_SET.exists():
        print("the development set is not here")
    else:
        print("This is the DEVELOPMENT set: the method was chosen while looking at it.")
        for in_steps in (True, False):
            for version in _ANNOTATORS:
                report(version, in_steps=in_steps)
        print("\nPublished, for comparison, each on other pieces:")
        print("\n".join(f"  {line}" for line in PUBLISHED))
    report_times()


if __name__ == "__main__":
    main()
