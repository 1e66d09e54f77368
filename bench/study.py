"""How long studying takes, chance tests included, and how it grows.

Run from the repository: python -m bench.study
"""

from fractions import Fraction
from functools import partial
from math import log2

import numpy as np
from bench.timing import machine, ratio, seconds

from riffract.music import Metre, Passage, TempoMark, Tuning, bars_in_row
from riffract.music.notes import NoteTableBuilder
from riffract.weighing.weigh import study_passage

SEVEN_EIGHT = Metre(groups=(2, 2, 3), unit=8)
SEVEN = Tuning(open_pitches=(35, 40, 45, 50, 55, 59, 64))
SIZES = (75, 150, 300, 600)


def riff(notes: int, *, repeats: int) -> Passage:
    """Make a random riff, mirrored in itself, and repeat it."""
    rng = np.random.default_rng(notes)
    half = rng.integers(0, 20, notes // repeats // 2).tolist()
    line = (half + half[::-1]) * repeats
    builder = NoteTableBuilder()
    for k, fret in enumerate(line):
        string = 6 if fret < 10 else 5
        builder.add(
            onset_quarters=Fraction(k, 2),
            duration_quarters=Fraction(1, 2),
            string=string,
            fret=fret,
            pitch=SEVEN.pitch_at(string, fret),
        )
    bars = -(-len(line) // 7)
    return Passage(
        title="Bench",
        tuning=SEVEN,
        bars=bars_in_row((SEVEN_EIGHT, None, n + 1) for n in range(bars)),
        tempos=(TempoMark(at_quarters=Fraction(0), quarters_per_minute=120.0),),
        notes=builder.build(),
    )


def a_thousand_passes(passage: Passage) -> float:
    """The floor: touch every number of the passage, a thousand times."""
    notes = passage.notes
    columns = (notes.onset_ticks, notes.duration_ticks, notes.pitch, notes.string, notes.fret)
    return float(sum(column.sum() for _ in range(1000) for column in columns))


def main() -> None:
    print(machine())
    study_passage(riff(75, repeats=5))
    times = []
    for size in SIZES:
        passage = riff(size, repeats=5)
        study, floor = partial(study_passage, passage), partial(a_thousand_passes, passage)
        once = min(seconds(study) for _ in range(3))
        against = ratio(study, floor, rounds=5)
        times.append(once)
        print(f"{size:5d} notes: {once:.3f} s, {against:.0f} × a thousand passes of the columns")
    growth = log2(times[-1] / times[0]) / log2(SIZES[-1] / SIZES[0])
    print(f"growth exponent {growth:.2f}")


if __name__ == "__main__":
    main()
