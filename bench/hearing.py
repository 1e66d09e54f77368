"""Everything that can be measured about listening, on recordings whose truth is known.

Run from the repository: python -m bench.hearing [--quick] [--family NAME] [--only align|support]

Prints how far attacks are from the truth, by family and by voice, the voices that nothing was tuned
on apart from the others; the worst recordings, and those that fail silently; then, for texts with
mistakes put into them, how many are told.
"""

import argparse
import sys
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from time import process_time
from typing import Any, Final

import numpy as np
from bench.heard_errors import Mistake, with_mistakes
from bench.heard_playing import Truth
from bench.heard_scenes import FOLDER, Heard, Scene, can_play, heard, plain_scenes, varied_scenes
from bench.hearing_metrics import (
    Doubting,
    Placing,
    alignment_of,
    doubting,
    placing,
    pooled,
    struck_in,
    summary,
    wilson,
)

from riffract.sound.alignment import align
from riffract.sound.alignment.alignment import Alignment, Checks
from riffract.sound.sound import SoundProblem

TOLD_BAD_SECONDS: Final = 0.1
"""Whoever is this far off in one attack of twenty must say so: its checks ought to look bad."""

MISTAKES: Final = dict.fromkeys(Mistake, 1) | {Mistake.FRET: 2}
JITTER_SECONDS: Final = 0.01
QUICK_EVERY: Final = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Tried:
    """What became of one recording; `held` is `None` where it was refused."""

    scene: Scene
    held: Placing | None
    checks: Checks | None
    refusal: str
    cpu_share: float

    @property
    def is_bad(self) -> bool:
        """Tell whether more than one attack of twenty is missed or far off."""
        if self.held is None:
            return False
        far = sum(abs(e) > TOLD_BAD_SECONDS for e in self.held.errors_seconds) + self.held.missed
        return far > (len(self.held.errors_seconds) + self.held.missed) / 20


def tried(scene: Scene) -> Tried:
    """Align one recording and hold the result against its truth."""
    case = heard(scene)
    started = process_time()
    found = align(case.text, case.recording)
    cpu_share = (process_time() - started) / case.recording.length_seconds
    if isinstance(found, SoundProblem):
        return Tried(scene=scene, held=None, checks=None, refusal=found.what, cpu_share=cpu_share)
    return Tried(
        scene=scene, held=placing(case.truth, found), checks=found.checks, refusal="",
        cpu_share=cpu_share,
    )  # fmt: skip


def true_alignment(case: Heard, truth: Truth, jitter_seconds: float, seed: int = 1) -> Alignment:
    """Make an alignment from the truth, each attack off by a little."""
    rng = np.random.default_rng(seed)
    return alignment_of(
        truth,
        case.text.length_quarters,
        off_seconds=lambda: float(rng.normal(0.0, jitter_seconds)),
        half_seconds=0.01 + 2.0 * jitter_seconds,
    )


def doubted(case: Heard, way: str, seed: int) -> Doubting | None:
    """Put mistakes into the text of a recording and see which are told.

    Args:
        case: the recording.
        way: `true`, `jitter` or `aligned`: where the times come from.
        seed: of the mistakes.

    Returns:
        The outcome; `None` if the recording was refused.
    """
    wrong = with_mistakes(case.text, MISTAKES, seed)
    alignment: Alignment | SoundProblem
    if way == "aligned":
        alignment = align(wrong.text, case.recording)
        if isinstance(alignment, SoundProblem):
            return None
    else:
        jitter_seconds = JITTER_SECONDS if way == "jitter" else 0.0
        alignment = struck_in(wrong.text, true_alignment(case, case.truth, jitter_seconds))
    return doubting(wrong.errors, _SUPPORT(wrong.text, alignment, case.recording))


_SUPPORT: Any = getattr(import_module("riffract.sound.support"), "support", None)
"""Looked up by name: its package has a module of the same name, which hides a missing function."""


# ---- printing ------------------------------------------------------------------------------------


def print_placing(results: Sequence[Tried]) -> None:
    """Print the tables of alignment."""
    head = f"{'':24}{'recs':>5}{'attacks':>8}{'med':>7}{'p95':>8}{'max':>8}"
    head += (
        f"{'≤20':>6}{'≤50':>6}{'≤100':>6}{'F50':>6}{'cover':>7}{'cents':>7}{'parts':>7}{'no':>4}"
    )
    groups: dict[str, list[Tried]] = defaultdict(list)
    for result in results:
        groups["all"].append(result)
        held_out = result.scene.voice.is_held_out
        groups["held out" if held_out else "development"].append(result)
        groups[f"· {result.scene.family}"].append(result)
        groups[f"~ {result.scene.voice}"].append(result)
    print(head + "   (ms; shares; median |cents|; parts right; refused)")
    for name in sorted(groups, key=lambda name: (name[0] in "·~", name)):
        print(_placing_row(name, groups[name]))
    bad = [r for r in results if r.is_bad]
    print(f"\nMore than one attack in twenty missed or over 100 ms off: {len(bad)} recordings")
    for result in bad:
        print("  " + _bad_row(result))
    for result in results:
        if result.held and not result.held.stretches_right:
            print(f"  other parts: {result.scene.name}, missed {result.held.missed}")
        if result.held is None:
            print(f"  refused: {result.scene.name}: {result.refusal}")
    print(f"Processor time a second of sound: {np.median([r.cpu_share for r in results]):.3f} s")


