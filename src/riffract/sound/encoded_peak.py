"""True peaks after lossy encoding, which can raise them by some decibels."""

from io import BytesIO
from typing import Final

from riffract.sound.encoding import AAC, Form, decoded, encode
from riffract.sound.loudness import CEILING_DBTP, true_peak_dbtp
from riffract.sound.sound import Sound, gain_of

MARGIN_DB: Final = 0.1
"""Ours: a softer sound is encoded a little differently, so it is made softer by this much more, and
by twice as much each time that this was not enough."""

MOST_ROUNDS: Final = 8
"""By then it is 25 dB softer at the least, and no encoder raises a peak by that."""


def held_below(sound: Sound, *, form: Form = AAC, ceiling_dbtp: float = CEILING_DBTP) -> Sound:
    """Make a sound softer until its true peaks stay below a ceiling once it is encoded.

    One gain for the whole sound; one that stays below already is given back as it is.
    """
    gain = gain_below(sound, form=form, ceiling_dbtp=ceiling_dbtp)
    return sound if gain == 1.0 else sound.scaled(gain)


def gain_below(sound: Sound, *, form: Form = AAC, ceiling_dbtp: float = CEILING_DBTP) -> float:
    """Find the gain by which `held_below` makes a sound softer.

    How much encoding raises a peak cannot be told beforehand (up to 2.8 dB by AAC, measured), so
    it is tried, and what the gain makes of the sound was encoded and measured.

    Args:
        sound: what will be encoded.
        form: how; one that loses nothing is tried all the same.
        ceiling_dbtp: what no true peak exceeds.
    """
    gain = 1.0
    for number in range(MOST_ROUNDS):
        held = sound if gain == 1.0 else sound.scaled(gain)
        above_db = true_peak_dbtp(encoded(held, form)) - ceiling_dbtp
        if above_db <= 0.0:
            break
        gain *= gain_of(-above_db - MARGIN_DB * 2**number)
    return gain


def encoded(sound: Sound, form: Form = AAC) -> Sound:
    """Send a sound through an encoder and back: what a player of the file hears."""
    if not sound.sample_count:
        return sound
    store = BytesIO()
    encode(store, sound, form)
    store.seek(0)
    return decoded(store, form)
