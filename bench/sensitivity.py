"""What changes when a threshold of the analyses or of the weighing is moved.

Run from the repository: python -m bench.sensitivity [SHARE]

Each threshold is made smaller and larger by a share (a quarter if not said), whole numbers by one
at least; the demo's passage is studied again, and what is no longer solid, or newly so, is told.
"""

import sys
from collections import Counter
from importlib.resources import files

from bench.timing import machine
from tools.thresholds import Threshold, moved, neighbours, thresholds

from riffract.formats.reading import read_bytes
from riffract.music import Passage
from riffract.weighing.study import Study
from riffract.weighing.weigh import study_passage

SHARE = 0.25


def demo_passage() -> Passage:
    """Read the passage of the built-in essay."""
    data = files("riffract.demo").joinpath("passage.tab").read_bytes()
    passage = read_bytes(data, source="passage.tab").passage
    if passage is None:
        raise ValueError("the demo's passage cannot be read")
    return passage


def solid(study: Study) -> Counter[str]:
    """Count what is solid, by kind."""
    return Counter(str(one.finding.kind) for one in study.findings if one.is_solid)


def difference(before: Counter[str], after: Counter[str]) -> str:
    """Say what was lost and what was gained."""
    lost = [f"−{count} {kind}" for kind, count in sorted((before - after).items())]
    gained = [f"+{count} {kind}" for kind, count in sorted((after - before).items())]
    return " ".join([*lost, *gained]) or "–"


def after_moving(
    threshold: Threshold, value: float, passage: Passage, as_it_is: Counter[str]
) -> str:
    """Say what changes; some numbers cannot be moved, since others are built on them."""
    try:
        with moved(threshold, value):
            return difference(as_it_is, solid(study_passage(passage)))
    except (ValueError, IndexError, TypeError, ZeroDivisionError) as error:
        return f"cannot be: {error}"


def main() -> None:
    share = float(sys.argv[1]) if len(sys.argv) > 1 else SHARE
    passage = demo_passage()
    as_it_is = solid(study_passage(passage))
    print(machine())
    print(f"solid: {', '.join(f'{count} {kind}' for kind, count in sorted(as_it_is.items()))}")
    print(f"each threshold smaller and larger by {share:.0%}:")
    same = 0
    every = thresholds()
    for threshold in every:
        told = [
            (value, after_moving(threshold, value, passage, as_it_is))
            for value in neighbours(threshold.value, share)
        ]
        if all(text == "–" for _, text in told):
            same += 1
            continue
        name = f"{threshold.module.removeprefix('riffract.')}.{threshold.name}"
        print(f"{name} = {threshold.value:g}: {'; '.join(f'{v:g} {text}' for v, text in told)}")
    print(f"{same} of {len(every)} thresholds change nothing")


if __name__ == "__main__":
    main()
