"""Nothing begins or ends with a burst: not an excerpt, nor a loop, nor what is slowed."""

from fractions import Fraction

import numpy as np
import pytest
from tests.playing import dense_riff

from riffract.music import Span
from riffract.sound import Sound, Tone, excerpt, render, render_loop

RATE = 48_000
EDGE = RATE // 200
"""5 ms."""

PASSAGE, MAP = dense_riff(2)
ON_THE_BEAT = Span(Fraction(1), Fraction(4))
IN_MID_AIR = Span(Fraction(9, 8), Fraction(31, 8))


def made(how: str, span: Span, tone: Tone, speed: float) -> Sound:
    if how == "rendering":
        return render(PASSAGE, MAP, span=span, tone=tone, speed=speed)
    if how == "loop":
        return render_loop(PASSAGE, MAP, span=span, tone=tone, speed=speed, times=2)
    recording = render(PASSAGE, MAP, tone=tone)
    onsets = [PASSAGE.notes.quarters(t) for t in sorted(set(PASSAGE.notes.onset_ticks))]
    times = 2 if how == "recording in a loop" else 1
    return excerpt(recording, MAP, span, speed=speed, attack_quarters=onsets, times=times)


@pytest.mark.parametrize("speed", [0.5, 1.0])
@pytest.mark.parametrize("tone", [Tone.CLEAN, Tone.HIGH])
@pytest.mark.parametrize("span", [ON_THE_BEAT, IN_MID_AIR], ids=["on-the-beat", "in-mid-air"])
@pytest.mark.parametrize("how", ["rendering", "loop", "recording", "recording in a loop"])
def test_it_begins_and_ends_in_silence_without_a_burst(how, span, tone, speed):
    samples = made(how, span, tone, speed).samples.astype(np.float64)
    for side in (samples, samples[:, ::-1]):
        edge, inside = side[:, :EDGE], side[:, EDGE:-EDGE]
        assert not np.any(edge[:, 0])
        # Within the first half millisecond nearly nothing, within 5 ms less than later on.
        assert np.std(edge[:, : EDGE // 10]) < 0.1 * np.std(inside)
        assert np.std(edge) < 1.2 * np.std(inside)
        steps = np.abs(np.diff(edge, axis=1)).max(), np.abs(np.diff(inside, axis=1)).max()
        assert steps[0] <= steps[1]
