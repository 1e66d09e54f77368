"""How well sound is slowed: where attacks fall, how sharp they stay, how true the pitch is.

Material: real plucked notes one after the other, the same as driven chords, and our own rendering
of a driven riff. The real notes are read from the shared data and left out where there are none.

For each, at three quarters, half and a quarter of the speed, with attacks told and without, the
median and the worst: how far attacks fall from their place (ms), how far the pitch of what rings is
off (cents), how alike the first 20 ms of an attack are to what they were (correlation: 1 the same,
0 nothing left), and how loud the 15 ms before it are, against the 20 ms after it (dB: less is
sharper). The first row of each is the sound as it was. Only attacks that stand out count.

Then the processor time that a minute takes to be slowed, and to be measured against one plain
pass.

Run from the repository: OPENBLAS_NUM_THREADS=1 python -m bench.levels [FOLDER]
"""

import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from time import process_time

import numpy as np
from bench.render import dense_riff, time_map_of
from bench.timing import machine

from riffract.sound import Sound, Tone, loudness_of, normalised, read_sound, render, slowed
from riffract.sound.amp import Amp
from riffract.sound.loudness import integrated_lufs, true_peak_dbtp
from riffract.sound.sound import RATE_HZ, Reals

RECORDINGS = Path(__file__).parents[2] / "shared" / "data" / "guitar_recordings" / "egfxset"
NOTE_SECONDS = 0.6
LEAD_SECONDS = 0.0045
"""How late the sound starts in each recording (its README)."""

CLEAR_DB = -3.0
"""An attack counts if what lies before it is softer by so much."""

SPEEDS = (1.0, 0.75, 0.5, 0.25)


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """A sound with its attacks.

    Attributes:
        name: what it is.
        sound: what is slowed.
        attacks_seconds: when its notes start.
    """

    name: str
    sound: Sound
    attacks_seconds: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Quality:
    """What slowing does: medians and worst cases over all attacks."""

    onset_ms: tuple[float, float]
    pitch_cents: tuple[float, float]
    likeness: tuple[float, float]
    before_db: tuple[float, float]


def main(folder: Path = RECORDINGS) -> None:
    """Print a row for each material and speed."""
    print(f"{machine()}\n")
    print("material         speed told   onset ms     pitch cents  alike       before dB")
    for material in (*real_notes(folder), own_riff()):
        for speed in SPEEDS:
            for told in (True, False) if speed < 1.0 else (True,):
                print(_row(material, speed, told=told))
    _print_times()


def quality(material: Material, speed: float, *, told: bool = True) -> Quality:
    """Slow a material and measure every attack of it."""
    attacks = material.attacks_seconds if told else ()
    slow = slowed(material.sound, speed, attacks_seconds=attacks)
    now, then = (sound.samples.mean(axis=0).astype(np.float64) for sound in (slow, material.sound))
    onsets, pitches, likeness, before = [], [], [], []
    for at, after in zip(material.attacks_seconds, material.attacks_seconds[1:], strict=False):
        moved = at / speed
        if _before_db(then, at) > CLEAR_DB:
            continue
        onsets.append(1e3 * (_half_way(now, moved) - _half_way(then, at) - (moved - at)))
        likeness.append(_likeness(now, moved, then, at))
        before.append(_before_db(now, moved))
        if after - at > 0.3:
            pitches.append(_pitch_error(now, then, at, after, speed))
    return Quality(
        onset_ms=_middle_and_worst(onsets),
        pitch_cents=_middle_and_worst(pitches),
        likeness=(float(np.median(likeness)), float(np.min(likeness))),
        before_db=(float(np.median(before)), float(np.max(before))),
    )


def real_notes(folder: Path) -> list[Material]:
    """Lay real notes in a row, and all of them together through the amplifier."""
    files = sorted(folder.glob("*.wav"))
    read = [sound for file in files if isinstance(sound := read_sound(file), Sound)]
    if not read:
        return []
    size, start = round(NOTE_SECONDS * RATE_HZ), round(LEAD_SECONDS * RATE_HZ)
    notes: list[Reals] = [
        sound.samples[:, start : start + size].astype(np.float64) * (0.5 / sound.peak)
        for sound in read
    ]
    row = [notes[number % len(notes)] for number in range(12)]
    chord = sum(notes, np.zeros((2, size))) / len(notes)
    attacks = tuple(0.3 + NOTE_SECONDS * number for number in range(12))
    driven = _driven(_in_row([chord] * 12))
    return [
        Material(name="real notes", sound=_in_row(row), attacks_seconds=attacks),
        Material(name="driven chords", sound=driven, attacks_seconds=attacks),
    ]


def own_riff() -> Material:
    """Render a dense driven riff."""
    passage = dense_riff(2)
    time_map = time_map_of(passage)
    onsets = sorted({time_map.seconds_at(note.onset_quarters) for note in passage.notes})
    return Material(
        name="own driven riff",
        sound=normalised(render(passage, time_map)),
        attacks_seconds=tuple(onsets[1:]),
    )


def _in_row(notes: Sequence[Reals]) -> Sound:
    """Lay notes end to end after 0.3 s of silence, each faded out within 5 ms."""
    fade = np.ones(notes[0].shape[1])
    fade[-240:] = np.linspace(1.0, 0.0, 240)
    silence = np.zeros((2, round(0.3 * RATE_HZ)))
    samples = np.concatenate([silence, *[note * fade for note in notes]], axis=1)
    return Sound(samples=samples.astype(np.float32), rate_hz=RATE_HZ)


