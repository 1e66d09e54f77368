"""Are scales, their changes, drones, anchors and set classes found where they were put?

Run from the repository: python -m bench.harmony [--seeds 12] [--kind NAME] [--list]

Composes short riffs from a known scale, string or set class, and prints for each kind of them how
often it is named, how often it is called likely or firm, and where a change stands. Random
passages, in which nothing was put, are `bench.calibration`'s part.
"""

import argparse
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from multiprocessing import Pool
from typing import Final

import numpy as np
from bench.controls import FOUR_FOUR, LOWEST, SEVEN_EIGHT, scale_between, spelled, values
from tests.making import Spelled, passage

from riffract.analysis.collections.form import FAMILIES
from riffract.analysis.finding import Anchor, Collection, CollectionChange, Drone, Kind, Sonority
from riffract.analysis.pitch_class_set import mask_of, transposed
from riffract.music import Passage
from riffract.weighing.study import Study, WeighedFinding
from riffract.weighing.weigh import study_passage

Draw = np.random.Generator
Marks = Mapping[str, bool]
ON_ZERO: Final = {family.name: family.on_zero for family in FAMILIES}
STATEMENTS: Final = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Planted:
    """A passage and how to mark what a study says of it."""

    music: Passage
    marks: Callable[[Study], Marks]


def members(family: str, tonic: int) -> tuple[int, ...]:
    """Give the pitch classes of a form."""
    return tuple((pc + tonic) % 12 for pc in ON_ZERO[family])


def line_in(
    rng: Draw, pcs: Sequence[int], count: int, *, low: int = 41, high: int = 62
) -> list[int]:
    """Draw a line in a scale that moves mostly by step and shows every member twice or more."""
    scale = scale_between(low, high, 0, pcs)
    for _ in range(500):
        at, line = int(rng.integers(len(scale))), []
        for step in rng.choice([-3, -2, -1, -1, 1, 1, 2, 3], count).tolist():
            at = at + step if 0 <= at + step < len(scale) else at - step
            at = min(max(at, 0), len(scale) - 1)
            line.append(scale[at])
        shown = [pitch % 12 for pitch in line]
        if all(shown.count(pc) >= 2 for pc in pcs):
            return line
    return line


def _riff(line: Sequence[int], rng: Draw, *, times: int = STATEMENTS) -> Passage:
    return passage(spelled(line, values(rng, len(line))) * times, metres=[SEVEN_EIGHT])


def _best_collection(study: Study) -> tuple[WeighedFinding, Collection] | None:
    found = [
        (f, f.finding.what)
        for f in study.of_kind(Kind.COLLECTION)
        if isinstance(f.finding.what, Collection) and not f.finding.what.with_drone
    ]
    return max(found, key=lambda x: len(x[0].finding.notes), default=None)


def _marks_of_form(study: Study, family: str, pcs: Sequence[int]) -> Marks:
    best = _best_collection(study)
    if best is None:
        return {"family": False, "form": False, "solid": False}
    weighed, what = best
    return {
        "family": what.family == family,
        "form": mask_of(what.pcs) == mask_of(pcs),
        "solid": weighed.is_solid,
        "one form": len(study.of_kind(Kind.COLLECTION_CHANGE)) == 0,
    }


def whole(family: str, *, foreign: int = 0, count: int = 22) -> Callable[[int], Planted]:
    """Plant a riff in one form, with some foreign passing notes."""

    def draw(seed: int) -> Planted:
        rng = np.random.default_rng(seed)
        pcs = members(family, int(rng.integers(12)))
        line = line_in(rng, pcs, count)
        outside = [p for p in range(45, 58) if p % 12 not in pcs]
        for place in rng.choice(np.arange(2, count - 2), foreign, replace=False).tolist():
            line[place] = outside[int(rng.integers(len(outside)))]
        return Planted(music=_riff(line, rng), marks=lambda s: _marks_of_form(s, family, pcs))

    return draw


def fragment(family: str, size: int) -> Callable[[int], Planted]:
    """Plant a riff in some members of a form: the form should be among those named, not solid."""

    def draw(seed: int) -> Planted:
        rng = np.random.default_rng(seed)
        pcs = members(family, int(rng.integers(12)))
        part = rng.choice(pcs, size, replace=False).tolist()
        line = line_in(rng, part, 16)

        def marks(study: Study) -> Marks:
            best = _best_collection(study)
            if best is None:
                return {"named": False, "solid": False}
            weighed, what = best
            also = getattr(what, "also_in", ())
            wanted = {mask_of(what.pcs)} | {_mask_of_name(name) for name in also}
            return {
                "named": mask_of(pcs) in wanted or mask_of(pcs) == mask_of(what.pcs),
                "solid": weighed.is_solid,
            }

        return Planted(music=_riff(line, rng), marks=marks)

    return draw


def _mask_of_name(name: str) -> int:
    from riffract.analysis.collections.form import FORMS

    return next(form.mask for form in FORMS if form.name == name)


