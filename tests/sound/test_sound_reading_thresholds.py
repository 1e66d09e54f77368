"""Twice or half of any threshold tells the same of recordings that are clearly good or clearly bad.

Each is as bad as what happens in practice (common practice): a cable that is off, a plug that is
wired the wrong way round, a copy that stopped, a level that was set too high.
"""

from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.io import wavfile

from riffract.sound.mono import Mono
from riffract.sound.reading import clipping, tally
from riffract.sound.reading.one_channel import read_mono

RATE = 22_050
Signal = NDArray[np.float64]


def playing(level: float = 0.5) -> Signal:
    """Strokes of a decaying string, in the noise of an amplifier."""
    at = np.arange(4 * RATE) / RATE
    since = at % 0.5
    strokes = np.exp(-6 * since) * np.sin(2 * np.pi * 110 * since)
    wave: Signal = level * strokes + 1e-4 * np.random.default_rng(3).normal(size=len(at))
    return wave


def hiss(level: float) -> Signal:
    return level * np.random.default_rng(7).normal(size=4 * RATE)


GOOD: dict[str, tuple[Signal, Signal]] = {
    "equal": (playing(), playing()),
    "soft": (playing(0.01), playing(0.01)),
    "panned": (playing(), 0.05 * playing()),
    "wide": (playing() + hiss(0.05), playing() - hiss(0.05)),
    "two guitars": (playing(), np.roll(playing(), 3_000)),
    "touches full scale": (playing(0.98), playing(0.98)),
}
BAD: dict[str, tuple[Signal, Signal, str]] = {
    "dead": (playing(), hiss(5e-6), "is silent"),
    "mirrored": (playing(), -playing() + hiss(1e-4), "cancel"),
    "too loud": (playing(6.0), playing(6.0), "full scale"),
    "off": (playing() + 0.04, playing() + 0.04, "off the middle"),
}
NEIGHBOURS = [
    (tally, "SILENT_PEAK", 0.5),
    (tally, "SILENT_PEAK", 2.0),
    (tally, "OFF_MIDDLE", 0.5),
    (tally, "OFF_MIDDLE", 2.0),
    (tally, "CANCELLED_SHARE", 0.5),
    (tally, "CANCELLED_SHARE", 2.0),
    (tally, "MISSING_SHARE", 0.5),
    (tally, "MISSING_SHARE", 2.0),
    (tally, "MISSING_SECONDS", 0.5),
    (tally, "MISSING_SECONDS", 2.0),
    (clipping, "CLIPPED_SHARE", 0.5),
    (clipping, "CLIPPED_SHARE", 2.0),
    (clipping, "FULL_SCALE", 0.999),
    (clipping, "FULL_SCALE", 1.0009),
]


@pytest.fixture(params=NEIGHBOURS, ids=lambda one: f"{one[1]}*{one[2]}")
def moved(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    module, name, factor = request.param
    monkeypatch.setattr(module, name, factor * getattr(module, name))


def notes_of(path: Path, left: Signal, right: Signal) -> tuple[str, ...]:
    sides = np.clip(np.stack([left, right], axis=1), -1, 1).astype(np.float32)
    wavfile.write(path, RATE, sides)
    mono = read_mono(path)
    assert isinstance(mono, Mono), mono
    return mono.notes


@pytest.mark.usefixtures("moved")
def test_good_recordings_have_no_notes(tmp_path: Path) -> None:
    told = {name: notes_of(tmp_path / "a.wav", *sides) for name, sides in GOOD.items()}
    assert told == dict.fromkeys(GOOD, ())


@pytest.mark.usefixtures("moved")
def test_bad_recordings_are_told_each_by_its_own_note(tmp_path: Path) -> None:
    for left, right, words in BAD.values():
        (note,) = notes_of(tmp_path / "a.wav", left, right)
        assert words in note


@pytest.mark.usefixtures("moved")
def test_a_copy_that_stopped_is_told(tmp_path: Path) -> None:
    notes_of(tmp_path / "a.wav", playing(), playing())
    path = tmp_path / "b.wav"
    path.write_bytes((tmp_path / "a.wav").read_bytes()[: 3 * RATE * 8])
    mono = read_mono(path)
    assert isinstance(mono, Mono)
    assert "is missing" in mono.notes[0]
