"""How many planted mirrors are found, and how exactly; and how many are found where none are.

Run from the repository: python -m bench.mirrors [SEEDS]
"""

import sys
from collections import Counter

from tests.planted_mirrors import CONTROLS, PLANTED, Planted

from riffract.analysis.finding import Kind, Mirror
from riffract.weighing.study import WeighedFinding
from riffract.weighing.weigh import study_passage

UNPITCHED = {"rhythm", "weight", "density", "passes"}
COLUMNS = ("told", "solid", "axis", "core", "reach", "bends", "scale")


def found_in(planted: Planted) -> WeighedFinding | None:
    """The mirror of the planted kind that lies nearest to the planted axis."""
    mirrors = [
        (abs(f.finding.what.axis_quarters - planted.axis_quarters), f)
        for f in study_passage(planted.music).of_kind(Kind.MIRROR)
        if isinstance(f.finding.what, Mirror) and f.finding.what.of == planted.of
    ]
    return min(mirrors, key=lambda m: m[0])[1] if mirrors else None


def marks_of(planted: Planted) -> set[str]:
    found = found_in(planted)
    if found is None:
        return set()
    what = found.finding.what
    assert isinstance(what, Mirror)
    pairs = int(found.finding.measures["pairs"])
    first = min((d.at_quarters for d in what.deviations), default=what.right.end_quarters)
    onsets = planted.music.notes.onset_ticks
    core = sum(planted.music.notes.quarters(onsets[p.right]) < first for p in what.pairs)
    outside = any(p.semitones_off for p in what.pairs[planted.pairs :])
    outside &= planted.of not in UNPITCHED
    bends = [d.at_quarters for d in what.deviations]
    marks = {
        "told": True,
        "solid": found.is_solid,
        "axis": what.axis_quarters == planted.axis_quarters
        and what.axis_pitch == planted.axis_pitch,
        "core": min(core, planted.pairs) == planted.core_pairs or planted.of in UNPITCHED,
        "reach": planted.pairs <= pairs and not outside,
        "bends": bends == [at for at, _ in planted.bends],
        "scale": abs(what.scale / planted.scale - 1) < 0.02,
    }
    return {name for name, holds in marks.items() if holds}


def false_alarms(seeds: int) -> None:
    """Counts what is solid, by kind, in music that was drawn without any mirror."""
    for name, draw in CONTROLS.items():
        solid: Counter[str] = Counter()
        for seed in range(seeds):
            study = study_passage(draw(seed))
            for found in (*study.of_kind(Kind.MIRROR), *study.of_kind(Kind.GESTURE)):
                what = found.finding.what
                label = what.of if isinstance(what, Mirror) else "the shape"
                solid[label] += found.is_solid
        told = ", ".join(f"{count} {label}" for label, count in solid.items() if count) or "none"
        print(f"{name:28} {told} of {seeds}", flush=True)


def main(seeds: int) -> None:
    print(f"{'':28}" + "".join(f"{name:>8}" for name in COLUMNS))
    for name, plant in PLANTED.items():
        for walks in (False, True):
            counts: Counter[str] = Counter()
            for seed in range(seeds):
                counts.update(marks_of(plant(seed, walks=walks)))
            label = f"{name}, {'steps' if walks else 'leaps'}"
            print(f"{label:28}" + "".join(f"{counts[c]:8d}" for c in COLUMNS), flush=True)
    false_alarms(seeds)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 12)
