"""Sound into files of the usual forms, each as long as what went in."""

from dataclasses import dataclass
from fractions import Fraction
from io import BytesIO
from pathlib import Path
from typing import Any, BinaryIO, Final

import numpy as np
from numpy.typing import NDArray

from riffract.sound.files import write_wav
from riffract.sound.reading.room import Room
from riffract.sound.sound import Sound

AAC_BITS_A_SECOND: Final = 256_000
"""Of a film's sound and of .m4a files: no difference is heard at it (common practice)."""

_PIECE_SAMPLES: Final = 65_536
"""How many are handed over at once; it does not change what is written."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """A form of sound file.

    Attributes:
        container: what the file is made as.
        codec: what its sound is encoded with.
        sample_format: how the codec takes samples.
        bits_a_second: of a form that loses something; `None` for one that loses nothing.
    """

    container: str
    codec: str
    sample_format: str
    bits_a_second: int | None = None

    @property
    def is_lossy(self) -> bool:
        """Whether what is read from it differs from what was written."""
        return self.bits_a_second is not None


AAC: Final = Form(
    container="mp4", codec="aac", sample_format="fltp", bits_a_second=AAC_BITS_A_SECOND
)

FORMS: Final = {
    ".wav": Form(container="wav", codec="pcm_s24le", sample_format="s32"),
    ".flac": Form(container="flac", codec="flac", sample_format="s32"),
    ".m4a": AAC,
    ".mp3": Form(container="mp3", codec="libmp3lame", sample_format="fltp", bits_a_second=256_000),
    ".ogg": Form(container="ogg", codec="libopus", sample_format="flt", bits_a_second=192_000),
}
"""By the ending of a file's name. Ogg holds Opus, which needs fewer bits for the same sound (common
practice)."""


def write_sound(path: Path, sound: Sound, form: Form) -> None:
    """Write a sound file, whatever its name.

    The file says where its sound starts and ends, so that a reader that follows it gives back
    exactly as many samples, without the silence that an encoder puts around them. Only an MP3
    keeps up to a millisecond of silence at its end, one in 25.

    Args:
        path: the file; it is replaced if it exists.
        sound: nothing in it above full scale; at 48 kHz for Opus, which knows few rates.
        form: one of `FORMS`.

    Raises:
        ValueError: if a sample lies beyond full scale.
        OSError: if the file cannot be written.
    """
    if form == FORMS[".wav"]:
        write_wav(path, sound)
        return
    if sound.peak > 1.0:
        raise ValueError(f"samples must lie within ±1 to be written, got {sound.peak:.3f}")
    # In memory first: what a disk refuses while it is encoded is told in riddles.
    store = BytesIO()
    encode(store, sound, form)
    path.write_bytes(store.getbuffer())


def encode(store: BinaryIO, sound: Sound, form: Form) -> None:
    """Encode a sound into an open file, or into memory."""
    import av

    with av.open(store, "w", format=form.container, options=_exact_length(sound, form)) as out:
        stream: Any = out.add_stream(form.codec, rate=sound.rate_hz)
        stream.layout, stream.format = "stereo", form.sample_format
        if form.bits_a_second is not None:
            stream.bit_rate = form.bits_a_second
        # Encoders take samples by blocks of their own size; the last may be shorter.
        pieces = av.AudioFifo()
        stream.open()
        size = stream.frame_size or _PIECE_SAMPLES
        for start in range(0, sound.sample_count, _PIECE_SAMPLES):
            pieces.write(_frame(sound, start, form))
            for frame in pieces.read_many(size):
                out.mux(stream.encode(frame))
        last = pieces.read(partial=True)
        if last is not None:
            out.mux(stream.encode(last))
        out.mux(stream.encode(None))


def decoded(store: BinaryIO, form: Form) -> Sound:
    """Decode what `encode` wrote, as a player hears it."""
    import av

    with av.open(store, "r", format=form.container) as container:
        stream = container.streams.audio[0]
        rate = stream.rate
        room = Room(
            2, rate_hz=rate, expected_seconds=float((container.duration or 0) / av.time_base)
        )
        resampler = av.AudioResampler(format="fltp", layout="stereo", rate=rate)
        for frame in container.decode(audio=0):
            for piece in resampler.resample(frame):
                room.add(np.asarray(piece.to_ndarray(), dtype=np.float32))
    return Sound(samples=room.samples, rate_hz=rate)


def _exact_length(sound: Sound, form: Form) -> dict[str, str]:
    """An MP4 says how long its sound is, in thousandths of a second unless told to be finer."""
    return {"movie_timescale": str(sound.rate_hz)} if form.container == "mp4" else {}


def _frame(sound: Sound, start: int, form: Form) -> Any:
    import av

    samples = sound.samples[:, start : start + _PIECE_SAMPLES]
    frame = av.AudioFrame.from_ndarray(
        _laid_out(samples, form), format=form.sample_format, layout="stereo"
    )
    frame.sample_rate, frame.pts = sound.rate_hz, start
    frame.time_base = Fraction(1, sound.rate_hz)
    return frame


def _laid_out(samples: NDArray[np.float32], form: Form) -> NDArray[Any]:
    """Give samples as a codec takes them: side after side, or in turn; whole numbers of 24 bits."""
    if form.sample_format == "fltp":
        return np.ascontiguousarray(samples)
    in_turn = np.ascontiguousarray(samples.T).reshape(1, -1)
    if form.sample_format == "flt":
        return in_turn
    whole = np.rint(in_turn.astype(np.float64) * (2**23 - 1)).astype(np.int32)
    return whole << 8
