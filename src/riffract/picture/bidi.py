"""Directions of writing: in which order the parts of a line stand that mixes left and right.

The Unicode bidirectional algorithm without explicit marks, isolates and paired brackets, which
titles of riffs do without; those are taken for neutral signs.

Source: Unicode Standard Annex 9, rules P2 to L2; the names of rules below are the annex's.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Final
from unicodedata import bidirectional

_STRONG: Final = frozenset({"L", "R", "AL"})
_NUMBERS: Final = frozenset({"EN", "AN"})
_KNOWN: Final = _STRONG | _NUMBERS | {"ES", "ET", "CS", "NSM", "S", "WS"}
_RIGHT: Final = frozenset({"R", "AL", "AN"})
_SPACES: Final = frozenset({"WS", "S"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """A part of a line that is written in one direction.

    Attributes:
        start: of its first character, in the order of reading.
        end: behind its last one.
        is_rightward: whether it is written from left to right.
    """

    start: int
    end: int
    is_rightward: bool


def visual_runs(text: str) -> tuple[Run, ...]:
    """Cut a line into runs of one direction, as they stand from left to right.

    >>> visual_runs("riff")
    (Run(start=0, end=4, is_rightward=True),)
    >>> [(run.start, run.is_rightward) for run in visual_runs("שלום 12")]
    [(5, True), (0, False)]
    """
    kinds = [bidirectional(sign) for sign in text]
    if _RIGHT.isdisjoint(kinds):
        return (Run(start=0, end=len(text), is_rightward=True),)
    levels = levels_of(text)
    runs = [list(run) for _, run in groupby(range(len(text)), key=lambda i: levels[i])]
    for level in range(max(levels), 0, -1):  # L2
        runs = _turned(runs, levels, level)
    return tuple(
        Run(start=run[0], end=run[-1] + 1, is_rightward=levels[run[0]] % 2 == 0) for run in runs
    )


def is_leftward(text: str) -> bool:
    """Say whether a text as a whole runs from right to left: whether its first letter does.

    >>> is_leftward("12 שלום riff"), is_leftward("riff שלום"), is_leftward("12")
    (True, False, False)
    """
    return _base_of([bidirectional(sign) for sign in text]) == 1


def _base_of(kinds: Sequence[str]) -> int:
    """Find the level of a paragraph: P2, P3."""
    first = next((kind for kind in kinds if kind in _STRONG), "L")
    return 0 if first == "L" else 1


def levels_of(text: str) -> tuple[int, ...]:
    """Give the level of each character: even is written to the right, odd to the left."""
    kinds = [kind if kind in _KNOWN else "ON" for kind in map(bidirectional, text)]
    base = _base_of(kinds)
    weak = _numbers_resolved(_marks_resolved(kinds, base), base)
    resolved = _neutrals_resolved(weak, base)
    levels = [_level(kind, base) for kind in resolved]
    is_end = True
    for i in reversed(range(len(kinds))):  # L1
        is_end = kinds[i] == "S" or (is_end and kinds[i] == "WS")
        levels[i] = base if is_end else levels[i]
    return tuple(levels)


def _marks_resolved(kinds: Sequence[str], base: int) -> list[str]:
    """Let marks go with their letters, and numbers with Arabic ones: W1 to W3."""
    start = _side(base)
    found = list(kinds)
    for i, kind in enumerate(found):  # W1
        if kind == "NSM":
            found[i] = found[i - 1] if i else start
    strong = start
    for i, kind in enumerate(found):  # W2
        strong = kind if kind in _STRONG else strong
        if kind == "EN" and strong == "AL":
            found[i] = "AN"
    return ["R" if kind == "AL" else kind for kind in found]  # W3


def _numbers_resolved(kinds: Sequence[str], base: int) -> list[str]:
    """Let the signs in and around numbers go with them: W4 to W7."""
    found = list(kinds)
    for i in range(1, len(found) - 1):  # W4
        before, after = found[i - 1], found[i + 1]
        if before == after and (
            (found[i] == "ES" and before == "EN") or (found[i] == "CS" and before in _NUMBERS)
        ):
            found[i] = before
    for kind, run in [(k, list(r)) for k, r in groupby(range(len(found)), found.__getitem__)]:
        beside = {found[i] for i in (run[0] - 1, run[-1] + 1) if 0 <= i < len(found)}
        if kind == "ET" and "EN" in beside:  # W5
            found[run[0] : run[-1] + 1] = ["EN"] * len(run)
    found = ["ON" if kind in {"ES", "ET", "CS"} else kind for kind in found]  # W6
    strong = _side(base)
    for i, kind in enumerate(found):  # W7
        strong = kind if kind in _STRONG else strong
        if kind == "EN" and strong == "L":
            found[i] = "L"
    return found


def _neutrals_resolved(kinds: Sequence[str], base: int) -> list[str]:
    """Let neutral signs go with what is on both sides, else with the line: N1, N2."""
    found = list(kinds)
    neutral = {"ON", "WS", "S"}
    runs = [
        (is_in, list(run))
        for is_in, run in groupby(range(len(found)), lambda i: found[i] in neutral)
    ]
    for is_neutral, run in runs:
        if is_neutral:
            before = _strong_side(found[run[0] - 1]) if run[0] else _side(base)
            after = _strong_side(found[run[-1] + 1]) if run[-1] + 1 < len(found) else _side(base)
            side = before if before == after else _side(base)
            found[run[0] : run[-1] + 1] = [side] * len(run)
    return found


def _level(kind: str, base: int) -> int:
    """Give the level of a resolved character: I1, I2."""
    if base % 2 == 0:
        return base + {"L": 0, "R": 1}.get(kind, 2)
    return base + (0 if kind == "R" else 1)


def _side(level: int) -> str:
    return "R" if level % 2 else "L"


def _strong_side(kind: str) -> str:
    return "L" if kind == "L" else "R"


def _turned(runs: list[list[int]], levels: Sequence[int], least: int) -> list[list[int]]:
    """Turn round the order of neighbouring runs of at least a level."""
    turned: list[list[int]] = []
    for is_high, some in groupby(runs, key=lambda run: levels[run[0]] >= least):
        own = list(some)
        turned += reversed(own) if is_high else own
    return turned
