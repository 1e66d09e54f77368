"""How fast sound is made and measured, against one plain pass that writes as many samples.

The passage: sixteenths at 140 on eight strings; chords, muted low notes, ringing and moving notes.
All of it runs on one core.

Run from the repository: python -m bench.render [BARS] [ROUNDS]
"""

import sys
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from bench.timing import machine, median_seconds, ratio

from riffract.music import (
    Metre,
    NoteTableBuilder,
    Passage,
    Technique,
    TempoMark,
    TimeMap,
    Tuning,
    bars_in_row,
)
from riffract.sound import Sound, Tone, loudness_of, render, slowed

TUNING = Tuning(open_pitches=(30, 35, 40, 45, 50, 55, 59, 64))
SIXTEENTH = Fraction(1, 4)


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """A piece of work and how many seconds of sound it goes through."""

    name: str
    run: Callable[[], object]
    sound_seconds: float


def main(bars: int = 16, rounds: int = 7) -> None:
    """Print real-time factors and ratios."""
    passage = dense_riff(bars)
    time_map = TimeMap.from_tempos(passage.tempos, passage.length_quarters)
    sound = render(passage, time_map)
    onsets = [time_map.seconds_at(note.onset_quarters) for note in passage.notes]
    length = sound.length_seconds
    bent = with_vibrato(passage)

    def floor() -> object:
        return sound.samples * np.float32(0.5)

    works = [
        Work(name="driven", run=lambda: render(passage, time_map), sound_seconds=length),
        Work(
            name="clean",
            run=lambda: render(passage, time_map, tone=Tone.CLEAN),
            sound_seconds=length,
        ),
        Work(name="all vibrato", run=lambda: render(bent, time_map), sound_seconds=length),
        Work(name="loudness", run=lambda: loudness_of(sound), sound_seconds=length),
        Work(
            name="half speed",
            run=lambda: slowed(sound, 0.5, attacks_seconds=onsets),
            sound_seconds=2 * length,
        ),
    ]
    print(f"{machine()}; {len(passage.notes)} notes, {length:.1f} s, {rounds} rounds")
    print(
        f"floor: writing as many samples takes {1000 * median_seconds(floor, rounds=rounds):.1f} ms"
    )
    for work in works:
        factor = work.sound_seconds / median_seconds(work.run, rounds=rounds)
        print(
            f"{work.name:>12}: {factor:6.1f} x real time, "
            f"{ratio(work.run, floor, rounds=rounds):6.0f} x the floor"
        )
    print(f"{'one bar':>12}: {1000 * first_sound_seconds(time_map, passage):6.1f} ms to be heard")


def dense_riff(bars: int) -> Passage:
    """Make the passage."""
    builder = NoteTableBuilder()

    def add(at: Fraction, length: Fraction, string: int, fret: int, how: Technique) -> None:
        builder.add(
            onset_quarters=at,
            duration_quarters=length,
            string=string,
            fret=fret,
            pitch=TUNING.pitch_at(string, fret),
            techniques=how,
        )

    for step in range(bars * 16):
        at, beat = step * SIXTEENTH, step // 4
        if step % 4 == 0:
            for string, above in ((8, 0), (7, 2), (6, 2)):
                add(at, SIXTEENTH, string, beat % 5 + above, Technique(0))
        else:
            add(at, SIXTEENTH, 8, (0, 1, 0, 3)[step % 4], Technique.PALM_MUTE)
        if step % 8 == 0:
            add(at, Fraction(2), 4, 5 + beat % 3, Technique.LET_RING)
            add(at, Fraction(2), 3, 5, Technique(0))
        if step % 2 == 1:
            add(at, 2 * SIXTEENTH, 2, step * 7 % 12, Technique(0))
    return Passage(
        title="",
        tuning=TUNING,
        bars=bars_in_row([(Metre(groups=(4,), unit=4), None, i + 1) for i in range(bars)]),
        tempos=(TempoMark(at_quarters=Fraction(0), quarters_per_minute=140.0),),
        notes=builder.build(),
    )


def with_vibrato(passage: Passage) -> Passage:
    """Let every note swing: the slowest case, in which no pitch stands still."""
    builder = NoteTableBuilder()
    for note in passage.notes:
        builder.add(
            onset_quarters=note.onset_quarters,
            duration_quarters=note.duration_quarters,
            string=note.string,
            fret=note.fret,
            pitch=note.pitch,
            techniques=note.techniques | Technique.VIBRATO,
        )
    return Passage(
        title="",
        tuning=passage.tuning,
        bars=passage.bars,
        tempos=passage.tempos,
        notes=builder.build(),
    )


def first_sound_seconds(time_map: TimeMap, passage: Passage) -> float:
    """Tell how long it takes to hear a single bar, nothing kept from before."""

    def one_bar() -> Sound:
        return render(passage, time_map, span=passage.bars[0].span)

    return median_seconds(one_bar, rounds=5)


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