def change(first: str, second: str, by: int | None, *, by_limb: bool) -> Callable[[int], Planted]:
    """Plant two forms in turn: by limb (up in one, down in the other), or every four bars."""

    def draw(seed: int) -> Planted:
        rng = np.random.default_rng(seed)
        tonic = int(rng.integers(12))
        a = members(first, tonic)
        b = members(second, tonic + (int(rng.integers(1, 3)) if by is None else by))
        half = Fraction(1, 2)
        line: list[Spelled] = []
        if by_limb:
            up, down = scale_between(40, 62, 0, a), scale_between(40, 62, 0, b)[::-1]
            line += [(p, half) for p in up]
            line += [(p, Fraction(1, 4)) for p in down]
            at = half * len(up)
            line = line * STATEMENTS
        else:
            line += [(p, half) for p in line_in(rng, a, 32) + line_in(rng, b, 32)]
            at = half * 32
        music = passage(line, metres=[FOUR_FOUR])

        def marks(study: Study) -> Marks:
            for weighed in study.of_kind(Kind.COLLECTION_CHANGE):
                what = weighed.finding.what
                if (
                    isinstance(what, CollectionChange)
                    and mask_of(what.from_pcs) == mask_of(a)
                    and mask_of(what.to_pcs) == mask_of(b)
                ):
                    near = min(abs(s.start_quarters - at) for s in weighed.finding.spans)
                    return {"found": True, "place": near <= 1, "solid": weighed.is_solid}
            return {"found": False, "place": False, "solid": False}

        return Planted(music=music, marks=marks)

    return draw


def over_open_string(family: str, *, inside: bool) -> Callable[[int], Planted]:
    """Plant a scale under a ringing open D that belongs to it, or does not."""

    def draw(seed: int) -> Planted:
        rng = np.random.default_rng(seed)
        ways = [t for t in range(12) if (2 in members(family, t)) is inside]
        pcs = members(family, ways[int(rng.integers(len(ways)))])
        # Not on the ringing string itself: above it, from the third string up.
        line = line_in(rng, pcs, 20, low=56, high=74)
        rows: list[Spelled] = [
            ((50, p) if i == 0 else p, v)
            for i, (p, v) in enumerate(zip(line, values(rng, 20), strict=True))
        ]
        music = passage(rows * STATEMENTS, metres=[SEVEN_EIGHT], ringing=[50])

        def marks(study: Study) -> Marks:
            drone = study.of_kind(Kind.DRONE)
            return {
                **_marks_of_form(study, family, pcs),
                "drone": any(d.is_solid for d in drone),
            }

        return Planted(music=music, marks=marks)

    return draw


def drone(position: str) -> Callable[[int], Planted]:
    """Plant a ringing open D with a voice above, below, on either side, or over a ringing bass."""

    def draw(seed: int) -> Planted:
        rng = np.random.default_rng(seed)
        pcs = members("diatonic", int(rng.integers(12)))
        lows, highs = scale_between(36, 49, 0, pcs), scale_between(56, 72, 0, pcs)
        upper = [highs[k] for k in rng.integers(0, len(highs), 12)]
        lower = [lows[k] for k in rng.integers(0, len(lows), 12)]
        line = {
            "below": upper + upper[::-1],
            "above": lower + lower[::-1],
            "crossing": lower[:6] + upper[:6] + lower[6:] + upper[6:],
            "middle": upper,
        }[position]
        held = (50, 35) if position == "middle" else (50,)
        rows: list[Spelled] = [
            ((*held, p) if i == 0 else p, Fraction(1, 2)) for i, p in enumerate(line)
        ]
        music = passage(rows * STATEMENTS, metres=[SEVEN_EIGHT], ringing=held)

        def marks(study: Study) -> Marks:
            for weighed in study.of_kind(Kind.DRONE):
                what = weighed.finding.what
                if isinstance(what, Drone) and what.pitch == 50:
                    return {
                        "found": True,
                        "position": what.position == position,
                        "solid": weighed.is_solid,
                    }
            return {"found": False, "position": False, "solid": False}

        return Planted(music=music, marks=marks)

    return draw


def anchor(seed: int) -> Planted:
    """Plant a riff that answers the low string with its semitone more than half of the time."""
    rng = np.random.default_rng(seed)
    rows: list[Spelled] = []
    others = [LOWEST + n for n in (12, 13, 14, 15, 17, 18, 20, 22)]
    for _ in range(24):
        rows += [(LOWEST, Fraction(1, 4))] * int(rng.integers(1, 4))
        pitch = LOWEST + 13 if rng.random() < 0.55 else others[int(rng.integers(len(others)))]
        rows.append((pitch, Fraction(1, 2)))
    music = passage(rows, metres=[FOUR_FOUR], muted=[LOWEST])

    def marks(study: Study) -> Marks:
        found = [f for f in study.of_kind(Kind.ANCHOR) if isinstance(f.finding.what, Anchor)]
        return {"found": bool(found), "solid": any(f.is_solid for f in found)}

    return Planted(music=music, marks=marks)


