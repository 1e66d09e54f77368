"""An alignment finds attacks to the millisecond, whatever plays them, and keeps fixed moments."""

from fractions import Fraction
from typing import Any

import numpy as np
import pytest
from tests.making import SEVEN, Spelled, passage

from riffract.music import Passage, TimeMap
from riffract.sound import Tone, render
from riffract.sound.alignment import Alignment, Anchor, align
from riffract.sound.alignment.score import attacks_of
from riffract.sound.mono import LISTENING_HZ, Mono
from riffract.sound.sound import SoundProblem

EIGHTH = Fraction(1, 2)
BAR: list[Spelled] = [
    (35, EIGHTH),
    (35, EIGHTH),
    ((42, 47), 1),
    (35, EIGHTH),
    (38, EIGHTH),
    (41, 1),
]
OTHER: list[Spelled] = [
    (47, EIGHTH),
    (45, EIGHTH),
    ((40, 47), 1),
    (36, EIGHTH),
    (43, EIGHTH),
    (50, 1),
]


def riff() -> Passage:
    return passage([*BAR, *OTHER, *BAR, *OTHER[::-1]], tuning=SEVEN)


def times(text: Passage, quarters_per_minute: float, start_seconds: float = 0.0) -> TimeMap:
    ends = (Fraction(0), text.length_quarters)
    return TimeMap(
        quarters=ends,
        seconds=tuple(start_seconds + 60.0 / quarters_per_minute * float(q) for q in ends),
    )


def listening(samples: np.ndarray) -> Mono:
    """Take every other sample of a sound at 44,100 Hz, lowpassed by a short mean."""
    smooth = np.convolve(samples, [0.25, 0.5, 0.25], mode="same")[::2]
    return Mono(samples=smooth.astype(np.float32), rate_hz=LISTENING_HZ)


def played(
    text: Passage, quarters_per_minute: float = 120.0, *, lead_seconds: float = 0.7, **how: Any
) -> Mono:
    sound = render(text, times(text, quarters_per_minute), rate_hz=44_100, tone=Tone.CLEAN, **how)
    lead = np.zeros(round(lead_seconds * 44_100))
    return listening(np.concatenate([lead, sound.samples.mean(axis=0), np.zeros(22_050)]))


def found(text: Passage, recording: Mono, **how: Any) -> Alignment:
    result = align(text, recording, **how)
    assert isinstance(result, Alignment), result
    return result


def errors(alignment: Alignment, text: Passage, time_map: TimeMap) -> np.ndarray:
    attacks = [a for s in alignment.stretches for a in s.attacks]
    assert [a.quarters for a in attacks] == list(attacks_of(text))
    return np.array([a.seconds - time_map.seconds_at(a.quarters) for a in attacks])


def test_attacks_of_a_rendering_are_found_within_milliseconds() -> None:
    text = riff()
    off = errors(found(text, played(text)), text, times(text, 120.0, 0.7))
    assert np.median(np.abs(off)) < 0.005
    assert np.abs(off).max() < 0.02


@pytest.mark.parametrize("quarters_per_minute", [66.0, 100.0, 138.0, 200.0])
def test_the_texts_tempo_may_be_far_off(quarters_per_minute: float) -> None:
    text = riff()
    off = errors(
        found(text, played(text, quarters_per_minute)), text, times(text, quarters_per_minute, 0.7)
    )
    assert np.median(np.abs(off)) < 0.005


@pytest.mark.parametrize("reference_hz", [415.3, 432.0, 440.0, 466.2])
def test_the_tuning_is_found(reference_hz: float) -> None:
    text = riff()
    result = found(text, played(text, reference_hz=reference_hz))
    assert abs(1200.0 * np.log2(result.reference_hz / reference_hz)) < 4.0


def test_fixed_moments_are_kept_exactly() -> None:
    text = riff()
    anchors = [Anchor(Fraction(4), 2.73), Anchor(Fraction(33, 4), 4.83)]
    result = found(text, played(text), anchors=anchors)
    for anchor in anchors:
        assert abs(result.time_map.seconds_at(anchor.quarters) - anchor.seconds) < 1e-3


def test_fixed_moments_out_of_order_are_named() -> None:
    text = riff()
    result = align(text, played(text), anchors=[Anchor(Fraction(4), 4.0), Anchor(Fraction(8), 3.0)])
    assert isinstance(result, SoundProblem)
    assert "bar 2, beat 1 at 4.000 s" in result.what
    assert "bar 3, beat 1 at 3.000 s" in result.what


def test_silence_and_noise_are_refused() -> None:
    text = riff()
    silence = np.zeros(4 * LISTENING_HZ, dtype=np.float32)
    noise = 0.1 * np.random.default_rng(1).standard_normal(10 * LISTENING_HZ, dtype=np.float32)
    for samples in (silence, noise):
        result = align(text, Mono(samples=samples, rate_hz=LISTENING_HZ))
        assert isinstance(result, SoundProblem)


def test_the_same_again_gives_the_same() -> None:
    text = riff()
    recording = played(text)
    assert found(text, recording, seed=3) == found(text, recording, seed=3)


def test_progress_rises_to_one_and_may_end_the_work() -> None:
    text = riff()
    shares: list[float] = []
    found(text, played(text), progress=shares.append)
    assert shares == sorted(shares)
    assert shares[-1] == 1.0

    def refuse(_: float) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        align(text, played(text), progress=refuse)


def test_rising_time_map() -> None:
    text = riff()
    time_map = found(text, played(text)).time_map
    assert all(np.diff(time_map.seconds) > 0.0)


def test_a_passage_that_is_played_twice_comes_twice() -> None:
    text = riff()
    once = played(text, lead_seconds=0.5).samples[: round(8.5 * LISTENING_HZ)]
    again = played(text, lead_seconds=0.0).samples
    recording = Mono(samples=np.concatenate([once, again]), rate_hz=LISTENING_HZ)
    first, second = found(text, recording).stretches
    assert (first.span, second.span) == (text.span, text.span)
    assert (first.is_again, second.is_again) == (False, True)
    assert abs(second.attacks[0].seconds - 8.5) < 0.02


def test_a_bar_that_is_left_out_is_told() -> None:
    text = riff()
    whole = played(text, lead_seconds=0.5).samples
    cut, past = (round(s * LISTENING_HZ) for s in (2.5, 4.5))
    recording = Mono(samples=np.concatenate([whole[:cut], whole[past:]]), rate_hz=LISTENING_HZ)
    assert found(text, recording).left_out == (text.bars[1].span,)


@pytest.mark.parametrize("count", [1, 2])
def test_one_note_or_two_are_enough(count: int) -> None:
    text = passage([(45, 2), (52, 2)][:count], tuning=SEVEN)
    alignment = found(text, played(text), anchors=[Anchor(Fraction(0), 0.7)])
    assert alignment.stretches[0].attacks[0].seconds == 0.7
    assert alignment.time_map.seconds[0] == 0.7
