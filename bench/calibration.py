"""Are the verdicts honest? Random passages in many manners, and how often something is claimed.

Run from the repository: python -m bench.calibration [--seeds 100] [--only NAME] [--list]

Prints two tables. The first counts, for each manner, the passages in which anything false is called
likely or firm; at q ≤ 0.05 that may happen in one passage of twenty. The second sets, for each
kind, how often p values are as small as they say against how often they may be. An interval that
lies wholly above the nominal share (Clopper & Pearson 1934, 99 %) is marked.
"""

import argparse
import sys
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from multiprocessing import Pool
from typing import Final

from bench.controls import CONTROLS, Control
from scipy.stats import beta

from riffract.analysis.finding import Kind
from riffract.weighing.questions import question_of
from riffract.weighing.study import WeighedFinding
from riffract.weighing.verdict import LIKELY_Q
from riffract.weighing.weigh import study_passage

LEVELS: Final = (0.01, 0.05, 0.1, 0.2)
CONFIDENCE: Final = 0.99
PROCESSES: Final = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What one control gave.

    Attributes:
        control: the manner.
        seed: of the passage.
        false_claims: sentences of what was called solid though nothing was put there.
        labels: their kinds, in the same order.
        p_values: of everything tested that is not true by construction, by label.
    """

    control: str
    seed: int
    false_claims: tuple[str, ...]
    labels: tuple[str, ...]
    p_values: Mapping[str, tuple[float, ...]]


def is_false(found: WeighedFinding, control: Control) -> bool:
    """Tell whether a finding holds by chance only, as this manner of music is made."""
    kind = found.finding.kind
    if kind is Kind.COLLECTION_CHANGE:
        return True
    return kind not in control.true_kinds


def outcome(job: tuple[str, int]) -> Outcome:
    """Study one control."""
    name, seed = job
    control = CONTROLS[name]
    found = [f for f in study_passage(control.draw(seed)).findings if is_false(f, control)]
    p_values: dict[str, list[float]] = defaultdict(list)
    for one in found:
        if one.chance is not None:
            p_values[question_of(one.finding)].append(one.chance.p)
    solid = [f.finding for f in found if f.is_solid]
    return Outcome(
        control=name,
        seed=seed,
        false_claims=tuple(f.sentence for f in solid),
        labels=tuple(question_of(f) for f in solid),
        p_values={k: tuple(v) for k, v in p_values.items()},
    )


def interval(hits: int, trials: int) -> tuple[float, float]:
    """Give the exact interval of a share (Clopper & Pearson, Biometrika 26/4 (1934), 404-413)."""
    outside = (1.0 - CONFIDENCE) / 2.0
    low = float(beta.ppf(outside, hits, trials - hits + 1)) if hits else 0.0
    high = float(beta.ppf(1.0 - outside, hits + 1, trials - hits)) if hits < trials else 1.0
    return low, high


def outcomes(names: Sequence[str], seeds: int) -> Iterator[list[Outcome]]:
    """Study all controls on both cores, and give them manner by manner.

    Tells how far it is where a person looks on.
    """
    jobs = [(name, seed) for name in names for seed in range(seeds)]
    done: list[Outcome] = []
    with Pool(PROCESSES) as pool:
        for number, one in enumerate(pool.imap(outcome, jobs, chunksize=2), start=1):
            done.append(one)
            if sys.stderr.isatty():
                print(f"\r{number} of {len(jobs)}\r", end="", file=sys.stderr, flush=True)
            if number % seeds == 0:
                yield done
                done = []


def _share(hits: int, trials: int, nominal: float) -> str:
    mark = " !" if interval(hits, trials)[0] > nominal else "  "
    return f"{hits / trials:7.3f}{mark}"


def print_claims(here: Sequence[Outcome], *, listed: bool) -> None:
    """Print how many passages of one manner hold a false claim, and of which kind."""
    wrong = [one for one in here if one.false_claims]
    kinds = Counter(kind for one in wrong for kind in set(one.labels))
    told = ", ".join(f"{count} {kind}" for kind, count in kinds.most_common()) or "-"
    share = _share(len(wrong), len(here), LIKELY_Q)
    print(f"{here[0].control:26}{len(here):9d}{len(wrong):10d}{share}   {told}", flush=True)
    for one in wrong if listed else ():
        for kind, sentence in zip(one.labels, one.false_claims, strict=True):
            print(f"    seed {one.seed}: {kind}: {sentence}")


def print_p_values(done: Sequence[Outcome]) -> None:
    """Print for each kind how many passages hold a p value so small, all of that kind counted.

    Where a kind asks several questions of one passage, its least p value times their number counts
    (Bonferroni), so that the share of passages may not exceed the level.
    """
    kinds = sorted({kind for one in done for kind in one.p_values})
    print(f"\n{'kind':32}{'passages':>9}" + "".join(f"   p ≤ {level:<4}" for level in LEVELS))
    for kind in kinds:
        least = [min(p) * len(p) for one in done for k, p in one.p_values.items() if k == kind]
        trials = len(done)
        counts = [sum(p <= level for p in least) for level in LEVELS]
        cells = "".join(
            f" {_share(count, trials, level)}" for count, level in zip(counts, LEVELS, strict=True)
        )
        print(f"{kind:32}{len(least):9d}{cells}")


def main() -> None:
    parser = argparse.ArgumentParser(description="How often random music is claimed about.")
    parser.add_argument("--seeds", type=int, default=100, help="passages of each manner")
    parser.add_argument("--only", choices=list(CONTROLS), help="one manner only")
    parser.add_argument("--list", action="store_true", help="list every false claim")
    asked = parser.parse_args()
    names = [asked.only] if asked.only else list(CONTROLS)
    print(f"{'manner':26}{'passages':>9}{'with false claims':>19}   of which kind")
    done: list[Outcome] = []
    for here in outcomes(names, asked.seeds):
        print_claims(here, listed=asked.list)
        done += here
    print_p_values(done)
    wrong = sum(bool(one.false_claims) for one in done)
    low, high = interval(wrong, len(done))
    print(
        f"\nAll: {wrong} of {len(done)} passages, {wrong / len(done):.2%} "
        f"({CONFIDENCE:.0%} interval {low:.2%} to {high:.2%}); {LIKELY_Q:.0%} is nominal."
    )


if __name__ == "__main__":
    main()
