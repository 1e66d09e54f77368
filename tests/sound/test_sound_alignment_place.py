"""A passage in a long recording of much else is found where it is, and nowhere where it is not."""

import importlib
import tracemalloc
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from tests.making import SEVEN, passage
from tests.sound.test_sound_alignment_found import BAR, OTHER, found, played, riff, times

from riffract.music import Passage
from riffract.sound.alignment import Alignment, align, checking, coarse, place
from riffract.sound.alignment.alignment import Checks
from riffract.sound.alignment.frames import frames_of
from riffract.sound.alignment.score import attacks_of
from riffract.sound.mono import LISTENING_HZ, Mono
from riffract.sound.sound import SoundProblem

LEAD_SECONDS = 0.7


def other(step: int) -> Passage:
    """Music of other pitches, in another rhythm."""
    pitches = [46 + (step * k) % 17 for k in range(28)]
    return passage([(pitch, "3/4" if k % 3 else "1/2") for k, pitch in enumerate(pitches)])


def around(middle: list[np.ndarray]) -> Mono:
    others = [played(other(step)).samples for step in (5, 7)]
    parts = [*others, *middle, *others]
    return Mono(samples=np.concatenate(parts).astype(np.float32), rate_hz=LISTENING_HZ)


@pytest.fixture(scope="module")
def long_recording() -> tuple[Mono, float]:
    start = len(around([]).samples) // 2 / LISTENING_HZ
    return around([played(riff(), lead_seconds=LEAD_SECONDS).samples]), start


def test_a_riff_among_other_music_is_found(
    long_recording: tuple[Mono, float], monkeypatch: pytest.MonkeyPatch
) -> None:
    recording, start = long_recording
    module = importlib.import_module("riffract.sound.alignment.align")
    monkeypatch.setattr(module, "LONGEST_WHOLE_SECONDS", 0.0)
    text = riff()
    alignment = found(text, recording)
    true = times(text, 120.0, LEAD_SECONDS)
    off = [
        min(
            abs(a.seconds - start - true.seconds_at(q))
            for s in alignment.stretches
            for a in s.attacks
            if a.quarters == q
        )
        for q in attacks_of(text)
    ]
    assert np.median(off) < 0.005


