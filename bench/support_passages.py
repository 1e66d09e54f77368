"""Mistakes put into the texts of the shared recordings: `python -m bench.support_passages`.

Recordings that none of our code made, with tables of what they play; they are only read. Each is
listened to with the table's own times and with those that `align` finds for the wrong text.
"""

import csv
import json
import os
from collections import defaultdict
from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import Final

import numpy as np

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from bench.heard_errors import with_mistakes
from bench.hearing import MISTAKES, print_doubting
from bench.hearing_metrics import NO_CHECKS, Doubting, doubting, struck_in

from riffract.music import (
    Metre,
    NoteTableBuilder,
    Passage,
    Technique,
    TempoMark,
    Tuning,
    bars_in_row,
)
from riffract.sound.alignment import Alignment, HeardAttack, Stretch, align
from riffract.sound.mono import Mono
from riffract.sound.reading.one_channel import read_mono
from riffract.sound.sound import SoundProblem
from riffract.sound.support import support

FOLDER: Final = Path(__file__).parents[2] / "shared" / "data" / "audio"
SEEDS: Final = (801, 802, 803, 804)
TECHNIQUES: Final = {"pm": Technique.PALM_MUTE, "let-ring": Technique.LET_RING}
GRID: Final = 12
"""Parts of a quarter to which the end of a note is rounded: the tables have it in seconds alone."""


def passage_of(stem: Path) -> tuple[Passage, Alignment]:
    """Read what a recording plays and when."""
    about = json.loads(stem.with_suffix(".json").read_text("utf-8"))
    with stem.with_suffix(".bars.csv").open(encoding="utf-8") as lines:
        rows = list(csv.DictReader(lines))
    with stem.with_suffix(".notes.csv").open(encoding="utf-8") as lines:
        notes = list(csv.DictReader(lines))
    metres = [_metre(row["metre"]) for row in rows if row["metre"]]
    bars = bars_in_row((metre, None, k + 1) for k, metre in enumerate(metres))
    starts = [float(row["start_s"]) for row in rows]
    edges = [*(float(bar.start_quarters) for bar in bars), float(bars[-1].span.end_quarters)]
    tuning = Tuning(open_pitches=tuple(about["tuning"]))
    struck = [
        (bars[int(n["bar"]) - 1].start_quarters + Fraction(n["onset_in_bar_quarters"]), n)
        for n in notes
    ]
    struck = [(at.limit_denominator(48), n) for at, n in struck]
    builder = NoteTableBuilder()
    for at, note in sorted(struck, key=lambda pair: (pair[0], -int(pair[1]["string"]))):
        string = int(note["string"])
        end = Fraction(round(float(np.interp(float(note["offset_s"]), starts, edges)) * GRID), GRID)
        following = [o for o, n in struck if int(n["string"]) == string and o > at]
        end = max(min([end, bars[-1].span.end_quarters, *following]), at + Fraction(1, GRID))
        builder.add(
            onset_quarters=at, duration_quarters=end - at, ring_end_quarters=end, string=string,
            fret=int(note["fret"]), pitch=tuning.pitch_at(string, int(note["fret"])),
            techniques=TECHNIQUES.get(note["technique"], Technique(0)),
        )  # fmt: skip
    passage = Passage(
        title=stem.name, tuning=tuning, bars=bars, notes=builder.build(),
        tempos=(TempoMark(at_quarters=Fraction(0), quarters_per_minute=float(about["bpm"])),),
    )  # fmt: skip
    first: dict[Fraction, float] = {}
    for at, note in struck:
        first[at] = min(first.get(at, np.inf), float(note["onset_s"]))
    return passage, _true_alignment(passage, first, (starts[0], starts[-1]))


def _true_alignment(
    passage: Passage, first: dict[Fraction, float], ends: tuple[float, float]
) -> Alignment:
    attacks = tuple(
        HeardAttack(quarters=at, seconds=first[at], uncertainty_seconds=0.01, is_heard=True)
        for at in sorted(first)
    )
    assert all(one.seconds < two.seconds for one, two in pairwise(attacks))
    stretch = Stretch(
        span=passage.span, attacks=attacks, start_seconds=ends[0], end_seconds=ends[1]
    )
    return Alignment(
        stretches=(stretch,), reference_hz=440.0, anchors=(), checks=NO_CHECKS,
        length_quarters=passage.length_quarters,
    )  # fmt: skip


def _metre(text: str) -> Metre:
    beats, unit = text.split("/")
    return Metre(groups=(int(beats),), unit=int(unit))


def outcomes(stem: Path) -> Iterator[tuple[str, Doubting]]:
    """Give what is told of a passage, with either times."""
    right, truth = passage_of(stem)
    recording = read_mono(stem.with_suffix(".flac"))
    assert isinstance(recording, Mono), recording
    for seed in SEEDS:
        wrong = with_mistakes(right, MISTAKES, seed)
        yield (
            f"true, {stem.name[:2]}",
            doubting(wrong.errors, support(wrong.text, struck_in(wrong.text, truth), recording)),
        )
        found = align(wrong.text, recording)
        if isinstance(found, SoundProblem):
            print(f"{stem.name}: {found}")
            continue
        yield (
            f"aligned, {stem.name[:2]}",
            doubting(wrong.errors, support(wrong.text, found, recording)),
        )


def main() -> None:
    results: dict[str, list[Doubting]] = defaultdict(list)
    for table in sorted(FOLDER.glob("*.notes.csv")):
        for name, outcome in outcomes(FOLDER / table.name.removesuffix(".notes.csv")):
            results[name].append(outcome)
    if not results:
        print(f"no recordings in {FOLDER}")
        return
    print_doubting(dict(sorted(results.items())))


if __name__ == "__main__":
    main()
