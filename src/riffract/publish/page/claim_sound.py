"""The sound of one claim, small enough to stand inside a page."""

from base64 import b64encode
from io import BytesIO
from typing import Final

from riffract.sound.encoding import Form, encode
from riffract.sound.sound import Sound

PAGE_BITS_A_SECOND: Final = 112_000
"""Half of what a file of its own gets: a minute and a half of music takes 1.7 MB of a page, so that
an essay stays below 5 MB; less is heard on plucked strings (common practice)."""

PAGE_FORM: Final = Form(
    container="mp3",
    codec="libmp3lame",
    sample_format="fltp",
    bits_a_second=PAGE_BITS_A_SECOND,
)
"""MP3 is the one form that every browser plays, also those without licensed ones."""


def sound_between(film: Sound, start_seconds: float, end_seconds: float) -> Sound:
    """Cut a stretch out of a film's sound; what lies beyond its end is left out."""
    first, last = (round(s * film.rate_hz) for s in (start_seconds, end_seconds))
    return Sound(samples=film.samples[:, first:last], rate_hz=film.rate_hz)


def data_address(sound: Sound) -> str:
    """Write a sound as an address that holds the whole of it."""
    store = BytesIO()
    encode(store, sound, PAGE_FORM)
    return f"data:audio/mpeg;base64,{b64encode(store.getvalue()).decode('ascii')}"
