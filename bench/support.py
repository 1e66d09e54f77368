"""What stands behind the verdicts on notes: `python -m bench.support [calibration|thresholds]`.

`calibration` prints what share of notes is right at an evidence, with mistakes put into texts
(`bench.hearing` counts how many of them are told). `thresholds` changes one setting at a time and
counts the verdicts that change.
"""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, Final

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from bench.heard_errors import Mistake, WrongText, with_mistakes
from bench.heard_scenes import Heard, can_play, heard, plain_scenes
from bench.hearing import JITTER_SECONDS, MISTAKES, true_alignment
from bench.hearing_metrics import struck_in, wilson

from riffract.sound.support import (
    NoteSupport,
    RivalKind,
    Support,
    SupportReport,
    explaining,
    lengths,
    moments,
    peers,
    pitch_shapes,
    support,
    unwritten,
    weigh_notes,
)

EVERY: Final = 3
LIMITS: Final = (-3.0, -2.0, -1.0, -0.3, 0.5, 1.0, 2.0, 3.0)
SETTINGS: Final[dict[str, tuple[tuple[Any, ...], tuple[Any, ...]]]] = {
    "ROUNDS": ((explaining,), (20, 80)),
    "LOUDNESS_POWER": ((explaining, pitch_shapes, lengths), (0.5, 0.75)),
    "SLICE_SECONDS": ((moments,), ((0.07, 0.1, 0.15), (0.07, 0.1, 0.15, 0.28, 0.4))),
    "SPREAD_CENTS": ((pitch_shapes,), (4.0, 16.0)),
    "LEAST_RISE": ((unwritten,), (0.3, 0.8)),
    "AGAIN": ((unwritten,), (-0.5, 0.5)),
    "CLEAR_STROKE": ((moments,), (0.3, 0.6)),
    "STANDS_OUT": ((moments,), (2.0, 6.0)),
    "BOTH": ((weigh_notes,), (-0.5, 0.5)),
    "TYPICAL_SHARE": ((peers,), (0.1, 0.4)),
    "STOP_DB": ((lengths,), (10.0, 20.0)),
    "RINGS_DB": ((lengths,), (6.0, 12.0)),
}
LENGTHS: Final = {Mistake.LONGER, Mistake.SHORTER}


def cases() -> Iterator[tuple[int, Heard]]:
    """Give every plain recording that this machine can make."""
    for seed, scene in enumerate(s for s in plain_scenes() if can_play(s)):
        yield seed, heard(scene)


def reported(case: Heard, seed: int) -> tuple[SupportReport, WrongText]:
    """Listen with mistakes in the text."""
    wrong = with_mistakes(case.text, MISTAKES, seed)
    alignment = struck_in(wrong.text, true_alignment(case, case.truth, JITTER_SECONDS))
    return support(wrong.text, alignment, case.recording), wrong


def calibration() -> None:
    """Print the share of notes whose pitch is right by evidence, clean and driven.

    A note that is written late is left out: its string may sound there, though it is struck before.
    """
    rows: dict[str, list[tuple[float, bool]]] = {"clean": [], "driven": []}
    for seed, case in cases():
        report, wrong = reported(case, seed)
        late = {e.note for e in wrong.errors if e.mistake is Mistake.ONSET}
        bad = {e.note for e in wrong.errors if e.mistake not in LENGTHS}
        rows["driven" if case.scene.voice.is_driven else "clean"] += [
            (v.evidence, v.note not in bad)
            for v in report.notes
            if v.evidence != 0.0 and v.note not in late and not _is_about_length(v)
        ]
    for sort, pairs in rows.items():
        print(f"{sort}: {len(pairs)} notes, {sum(not right for _, right in pairs)} wrong")
        for low, high in zip((-9.0, *LIMITS), (*LIMITS, 9.0), strict=True):
            held = [right for evidence, right in pairs if low <= evidence < high]
            interval = wilson(sum(held), len(held))
            print(
                f"  {low:5.1f} to {high:4.1f}: {len(held):5} notes, right "
                f"{sum(held) / max(len(held), 1):.3f} ({interval[0]:.2f}-{interval[1]:.2f})"
            )


def _is_about_length(verdict: NoteSupport) -> bool:
    kind = None if verdict.rival is None else verdict.rival.kind
    return kind in {RivalKind.LONGER, RivalKind.SHORTER}


@contextmanager
def changed(name: str, modules: tuple[Any, ...], value: Any) -> Iterator[None]:
    """Give a setting another value for a while, wherever it is read."""
    before = getattr(modules[0], name)
    for module in modules:
        setattr(module, name, value)
    try:
        yield
    finally:
        for module in modules:
            setattr(module, name, before)


def thresholds() -> None:
    """Print how many verdicts another setting changes, and how many turn into their contrary."""
    few = list(cases())[::EVERY]
    base = [reported(case, seed)[0] for seed, case in few]
    for name, (modules, values) in SETTINGS.items():
        for value in values:
            with changed(name, modules, value):
                other = [reported(case, seed)[0] for seed, case in few]
            pairs = [
                (mine.support, theirs.support)
                for one, two in zip(base, other, strict=True)
                for mine, theirs in zip(one.notes, two.notes, strict=True)
            ]
            moved = sum(mine is not theirs for mine, theirs in pairs)
            turned = sum(
                {mine, theirs} == {Support.BORNE_OUT, Support.CONTRADICTED}
                for mine, theirs in pairs
            )
            extra = sum(len(r.unwritten) for r in other) - sum(len(r.unwritten) for r in base)
            print(
                f"{name} {value}: of {len(pairs)} verdicts {moved} differ, {turned} are turned "
                f"round; unwritten {extra:+}", flush=True,
            )  # fmt: skip


if __name__ == "__main__":
    calibration() if sys.argv[1:] == ["calibration"] else thresholds()
