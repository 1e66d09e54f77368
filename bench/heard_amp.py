"""An amplifier that shares nothing with ours: another clipper, another loudspeaker."""

from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy import signal

Wave = NDArray[np.float64]

OVERSAMPLING: Final = 4
BEND: Final = 2.5
"""How sharply the clipper turns: x / (1 + |x|^b)^(1/b), between a soft knee (1) and a hard one."""

ASYMMETRY: Final = 0.15


def driven(wave: Wave, rate_hz: int, gain: float) -> Wave:
    """Drive the sum of all strings, so that they meet in the clipper; peak 0.8 afterwards."""
    scaled = wave / max(float(np.abs(wave).max()), 1e-9)
    tight = signal.sosfilt(signal.butter(1, 110.0, "highpass", fs=rate_hz, output="sos"), scaled)
    fine = signal.resample_poly(tight, OVERSAMPLING, 1) * gain + ASYMMETRY
    bent = fine / (1.0 + np.abs(fine) ** BEND) ** (1.0 / BEND)
    return loudspeaker(signal.resample_poly(bent, 1, OVERSAMPLING)[: len(wave)], rate_hz)


def loudspeaker(wave: Wave, rate_hz: int) -> Wave:
    """Keep what a loudspeaker keeps, with a bump in its presence region; peak 0.8."""
    low = signal.butter(2, 80.0, "highpass", fs=rate_hz, output="sos")
    high = signal.butter(3, 4_700.0, "lowpass", fs=rate_hz, output="sos")
    b, a = signal.iirpeak(2_400.0, 1.2, fs=rate_hz)
    body = signal.sosfilt(high, signal.sosfilt(low, wave))
    out = body + 0.7 * signal.lfilter(b, a, body)
    return np.asarray(0.8 * out / max(float(np.abs(out).max()), 1e-9))
