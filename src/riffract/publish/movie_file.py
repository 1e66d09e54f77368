"""The movie file: an MP4 that takes pictures one by one and keeps sound and captions in step."""

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from types import TracebackType
from typing import Any, Final, Self

import av
import numpy as np
from av.video.frame import PictureType
from av.video.reformatter import ColorPrimaries, ColorRange, Colorspace, ColorTrc, VideoReformatter
from numpy.typing import NDArray

from riffract.publish.captions import Cue
from riffract.sound.sound import Samples, Sound

SOUND_RATE_HZ: Final = 48_000
QUALITY: Final = {"preset": "medium", "crf": "19", "profile": "high", "forced-idr": "1"}
"""Constant quality. Faster presets save a third of the time, but blur hatching at equal size."""

_SOUND_BITS_A_SECOND = 256_000
_SECONDS_BETWEEN_KEYS = 4
_SAMPLES_AT_ONCE = 1024
_MS = Fraction(1, 1000)
_AVCOL_SPC_BT709 = 1
"""ITU-T H.273, matrix coefficients: 1 is BT.709. The binding names it for scaling only."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MovieLabels:
    """What the file says about itself; empty texts are left out."""

    title: str = ""
    author: str = ""
    rights: str = ""
    description: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class MovieFrame:
    """One picture on its way into the file.

    Attributes:
        index: its number, from 0.
        picture: as `MovieFile.converted` gave it; the same one may come again.
        is_key: whether a player can start here.
    """

    index: int
    picture: Any
    is_key: bool


class MovieFile:
    """An MP4 in the making; use it in a `with` block.

    Pictures may be converted in one thread and added in another. The index is put in front, so
    that the file plays while it is still being fetched.
    """

    def __init__(
        self,
        path: Path,
        *,
        width: int,
        height: int,
        frames_a_second: int,
        frame_count: int,
        sound: Sound,
        labels: MovieLabels,
        chapters: Sequence[tuple[float, str]] = (),
        cues: Sequence[Cue] = (),
    ) -> None:
        """Open the file and write what goes in front.

        Args:
            path: of the file; an existing one is overwritten.
            width: of the pictures in px; even.
            height: of the pictures in px; even.
            frames_a_second: of the pictures.
            frame_count: how many will come.
            sound: cut, or filled up with silence, to the length of the pictures.
            labels: title and the like.
            chapters: start in seconds and title of each.
            cues: captions, by time.
        """
        self.width, self.height = width, height
        self._frames_a_second = frames_a_second
        self._reformatter = VideoReformatter()
        self._samples = _fitted(sound, frame_count * SOUND_RATE_HZ // frames_a_second)
        self._samples_done = 0
        self._cues = deque(cues)
        self._container: Any = av.open(
            str(path), "w", format="mp4", container_options={"movflags": "+faststart"}
        )
        self._container.metadata.update(_metadata(labels))
        self._container.set_chapters(
            _chapters(chapters, round(frame_count * 1000 / frames_a_second))
        )
        self._video = self._add_video_stream()
        self._audio = self._container.add_stream(
            "aac", rate=SOUND_RATE_HZ, bit_rate=_SOUND_BITS_A_SECOND, layout="stereo"
        )
        self._captions = self._add_caption_stream() if cues else None
        for stream in self._container.streams:
            stream.metadata["language"] = "eng"
        self._container.start_encoding()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        _type: type[BaseException] | None,
        _value: BaseException | None,
        _trace: TracebackType | None,
    ) -> None:
        self._container.close()

    def converted(self, pixels: NDArray[np.uint8]) -> Any:
        """Turn pixels, shape (height, width, 4) in blue, green, red, alpha, into a film picture."""
        return self._reformatter.reformat(
            av.VideoFrame.from_numpy_buffer(pixels, format="bgra"),
            format="yuv420p",
            src_color_range=ColorRange.JPEG,
            dst_color_range=ColorRange.MPEG,
            dst_colorspace=Colorspace.ITU709,
            threads=2,
        )

    def add(self, frame: MovieFrame) -> None:
        """Encode the next picture, and the sound and captions that go with it."""
        picture = frame.picture
        picture.pts = frame.index
        picture.time_base = Fraction(1, self._frames_a_second)
        picture.pict_type = PictureType.I if frame.is_key else PictureType.NONE
        self._container.mux(self._video.encode(picture))
        shown_until = Fraction(frame.index + 1, self._frames_a_second)
        self._add_sound_until(int(shown_until * SOUND_RATE_HZ))
        self._add_captions_until(int(shown_until * 1000))

    def finish(self) -> None:
        """Encode what is left; the file is complete once the `with` block ends."""
        self._add_sound_until(self._samples.shape[1], is_last=True)
        self._container.mux(self._audio.encode(None))
        self._container.mux(self._video.encode(None))

    def _add_video_stream(self) -> Any:
        stream = self._container.add_stream(
            "libx264",
            rate=self._frames_a_second,
            options=QUALITY,
            width=self.width,
            height=self.height,
            time_base=Fraction(1, self._frames_a_second),
        )
        stream.pix_fmt = "yuv420p"
        context = stream.codec_context
        context.gop_size = _SECONDS_BETWEEN_KEYS * self._frames_a_second
        context.thread_count, context.thread_type = 2, "FRAME"
        context.color_primaries, context.color_trc = ColorPrimaries.BT709, ColorTrc.BT709
        context.colorspace, context.color_range = _AVCOL_SPC_BT709, ColorRange.MPEG
        return stream

    def _add_caption_stream(self) -> Any:
        stream = self._container.add_stream("mov_text")
        stream.codec_context.time_base = _MS
        stream.codec_context.subtitle_header = _CAPTION_STYLE
        return stream

    def _add_sound_until(self, sample: int, *, is_last: bool = False) -> None:
        """Encode the whole blocks that fit; the last block may be shorter."""
        while self._samples_done + (1 if is_last else _SAMPLES_AT_ONCE) <= sample:
            block = self._samples[:, self._samples_done : self._samples_done + _SAMPLES_AT_ONCE]
            frame = av.AudioFrame.from_ndarray(
                np.ascontiguousarray(block), format="fltp", layout="stereo"
            )
            frame.sample_rate, frame.pts = SOUND_RATE_HZ, self._samples_done
            frame.time_base = Fraction(1, SOUND_RATE_HZ)
            self._container.mux(self._audio.encode(frame))
            self._samples_done += block.shape[1]

    def _add_captions_until(self, ms: int) -> None:
        """Write the captions that start before a moment.

        A caption of an MP4 is its length in two bytes and its text (3GPP TS 26.245, 5.17).
        """
        while self._captions is not None and self._cues and self._cues[0].start_ms < ms:
            cue = self._cues.popleft()
            text = "\n".join(cue.rows).encode()
            packet = av.Packet(len(text).to_bytes(2, "big") + text)
            packet.stream, packet.time_base = self._captions, _MS
            packet.pts = packet.dts = cue.start_ms
            packet.duration = cue.end_ms - cue.start_ms
            self._container.mux(packet)


_CAPTION_STYLE = b"""[Script Info]
ScriptType: v4.00+
[V4+ Styles]
Format: Name, Fontname, Fontsize, PrimaryColour, BackColour, Alignment
Style: Default,Sans,16,&Hffffff,&H0,2
[Events]
Format: Layer, Start, End, Style, Text
"""
"""The caption encoder wants a style in this form before it opens; players use their own."""


def _metadata(labels: MovieLabels) -> dict[str, str]:
    texts = {
        "title": labels.title,
        "artist": labels.author,
        "copyright": labels.rights,
        "description": labels.description,
    }
    return {name: text for name, text in texts.items() if text}


def _chapters(chapters: Sequence[tuple[float, str]], end_ms: int) -> list[Any]:
    starts = [round(start * 1000) for start, _ in chapters]
    return [
        {"id": number, "start": start, "end": end, "time_base": _MS, "metadata": {"title": title}}
        for number, (start, end, (_, title)) in enumerate(
            zip(starts, [*starts[1:], end_ms], chapters, strict=False)
        )
    ]


def _fitted(sound: Sound, sample_count: int) -> Samples:
    """Bring sound to the film's rate and to an exact length. Shape: (2, sample_count)."""
    samples = _at_film_rate(sound)[:, :sample_count]
    missing = sample_count - samples.shape[1]
    return np.pad(samples, ((0, 0), (0, missing))) if missing else samples


def _at_film_rate(sound: Sound) -> Samples:
    if sound.rate_hz == SOUND_RATE_HZ or not sound.sample_count:
        return sound.samples
    resampler = av.AudioResampler(format="fltp", layout="stereo", rate=SOUND_RATE_HZ)
    frame = av.AudioFrame.from_ndarray(
        np.ascontiguousarray(sound.samples), format="fltp", layout="stereo"
    )
    frame.sample_rate, frame.time_base = sound.rate_hz, Fraction(1, sound.rate_hz)
    blocks = [block.to_ndarray() for f in (frame, None) for block in resampler.resample(f)]
    return np.concatenate(blocks, axis=1)
