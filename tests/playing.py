"""Passages for tests of sound, spelled as what the hands do; and ways to measure what sounds."""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

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
from riffract.music.notes import PLAIN, Grace

SIX = Tuning(open_pitches=(40, 45, 50, 55, 59, 64))
EIGHT = Tuning(open_pitches=(30, 35, 40, 45, 50, 55, 59, 64))
FOUR_FOUR = Metre(groups=(4,), unit=4)


@dataclass(frozen=True, slots=True, kw_only=True)
class Played:
    """A note as a hand plays it, times in quarters."""

    at: Fraction | int | str
    length: Fraction | int | str = 1
    string: int
    fret: int = 0
    how: Technique = PLAIN
    pitch: int | None = None
    ring_end: Fraction | int | str | None = None
    bend: tuple[int, ...] = ()
    other_fret: int | None = None
    tremolo_marks: int = 0


def performed(
    notes: Iterable[Played],
    *,
    tuning: Tuning = SIX,
    quarters_per_minute: float = 120.0,
    bars: int = 0,
    graces: Iterable[Grace] = (),
) -> tuple[Passage, TimeMap]:
    """Make a passage in 4/4 and its time map; at least as many bars as the notes need."""
    builder = NoteTableBuilder()
    end = Fraction(0)
    for note in notes:
        pitch = tuning.pitch_at(note.string, note.fret) if note.pitch is None else note.pitch
        builder.add(
            onset_quarters=Fraction(note.at),
            duration_quarters=Fraction(note.length),
            string=note.string,
            fret=note.fret,
            pitch=None if Technique.DEAD in note.how else pitch,
            ring_end_quarters=None if note.ring_end is None else Fraction(note.ring_end),
            techniques=note.how,
            bend=note.bend,
            other_fret=note.other_fret,
            tremolo_marks=note.tremolo_marks,
        )
        end = max(end, Fraction(note.at) + Fraction(note.length))
    needed = max(bars, -(-end // 4), 1)
    passage = Passage(
        title="Test",
        tuning=tuning,
        bars=bars_in_row([(FOUR_FOUR, None, number + 1) for number in range(needed)]),
        tempos=(TempoMark(at_quarters=Fraction(0), quarters_per_minute=quarters_per_minute),),
        notes=builder.build(),
        graces=tuple(graces),
    )
    return passage, TimeMap.from_tempos(passage.tempos, passage.length_quarters)


def dense_riff(bars: int, *, quarters_per_minute: float = 140.0) -> tuple[Passage, TimeMap]:
    """Make sixteenths on eight strings: chords, muted, ringing and moving notes."""
    notes: list[Played] = []
    for step in range(bars * 16):
        at, beat = Fraction(step, 4), step // 4
        if step % 4 == 0:
            frets = {8: beat % 5, 7: beat % 5 + 2, 6: beat % 5 + 2}
            notes += [Played(at=at, length="1/4", string=s, fret=f) for s, f in frets.items()]
        else:
            fret = (0, 1, 0, 3)[step % 4]
            notes.append(Played(at=at, length="1/4", string=8, fret=fret, how=Technique.PALM_MUTE))
        if step % 8 == 0:
            ringing = Technique.LET_RING
            notes.append(Played(at=at, length=2, string=4, fret=5 + beat % 3, how=ringing))
            notes.append(Played(at=at, length=2, string=3, fret=5))
        if step % 2 == 1:
            notes.append(Played(at=at, length="1/2", string=2, fret=(step * 7) % 12))
    return performed(notes, tuning=EIGHT, quarters_per_minute=quarters_per_minute)


def strongest_hz(
    samples: NDArray[np.float32], rate_hz: int, *, near_hz: float, within_cents: float = 60.0
) -> float:
    """Measure a partial: the peak of a long windowed spectrum, a parabola through its log.

    Source: Smith & Serra (1987), parabolic interpolation of Gaussian-like windows (from memory).
    """
    size = 1 << 19
    spectrum = np.abs(np.fft.rfft(samples * np.blackman(len(samples)), size))
    low, high = (near_hz * 2 ** (sign * within_cents / 1200) for sign in (-1, 1))
    first, last = int(low * size / rate_hz), int(high * size / rate_hz) + 2
    peak = first + int(np.argmax(spectrum[first:last]))
    left, middle, right = np.log(spectrum[peak - 1 : peak + 2])
    return float((peak + 0.5 * (left - right) / (left - 2 * middle + right)) * rate_hz / size)


def level_db(samples: NDArray[np.float32], rate_hz: int, hz: float) -> float:
    """Measure how strong a sound is at one frequency, in dB below a sine at full scale."""
    window = np.hanning(len(samples))
    turn = np.exp(-2j * np.pi * hz * np.arange(len(samples)) / rate_hz)
    return float(20 * np.log10(2 * abs(np.sum(samples * window * turn)) / np.sum(window) + 1e-12))