def trichord(shape: tuple[int, int]) -> Callable[[int], Planted]:
    """Plant one three-note cell at many places, upright or turned, with other notes between."""

    def draw(seed: int) -> Planted:
        rng = np.random.default_rng(seed)
        line: list[int] = []
        for _ in range(14):
            root = int(rng.integers(41, 55))
            cell = [root, root + shape[0], root + shape[1]]
            turned = [2 * root + shape[1] - p for p in cell]
            line += list(rng.permutation(cell if rng.random() < 0.5 else turned))
        music = passage([(int(p), Fraction(1, 2)) for p in line], metres=[SEVEN_EIGHT])
        return Planted(music=music, marks=lambda s: _marks_of_class(s, shape, "in_succession"))

    return draw


def chords(shape: tuple[int, int]) -> Callable[[int], Planted]:
    """Plant chords of one set class on many roots, in two voicings, with single notes between."""

    def draw(seed: int) -> Planted:
        rng = np.random.default_rng(seed)
        rows: list[Spelled] = []
        for _ in range(16):
            root = int(rng.integers(40, 50))
            other = (root, root + shape[0] + 12, root + shape[1])
            rows.append(
                ((root, root + shape[0], root + shape[1]) if rng.random() < 0.5 else other, 1)
            )
            rows += [(int(p), Fraction(1, 2)) for p in rng.integers(45, 60, 2)]
        music = passage(rows, metres=[FOUR_FOUR])
        return Planted(music=music, marks=lambda s: _marks_of_class(s, shape, "struck"))

    return draw


def _marks_of_class(study: Study, shape: tuple[int, int], how: str) -> Marks:
    mask = mask_of((0, *shape))
    same = {transposed(m, n) for n in range(12) for m in (mask, mask_of((0, -shape[0], -shape[1])))}
    for weighed in study.of_kind(Kind.SONORITY):
        what = weighed.finding.what
        if isinstance(what, Sonority) and what.how == how and mask_of(what.prime_form) in same:
            return {"found": True, "solid": weighed.is_solid}
    return {"found": False, "solid": False}


KINDS: Final[Mapping[str, Callable[[int], Planted]]] = {
    "hexatonic": whole("hexatonic"),
    "octatonic": whole("octatonic"),
    "whole-tone": whole("whole-tone"),
    "acoustic": whole("acoustic"),
    "harmonic minor": whole("harmonic minor"),
    "pentatonic": whole("pentatonic"),
    "diatonic": whole("diatonic"),
    "hexatonic, 1 foreign": whole("hexatonic", foreign=1),
    "diatonic, 1 foreign": whole("diatonic", foreign=1, count=28),
    "diatonic, 2 foreign": whole("diatonic", foreign=2, count=28),
    "4 of a hexatonic": fragment("hexatonic", 4),
    "5 of an octatonic": fragment("octatonic", 5),
    "hexatonic, limbs": change("hexatonic", "hexatonic", None, by_limb=True),
    "octatonic, limbs": change("octatonic", "octatonic", None, by_limb=True),
    "hexatonic, bars": change("hexatonic", "hexatonic", None, by_limb=False),
    "whole-tone to octatonic, bars": change("whole-tone", "octatonic", 0, by_limb=False),
    "diatonic to diatonic, bars": change("diatonic", "diatonic", 2, by_limb=False),
    "hexatonic, drone inside": over_open_string("hexatonic", inside=True),
    "hexatonic, drone outside": over_open_string("hexatonic", inside=False),
    "drone below": drone("below"),
    "drone above": drone("above"),
    "drone crossing": drone("crossing"),
    "drone in the middle": drone("middle"),
    "anchor, semitone": anchor,
    "trichord 014": trichord((1, 4)),
    "trichord 016": trichord((1, 6)),
    "chords 015": chords((1, 5)),
}


def marks_of(job: tuple[str, int]) -> tuple[str, int, Marks]:
    """Study one planted passage and mark the answer."""
    name, seed = job
    planted = KINDS[name](seed)
    return name, seed, planted.marks(study_passage(planted.music))


def main() -> None:
    """Print a row for each kind."""
    parser = argparse.ArgumentParser(description=__doc__, allow_abbrev=False)
    parser.add_argument("--seeds", type=int, default=12)
    parser.add_argument("--kind", action="append", choices=list(KINDS))
    parser.add_argument("--list", action="store_true", help="list the seeds that miss")
    chosen = parser.parse_args()
    names = chosen.kind or list(KINDS)
    with Pool(2) as pool:
        done = pool.map(marks_of, [(n, s) for n in names for s in range(chosen.seeds)], chunksize=2)
    for name in names:
        rows = [(seed, marks) for n, seed, marks in done if n == name]
        keys = dict.fromkeys(key for _, marks in rows for key in marks)
        shown = "  ".join(f"{k} {sum(m.get(k, False) for _, m in rows)}/{len(rows)}" for k in keys)
        print(f"{name:32}{shown}")
        if chosen.list:
            for key in keys:
                missed = [seed for seed, marks in rows if not marks.get(key, False)]
                print(f"    not {key}: {missed}")


if __name__ == "__main__":
    main()
