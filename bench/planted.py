"""Is what was put into a passage found, named, placed and called what it is?

Run from the repository: python -m bench.planted [--seeds 12] [--only NAME] [--list]

Prints for each sort of planted structure how many of the passages have it named, placed exactly,
and weighed as likely or as firm.
"""

import argparse
import sys
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from multiprocessing import Pool
from typing import Final

from bench.plants import PLANTS, Plant

from riffract.weighing.study import Verdict, WeighedFinding
from riffract.weighing.weigh import study_passage

MARKS: Final = ("named", "placed", "likely", "firm")
PROCESSES: Final = 2
SEEDS: Final = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Marked:
    """What a study made of a plant.

    Attributes:
        name: the sort of plant.
        seed: of the passage.
        marks: those of `MARKS` that it earned.
        told: the sentence of the best finding; empty if none is named right.
    """

    name: str
    seed: int
    marks: frozenset[str]
    told: str


def best_of(plant: Plant) -> WeighedFinding | None:
    """Give the finding that comes nearest to what was planted: named, then placed, then solid."""
    findings = study_passage(plant.music, earlier=plant.earlier).of_kind(plant.kind)
    named = [f for f in findings if plant.is_named(f.finding.what)]
    order = (Verdict.FIRM, Verdict.LIKELY)
    return max(
        named,
        key=lambda f: (plant.is_placed(f.finding), f.is_solid, f.verdict is order[0]),
        default=None,
    )


def marked(job: tuple[str, int]) -> Marked:
    """Study one plant and mark the answer."""
    name, seed = job
    plant = PLANTS[name](seed)
    found = best_of(plant)
    if found is None:
        return Marked(name=name, seed=seed, marks=frozenset(), told="")
    marks = {
        "named": True,
        "placed": plant.is_placed(found.finding),
        "likely": found.is_solid,
        "firm": found.verdict is Verdict.FIRM,
    }
    earned = frozenset(mark for mark, holds in marks.items() if holds)
    return Marked(name=name, seed=seed, marks=earned, told=found.finding.sentence)


def print_marks(done: Sequence[Marked], *, listed: bool) -> None:
    """Print a row for each sort of plant; what was missed is listed on demand."""
    print(f"{'planted':28}{'passages':>9}" + "".join(f"{mark:>8}" for mark in MARKS))
    for name in dict.fromkeys(one.name for one in done):
        here = [one for one in done if one.name == name]
        counts = Counter(mark for one in here for mark in one.marks)
        print(f"{name:28}{len(here):9d}" + "".join(f"{counts[mark]:8d}" for mark in MARKS))
        for one in here if listed else ():
            if not {"named", "placed", "likely"} <= one.marks:
                earned = ", ".join(mark for mark in MARKS if mark in one.marks) or "nothing"
                print(f"    seed {one.seed}: {earned}. {one.told}")


def main() -> None:
    parser = argparse.ArgumentParser(description="Is what was planted found?")
    parser.add_argument("--seeds", type=int, default=SEEDS, help="passages of each sort")
    parser.add_argument("--only", choices=list(PLANTS), help="one sort only")
    parser.add_argument("--list", action="store_true", help="list what was missed")
    asked = parser.parse_args()
    names = [asked.only] if asked.only else list(PLANTS)
    jobs = [(name, seed) for name in names for seed in range(asked.seeds)]
    done = []
    with Pool(PROCESSES) as pool:
        for one in pool.imap(marked, jobs, chunksize=2):
            done.append(one)
            if sys.stderr.isatty():
                print(f"\r{len(done)} of {len(jobs)}", end="", file=sys.stderr, flush=True)
    print_marks(done, listed=asked.list)


if __name__ == "__main__":
    main()
