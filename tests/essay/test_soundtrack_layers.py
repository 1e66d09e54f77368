"""The film's sound, taken apart: together its layers are the film's sound, to the sample."""

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from tests.making import passage

from riffract.essay.claims import Claim, Excerpt
from riffract.essay.shot_list import shot_list
from riffract.essay.shots import SceneName, Shot
from riffract.essay.soundtrack import Layer, Soundtrack, soundtrack
from riffract.music import Span, TimeMap
from riffract.sound import Tone, render
from riffract.sound.sound import RATE_HZ, Sound

MUSIC = passage([(40, 1), (47, 1), (52, 2), (43, 1), (50, 1), (55, 2)] * 2)
TIMES = TimeMap.from_tempos(MUSIC.tempos, MUSIC.length_quarters)
ROUNDING = 2e-6
"""Of sums of 24-bit numbers: a sample of the film is off by some of their last digits."""


def spoken(seconds: float) -> Sound:
    rng = np.random.default_rng(3)
    moments = np.arange(round(seconds * RATE_HZ)) / RATE_HZ
    signal = rng.standard_normal(len(moments)) * (0.06 + 0.05 * np.sin(2 * np.pi * 3 * moments))
    return Sound(samples=np.stack([signal, signal]).astype(np.float32).clip(-1, 1), rate_hz=RATE_HZ)


def shots(*, is_spoken: bool) -> tuple[Shot, ...]:
    whole, low = (
        Excerpt(span=Span(Fraction(0), Fraction(8))),
        Excerpt(span=Span(Fraction(8), Fraction(16)), strings=(6, 5)),
    )
    one = Claim(
        title="It climbs.",
        scene=SceneName.PAGE,
        lines=("Listen.",),
        excerpts=(whole, low),
        finding=None,
        take="takes/a-1.wav" if is_spoken else "",
    )
    return shot_list(
        (one, replace(one, title="Once more.", take="")),
        TIMES,
        title="T",
        subtitle="",
        credits_lines=(),
        rights="",
        take_seconds={"takes/a-1.wav": 2.5} if is_spoken else {},
    )


def laid(*, is_spoken: bool = False, is_recorded: bool = False) -> Soundtrack:
    recording = render(MUSIC, TIMES, tone=Tone.CLEAN) if is_recorded else None
    takes = {"takes/a-1.wav": spoken(2.5)} if is_spoken else {}
    return soundtrack(
        shots(is_spoken=is_spoken),
        MUSIC,
        recording=recording,
        tone=Tone.DRIVEN,
        seed=1,
        takes=takes,
    )


CASES = [
    (False, False, {Layer.RENDERING}),
    (True, False, {Layer.RENDERING, Layer.NARRATION}),
    (False, True, {Layer.RENDERING, Layer.RECORDING}),
    (True, True, set(Layer)),
]


@pytest.mark.parametrize(("is_spoken", "is_recorded", "expected"), CASES)
def test_layers_together_are_the_films_sound(
    is_spoken: bool, is_recorded: bool, expected: set[Layer]
) -> None:
    track = laid(is_spoken=is_spoken, is_recorded=is_recorded)
    layers = {layer: track.layer(layer) for layer in Layer}
    assert {layer for layer, sound in layers.items() if sound.peak > 0.0} == expected
    added = sum(sound.samples.astype(np.float64) for sound in layers.values())
    assert np.abs(added - track.sound.samples).max() < ROUNDING


def test_each_layer_is_heard_only_where_its_shots_say() -> None:
    narration = laid(is_spoken=True, is_recorded=True).layer(Layer.NARRATION)
    first = shots(is_spoken=True)[0].length_seconds
    voice = shots(is_spoken=True)[1].voice
    assert voice is not None
    heard = np.flatnonzero(narration.samples[0]) / RATE_HZ
    assert heard.min() >= first + voice.at_seconds - 1e-3
    assert heard.max() <= first + voice.at_seconds + voice.length_seconds + 1e-3


def test_a_film_in_which_nothing_sounds_is_silent_in_all_layers() -> None:
    silent = [replace(shot, plays=(), voice=None) for shot in shots(is_spoken=False)]
    track = soundtrack(silent, MUSIC, recording=None, tone=Tone.CLEAN, seed=1)
    assert track.sound.peak == 0.0
    assert all(track.layer(layer).peak == 0.0 for layer in Layer)