def _driven(sound: Sound) -> Sound:
    mono = sound.samples.mean(axis=0)
    pieces = Amp.of(Tone.DRIVEN, RATE_HZ).stream([mono], len(mono))
    return Sound(samples=np.concatenate(list(pieces), axis=1), rate_hz=RATE_HZ)


def _envelope(samples: Reals, start: float, stop: float) -> Reals:
    """Give the running peak over 1 ms between two moments, sample by sample."""
    first, last = max(round(start * RATE_HZ), 0), round(stop * RATE_HZ)
    inside = np.abs(samples[first:last])
    width = RATE_HZ // 1_000
    windows = np.lib.stride_tricks.sliding_window_view(np.pad(inside, (width - 1, 0)), width)
    return np.asarray(windows.max(axis=1))


def _half_way(samples: Reals, at: float) -> float:
    """Tell when the rise around an attack is half done, from the start of the sound."""
    start = at - 0.02
    envelope = _envelope(samples, start, at + 0.03)
    low = float(np.median(envelope[: RATE_HZ // 100]))
    half = low + 0.5 * (float(envelope.max()) - low)
    return start + int(np.argmax(envelope[RATE_HZ // 100 :] >= half)) / RATE_HZ + 0.01


def _likeness(now: Reals, moved: float, then: Reals, at: float) -> float:
    """Correlate an attack with what it was, over its first 20 ms."""
    new, old = (_piece(s, t, t + 0.02) for s, t in ((now, moved), (then, at)))
    return float(np.dot(new, old) / np.sqrt(np.dot(new, new) * np.dot(old, old) + 1e-12))


def _before_db(samples: Reals, at: float) -> float:
    """Compare the 15 ms before an attack with the 20 ms after it."""
    first = round(at * RATE_HZ)
    early = samples[first - round(0.015 * RATE_HZ) : first - round(0.001 * RATE_HZ)]
    late = samples[first : first + round(0.02 * RATE_HZ)]
    return float(10.0 * np.log10((np.mean(early**2) + 1e-12) / (np.mean(late**2) + 1e-12)))


def _pitch_error(now: Reals, then: Reals, at: float, after: float, speed: float) -> float:
    """Compare the strongest partial of what rings after an attack, in cents."""
    hz = _strongest_hz(_piece(then, at + 0.08, after - 0.03), 70.0, 2_000.0)
    slow = _piece(now, (at + 0.08) / speed, (after - 0.03) / speed)
    return 1200.0 * float(np.log2(_strongest_hz(slow, hz * 0.97, hz * 1.03) / hz))


def _piece(samples: Reals, start: float, stop: float) -> Reals:
    return samples[round(start * RATE_HZ) : round(stop * RATE_HZ)]


def _strongest_hz(samples: Reals, low_hz: float, high_hz: float) -> float:
    size = 1 << 18
    level = np.abs(np.fft.rfft(samples * np.blackman(len(samples)), size))
    first, last = int(low_hz * size / RATE_HZ), int(high_hz * size / RATE_HZ) + 1
    peak = first + int(np.argmax(level[first:last]))
    left, middle, right = np.log(level[peak - 1 : peak + 2] + 1e-12)
    return float((peak + 0.5 * (left - right) / (left - 2 * middle + right)) * RATE_HZ / size)


def _middle_and_worst(errors: Sequence[float]) -> tuple[float, float]:
    sizes = np.abs(errors) if errors else np.full(1, np.nan)
    return float(np.median(sizes)), float(np.max(sizes))


def _row(material: Material, speed: float, *, told: bool) -> str:
    found = quality(material, speed, told=told)
    onset, pitch, before = found.onset_ms, found.pitch_cents, found.before_db
    return (
        f"{material.name:16s} {speed:5.2f} {'yes' if told else 'no':4s}  "
        f"{onset[0]:5.2f} {onset[1]:6.2f}  {pitch[0]:5.2f} {pitch[1]:6.2f}  "
        f"{found.likeness[0]:5.2f} {found.likeness[1]:5.2f}  {before[0]:6.1f} {before[1]:6.1f}"
    )


def _print_times() -> None:
    minute = _own_minute()
    attacks = [0.25 * number for number in range(240)]
    spent = _cpu_seconds(lambda: slowed(minute, 0.5, attacks_seconds=attacks), rounds=1)
    print(f"\na minute slowed to a half: {spent:.2f} s of processor time")
    floor = _cpu_seconds(lambda: minute.samples * np.float32(0.5))
    for name, work in (
        ("loudness", integrated_lufs),
        ("true peak", true_peak_dbtp),
        ("both", loudness_of),
    ):
        own = _cpu_seconds(partial(work, minute))
        print(f"a minute's {name}: {own:.3f} s, {own / floor:.1f} x writing it")


def _own_minute() -> Sound:
    passage = dense_riff(35)
    sound = normalised(render(passage, time_map_of(passage)))
    return Sound(samples=np.ascontiguousarray(sound.samples[:, : 60 * RATE_HZ]), rate_hz=RATE_HZ)


def _cpu_seconds(work: Callable[[], object], *, rounds: int = 9) -> float:
    """Give the least processor time of some runs: what else the machine does only adds to it."""

    def once() -> float:
        start = process_time()
        work()
        return process_time() - start

    return min(once() for _ in range(rounds))


if __name__ == "__main__":
    main(*(Path(argument) for argument in sys.argv[1:2]))
