"""How fast sound is made and measured: processor time on one core, against two floors.

The first floor is one plain pass that writes as many samples; the second only multiplies the
matrices of the strings' partials, which no rendering of theirs can do without.

The passages: sixteenths at 140 on nine strings, with chords, muted low notes, ringing and moving
notes; the same with vibrato on every note; and three hundred long notes with vibrato.

Run from the repository: OPENBLAS_NUM_THREADS=1 python -m bench.render [BARS] [ROUNDS]
"""

import sys
from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction
from math import ceil
from resource import RUSAGE_SELF, getrusage
from statistics import median
from time import process_time

import numpy as np
from bench.timing import machine

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
from riffract.sound import Tone, amplified, loudness_of, render, render_strings, slowed
from riffract.sound.pluck import partials_of
from riffract.sound.strokes import strokes_of
from riffract.sound.vibration import BLOCK

TUNING = Tuning(open_pitches=(25, 30, 35, 40, 45, 50, 55, 59, 64))
SIXTEENTH = Fraction(1, 4)


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """A piece of work and how many seconds of sound it goes through."""

    name: str
    run: Callable[[], object]
    sound_seconds: float


def main(bars: int = 16, rounds: int = 5) -> None:
    """Print real-time factors and ratios."""
    passage = dense_riff(bars)
    time_map = time_map_of(passage)
    sound = render(passage, time_map)
    stems = render_strings(passage, time_map)
    onsets = [time_map.seconds_at(note.onset_quarters) for note in passage.notes]
    length = sound.length_seconds
    swinging, held = with_vibrato(passage), with_vibrato(held_notes(300))
    held_map = time_map_of(held)
    products = matrices(passage, time_map)

    def writing() -> object:
        return sound.samples * np.float32(0.5)

    def multiplying() -> object:
        return [left @ right for left, right in products]

    works = [
        *(
            Work(
                name=str(tone),
                run=lambda tone=tone: render(passage, time_map, tone=tone),  # type: ignore[misc]
                sound_seconds=length,
            )
            for tone in Tone
        ),
        Work(name="stems", run=lambda: render_strings(passage, time_map), sound_seconds=length),
        Work(name="amplifier", run=lambda: amplified(stems), sound_seconds=length),
        Work(name="all vibrato", run=lambda: render(swinging, time_map), sound_seconds=length),
        Work(
            name="300 vibrato",
            run=lambda: render(held, held_map),
            sound_seconds=held_map.seconds_at(held.length_quarters),
        ),
        Work(name="loudness", run=lambda: loudness_of(sound), sound_seconds=length),
        Work(
            name="half speed",
            run=lambda: slowed(sound, 0.5, attacks_seconds=onsets),
            sound_seconds=2 * length,
        ),
    ]
    print(f"{machine()}; {len(passage.notes)} notes, {length:.1f} s, {rounds} rounds")
    floors = [cpu_seconds(floor, rounds=rounds) for floor in (writing, multiplying)]
    print(f"floors: writing {1e3 * floors[0]:.1f} ms, multiplying {1e3 * floors[1]:.1f} ms")
    for work in works:
        spent = cpu_seconds(work.run, rounds=rounds)
        print(
            f"{work.name:>12}: {work.sound_seconds / spent:6.1f} x real time, "
            f"{spent / floors[0]:6.0f} x writing, {spent / floors[1]:6.1f} x multiplying"
        )
    first = cpu_seconds(lambda: render(passage, time_map, span=passage.bars[0].span), rounds=rounds)
    print(f"{'one bar':>12}: {1e3 * first:6.1f} ms to be heard")
    print(f"{'memory':>12}: {getrusage(RUSAGE_SELF).ru_maxrss / 1024:6.0f} MB at most")


def cpu_seconds(work: Callable[[], object], *, rounds: int) -> float:
    """Give the median processor time of some runs, after one that warms up."""

    def once() -> float:
        start = process_time()
        work()
        return process_time() - start

    once()
    return median(once() for _ in range(rounds))


def time_map_of(passage: Passage) -> TimeMap:
    """Follow its tempo marks."""
    return TimeMap.from_tempos(passage.tempos, passage.length_quarters)


def matrices(passage: Passage, time_map: TimeMap) -> list[tuple[np.ndarray, np.ndarray]]:
    """Make matrices of the sizes that the strokes of a passage need, at 48 kHz."""
    rng = np.random.default_rng(1)
    made = []
    for stroke in strokes_of(passage, time_map.seconds_at, strings=None, seed=1):
        # Real and imaginary part of both directions of swing.
        width = 4 * len(partials_of(stroke.stopping).hz)
        blocks = ceil((stroke.end_seconds - stroke.onset_seconds) * 48_000 / BLOCK)
        made.append(
            (
                rng.standard_normal((blocks, width), dtype=np.float32),
                rng.standard_normal((width, BLOCK), dtype=np.float32),
            )
        )
    return made


def held_notes(count: int) -> Passage:
    """Make notes of two quarters, one after the other over all strings."""
    builder = NoteTableBuilder()
    for place in range(count):
        string, fret = place % 9 + 1, 5 + place % 8
        builder.add(
            onset_quarters=Fraction(place, 2),
            duration_quarters=Fraction(2),
            string=string,
            fret=fret,
            pitch=TUNING.pitch_at(string, fret),
        )
    bars = count // 8 + 1
    return replace(
        dense_riff(1),
        bars=bars_in_row([(Metre(groups=(4,), unit=4), None, i + 1) for i in range(bars)]),
        notes=builder.build(),
    )


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
            for string, above in ((9, 0), (8, 2), (7, 2)):
                add(at, SIXTEENTH, string, beat % 5 + above, Technique(0))
        else:
            add(at, SIXTEENTH, 9, (0, 1, 0, 3)[step % 4], Technique.PALM_MUTE)
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


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
