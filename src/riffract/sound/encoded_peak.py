"""True peaks after lossy encoding, which can raise them by some decibels."""

from io import BytesIO
from typing import Final

import numpy as np

from riffract.sound.loudness import CEILING_DBTP, loudness_of
from riffract.sound.sound import Sound, gain_of

BITS_A_SECOND: Final = 256_000
"""What a film's sound is encoded with."""

MARGIN_DB: Final = 0.1
"""Ours: a softer sound is encoded a little differently, so it is made softer by this much more."""

MOST_ROUNDS: Final = 4

_FRAME_SAMPLES: Final = 1_024


def held_below(sound: Sound, *, ceiling_dbtp: float = CEILING_DBTP) -> Sound:
    """Make a sound softer until its true peaks stay below a ceiling once it is encoded as AAC.

    One gain for the whole sound; one that stays below already is given back as it is. How much
    encoding raises a peak cannot be told beforehand (up to 2.8 dB, measured), so it is tried.
    """
    held = sound
    for _ in range(MOST_ROUNDS):
        above_db = loudness_of(encoded(held)).true_peak_dbtp - ceiling_dbtp
        if above_db <= 0.0:
            break
        held = held.scaled(gain_of(-above_db - MARGIN_DB))
    return held


def encoded(sound: Sound) -> Sound:
    """Send a sound through AAC and back; the encoder adds silence at both ends."""
    import av

    if not sound.sample_count:
        return sound
    store = BytesIO()
    with av.open(store, "w", format="adts") as out:
        stream = out.add_stream("aac", rate=sound.rate_hz, bit_rate=BITS_A_SECOND, layout="stereo")
        for start in range(0, sound.sample_count, _FRAME_SAMPLES):
            piece = np.ascontiguousarray(sound.samples[:, start : start + _FRAME_SAMPLES])
            frame = av.AudioFrame.from_ndarray(piece, format="fltp", layout="stereo")
            frame.sample_rate, frame.pts = sound.rate_hz, start
            out.mux(stream.encode(frame))
        out.mux(stream.encode(None))
    store.seek(0)
    with av.open(store, "r", format="aac") as container:
        pieces = [frame.to_ndarray() for frame in container.decode(audio=0)]
    return Sound(samples=np.concatenate(pieces, axis=1, dtype=np.float32), rate_hz=sound.rate_hz)