@pytest.mark.parametrize("is_long", [False, True])
def test_a_part_after_the_riff_is_other_music_in_a_long_recording(
    is_long: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where the recording is all about the passage, two bars more of it are told."""
    bars = passage([*BAR, *OTHER], tuning=SEVEN)
    middle = [played(riff(), lead_seconds=LEAD_SECONDS).samples, played(bars).samples]
    module = importlib.import_module("riffract.sound.alignment.align")
    monkeypatch.setattr(module, "LONGEST_WHOLE_SECONDS", 0.0 if is_long else 600.0)
    alone = Mono(samples=np.concatenate(middle), rate_hz=LISTENING_HZ)
    parts = found(riff(), around(middle) if is_long else alone).stretches
    assert parts[0].span == riff().span
    assert [p.is_again for p in parts[1:]] == ([] if is_long else [True])


@pytest.mark.parametrize("whole_share", [0.8, 0.9, 1.0])
@pytest.mark.parametrize(
    ("spans", "kept"),
    [
        ([(0, 16), (0, 8)], [(0, 16)]),
        ([(4, 8), (0, 16), (8, 12)], [(0, 16)]),
        ([(0, 16), (0, 16)], [(0, 16), (0, 16)]),
        ([(0, 8), (4, 16)], [(0, 8), (4, 16)]),
    ],
)
def test_of_a_passage_that_is_played_whole_no_part_is_taken_again(
    spans: list[tuple[int, int]],
    kept: list[tuple[int, int]],
    whole_share: float,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(coarse, "WHOLE_SHARE", whole_share)
    runs = [
        coarse.Run(
            start_quarters=Fraction(start), end_quarters=Fraction(end),
            quarters=np.array([start, end], np.float64), seconds=np.array([k, k + 0.9]),
        )
        for k, (start, end) in enumerate(spans)
    ]  # fmt: skip
    left = coarse.played_once(riff(), runs)
    assert [(int(r.start_quarters), int(r.end_quarters)) for r in left] == kept


def test_a_missing_end_that_comes_after_is_taken() -> None:
    runs = [
        coarse.Run(
            start_quarters=Fraction(start), end_quarters=Fraction(end),
            quarters=np.array([start, end], np.float64), seconds=np.array([start, end]) / 2.0,
        )
        for start, end in ((0, 15), (15, 16))
    ]  # fmt: skip
    assert coarse.played_once(riff(), runs) == runs


def test_other_music_alone_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """A short riff has more places to fit by chance than a long one."""
    monkeypatch.setattr(place, "SHORTEST_WINDOW_SECONDS", 10.0)
    short = passage([*BAR, *OTHER], tuning=SEVEN)
    samples = np.concatenate([played(other(step)).samples for step in (5, 7)])
    music = Mono(samples=samples, rate_hz=LISTENING_HZ)
    assert place.is_far_longer(short, music.length_seconds)
    assert isinstance(align(short, music), SoundProblem)


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("STEPS_A_WINDOW", 2),
        ("WINDOW_CELLS", 50_000),
        ("SHORTEST_WINDOW_SECONDS", 10.0),
    ],
)
def test_the_place_hangs_little_on_how_it_is_looked_for(
    long_recording: tuple[Mono, float], monkeypatch: pytest.MonkeyPatch, name: str, value: float
) -> None:
    recording, start = long_recording
    monkeypatch.setattr(place, name, value)
    first = place.likeliest_places(riff(), frames_of(recording, 440.0))[0]
    end = start + times(riff(), 120.0).seconds_at(riff().length_quarters)
    assert first.start_seconds <= start
    assert first.end_seconds >= end - 0.5


@pytest.fixture(scope="module")
def alignment() -> Alignment:
    return found(riff(), played(riff()))


def test_later_by_moves_all_times(alignment: Alignment) -> None:
    moved = alignment.later_by(10.0)
    q = Fraction(1)
    assert moved.time_map.seconds_at(q) == pytest.approx(alignment.time_map.seconds_at(q) + 10.0)
    assert moved.later_by(-10.0).stretches[0].span == alignment.stretches[0].span


def test_the_best_of_many_places_is_doubted_sooner(alignment: Alignment) -> None:
    checks, attacks = alignment.checks, alignment.stretches[0].attacks
    assert checking.is_clear(riff(), checks)
    assert not checking.is_clear(riff(), replace(checks, heard_share=0.6))
    assert not checking.is_clear(riff(), replace(checks, agreement_share=0.55))
    assert checking.doubt(riff(), replace(checks, agreement_share=0.55), attacks) is None


@pytest.mark.parametrize("factor", [0.85, 1.0, 1.2])
@pytest.mark.parametrize("name", ["CLEAR_AGREEMENT_SHARE", "CLEAR_HEARD_SHARE"])
def test_how_clear_a_place_must_be_hangs_little_on_the_number(
    name: str, factor: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(checking, name, factor * getattr(checking, name))
    right = Checks(
        agreement_share=0.96,
        stability_seconds=1e-4,
        residual_share=0.5,
        chance_share=1.0,
        heard_share=0.96,
    )  # the least that right places reached, and below the most that wrong ones did (bench)
    assert checking.is_clear(riff(), right)
    assert not checking.is_clear(riff(), replace(right, agreement_share=0.52))
    assert not checking.is_clear(riff(), replace(right, heard_share=0.52))


def test_a_long_recording_is_measured_without_a_copy_of_it() -> None:
    """Twice as long a recording takes what is kept of its frames, and little more."""
    taken = []
    for minutes in (2, 4):
        noise = np.random.default_rng(3).standard_normal(minutes * 60 * LISTENING_HZ)
        long = Mono(samples=noise.astype(np.float32), rate_hz=LISTENING_HZ)
        del noise
        tracemalloc.start()
        frames_of(long, 440.0)
        taken.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    assert taken[1] - taken[0] < 0.3 * 120 * LISTENING_HZ * 4
