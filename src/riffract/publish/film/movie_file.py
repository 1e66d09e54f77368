"""The movie file: an MP4 that joins encoded parts and keeps sound and captions in step."""

from collections import deque
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final

import av
import numpy as np

from riffract.publish.captions import Cue
from riffract.sound.encoding import AAC_BITS_A_SECOND
from riffract.sound.sound import Samples, Sound

SOUND_RATE_HZ: Final = 48_000
_SAMPLES_AT_ONCE = 1024
_MS = Fraction(1, 1000)


@dataclass(frozen=True, slots=True, kw_only=True)
class MovieLabels:
    """What the file says about itself; empty texts are left out."""

    title: str = ""
    author: str = ""
    rights: str = ""
    description: str = ""
    language: str = "en"


TRACK_LANGUAGES: Final[Mapping[str, str]] = MappingProxyType(
    {
        "cs": "ces",
        "da": "dan",
        "de": "deu",
        "en": "eng",
        "es": "spa",
        "fi": "fin",
        "fr": "fra",
        "hu": "hun",
        "it": "ita",
        "ja": "jpn",
        "ko": "kor",
        "nb": "nob",
        "nl": "nld",
        "pl": "pol",
        "pt": "por",
        "ru": "rus",
        "sv": "swe",
        "tr": "tur",
        "uk": "ukr",
        "zh": "zho",
    }
)
"""What a track in an MP4 calls a language (ISO 639-2/T), by its shorter code (ISO 639-1)."""


class MovieFile:
    """An MP4 in the making; use it within `closing`.

    The index is put in front, so that the file plays while it is still being fetched.
    """

    def __init__(
        self,
        path: Path,
        *,
        first_part: Path,
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
            first_part: tells what the pictures are like.
            frames_a_second: of the pictures.
            frame_count: how many will come.
            sound: cut, or filled up with silence, to the length of the pictures.
            labels: title and the like.
            chapters: start in seconds and title of each.
            cues: captions, by time.
        """
        self._frame_seconds = Fraction(1, frames_a_second)
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
        self._video = self._add_video_stream(first_part)
        self._audio = self._container.add_stream(
            "aac", rate=SOUND_RATE_HZ, bit_rate=AAC_BITS_A_SECOND, layout="stereo"
        )
        self._captions = self._add_caption_stream() if cues else None
        for stream in self._container.streams:
            stream.metadata["language"] = _track_language(labels.language)
        self._container.start_encoding()

    def close(self) -> None:
        """Let go of the file, finished or not."""
        self._container.close()

    def add_part(self, part: Path, first_index: int) -> None:
        """Add the pictures of a part, and the sound and captions that go with them.

        Args:
            part: made by `PartFile`, complete.
            first_index: the number of its first picture in the film, from 0.
        """
        offset = first_index * self._frame_seconds
        with av.open(str(part)) as pictures:
            for packet in pictures.demux(video=0):
                if packet.pts is None or packet.dts is None:  # the end of the file
                    continue
                shown = self._moved(packet, offset)
                self._container.mux(packet)
                self._add_sound_until(int((shown + self._frame_seconds) * SOUND_RATE_HZ))
                self._add_captions_until(int((shown + self._frame_seconds) * 1000))

    def _moved(self, packet: Any, offset_seconds: Fraction) -> Fraction:
        """Give a packet its time in the film; give the moment that its picture is shown at."""
        shown, decoded = (
            time * packet.time_base + offset_seconds for time in (packet.pts, packet.dts)
        )
        packet.stream, packet.time_base = self._video, self._frame_seconds
        packet.pts = round(shown / self._frame_seconds)
        packet.dts = round(decoded / self._frame_seconds)
        packet.duration = 1
        return int(packet.pts) * self._frame_seconds

    def finish(self) -> None:
        """Encode what is left; the file is complete once it is closed."""
        self._add_sound_until(self._samples.shape[1], is_last=True)
        self._container.mux(self._audio.encode(None))

    def _add_video_stream(self, part: Path) -> Any:
        with av.open(str(part)) as pictures:
            stream = self._container.add_stream_from_template(pictures.streams.video[0])
        stream.time_base = self._frame_seconds
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


def _track_language(code: str) -> str:
    """Give a language as three letters; `und` says that it cannot be said."""
    main = code.partition("-")[0]
    return main if len(main) == 3 else TRACK_LANGUAGES.get(main, "und")


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