def _placing_row(name: str, results: Sequence[Tried]) -> str:
    held = [r.held for r in results if r.held]
    row = f"{name:24}{len(results):5}"
    if held:
        s = summary(held)
        row += f"{s.attacks:8}{s.median_ms:7.1f}{s.p95_ms:8.1f}{s.max_ms:8.0f}"
        row += f"{s.within_20:6.2f}{s.within_50:6.2f}{s.within_100:6.2f}"
        row += f"{np.mean([p.onset_f for p in held]):6.2f}{s.coverage:7.2f}"
        row += f"{np.median([abs(p.reference_cents) for p in held]):7.1f}"
        row += f"{np.mean([p.stretches_right for p in held]):7.2f}"
    return f"{row}{len(results) - len(held):4}"


def _bad_row(result: Tried) -> str:
    assert result.held is not None
    assert result.checks is not None
    s, c = summary([result.held]), result.checks
    return (
        f"{result.scene.name}: median {s.median_ms:.0f} ms, within 100 ms {s.within_100:.2f}, "
        f"missed {result.held.missed}, invented {result.held.invented}; checks say: residual "
        f"{c.residual_share:.2f} (chance {c.chance_share:.2f}), agreement "
        f"{c.agreement_share:.2f}, stability {1000 * c.stability_seconds:.0f} ms, "
        f"heard {c.heard_share:.2f}"
    )


def print_doubting(results: Mapping[str, Sequence[Doubting]]) -> None:
    """Print the tables of support."""
    print(f"\n{'':30}{'texts':>6}{'recall':>16}{'precision':>18}{'F':>6}{'false/100':>11}")
    for name, held in results.items():
        both = pooled(held)
        planted = sum(f.planted for f in both.by_mistake.values())
        print(
            f"{name:30}{len(held):6}   {_share(both.found, planted)}  "
            f"{_share(both.found, both.found + both.false_alarms)}{both.f:6.2f}"
            f"{100 * both.false_alarms / max(both.right_notes, 1):10.1f}"
        )
        for mistake, found in both.by_mistake.items():
            named = f"named rightly {found.named}"
            print(f"    {mistake:26}{'':6}   {_share(found.found, found.planted)}  {named}")


def _share(found: int, of: int) -> str:
    low, high = wilson(found, of)
    return f"{found / max(of, 1):.2f} ({low:.2f}–{high:.2f})"


def scenes(*, family: str | None, is_quick: bool) -> Iterable[Scene]:
    """Choose the recordings that this machine can make."""
    usable = [s for s in (*plain_scenes(), *varied_scenes()) if can_play(s)]
    chosen = [s for s in usable if family in {None, s.family}]
    return chosen[::QUICK_EVERY] if is_quick else chosen


def measured_support(chosen: Iterable[Scene]) -> dict[str, list[Doubting]]:
    """Put mistakes into the text of every recording that plays its text once."""
    results: dict[str, list[Doubting]] = defaultdict(list)
    for seed, scene in enumerate(s for s in chosen if s.parts is None):
        for way in ("true", "jitter", "aligned"):
            held = doubted(heard(scene), way, seed)
            if held is not None:
                sort = "driven" if scene.voice.is_driven else "clean"
                out = "held out" if scene.voice.is_held_out else "development"
                results[f"{way}, {sort}, {out}"].append(held)
    return dict(sorted(results.items()))


def main(arguments: Sequence[str]) -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help=f"one recording in {QUICK_EVERY}")
    parser.add_argument("--family", help="only this family of recordings")
    parser.add_argument("--only", choices=("align", "support"))
    given = parser.parse_args(arguments)
    chosen = list(scenes(family=given.family, is_quick=given.quick))
    Path(FOLDER).mkdir(parents=True, exist_ok=True)
    if given.only != "support":
        print_placing([tried(scene) for scene in chosen])
    if given.only != "align" and callable(_SUPPORT):
        print_doubting(measured_support(chosen))


if __name__ == "__main__":
    main(sys.argv[1:])
