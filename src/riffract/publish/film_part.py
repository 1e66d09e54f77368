"""A part of the film: the pictures of one shot, encoded into a file of its own.

Parts are joined without being encoded again, so a film that was stopped goes on from its last
whole shot.
"""

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

QUALITY: Final = {"preset": "medium", "crf": "19", "profile": "high", "forced-idr": "1"}
"""Constant quality. Faster presets save a third of the time, but blur hatching at equal size."""

_SECONDS_BETWEEN_KEYS = 4
_AVCOL_SPC_BT709 = 1
"""ITU-T H.273, matrix coefficients: 1 is BT.709. The binding names it for scaling only."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MovieFrame:
    """One picture on its way into the film.

    Attributes:
        index: its number within its part, from 0.
        picture: as `PictureConverter.converted` gave it; the same one may come again.
    """

    index: int
    picture: Any


class PictureConverter:
    """Turns pixels into the encoder's own colours."""

    def __init__(self) -> None:
        self._reformatter = VideoReformatter()

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


class PartFile:
    """A part in the making; use it in a `with` block, and `finish` it.

    Its first picture is one that a player can start at.
    """

    def __init__(self, path: Path, *, width: int, height: int, frames_a_second: int) -> None:
        self._frame_seconds = Fraction(1, frames_a_second)
        self._container: Any = av.open(str(path), "w", format="mp4")
        stream = self._container.add_stream(
            "libx264",
            rate=frames_a_second,
            options=QUALITY,
            width=width,
            height=height,
            time_base=self._frame_seconds,
        )
        stream.pix_fmt = "yuv420p"
        context = stream.codec_context
        context.gop_size = _SECONDS_BETWEEN_KEYS * frames_a_second
        context.thread_count, context.thread_type = 2, "FRAME"
        context.color_primaries, context.color_trc = ColorPrimaries.BT709, ColorTrc.BT709
        context.colorspace, context.color_range = _AVCOL_SPC_BT709, ColorRange.MPEG
        self._stream = stream

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        _type: type[BaseException] | None,
        _value: BaseException | None,
        _trace: TracebackType | None,
    ) -> None:
        self._container.close()

    def add(self, frame: MovieFrame) -> None:
        """Encode the next picture."""
        picture = frame.picture
        picture.pts, picture.time_base = frame.index, self._frame_seconds
        picture.pict_type = PictureType.NONE if frame.index else PictureType.I
        self._container.mux(self._stream.encode(picture))

    def finish(self) -> None:
        """Encode what is left; the file is complete once the `with` block ends."""
        self._container.mux(self._stream.encode(None))


def is_whole(path: Path, frame_count: int) -> bool:
    """Say whether a part is there, can be read, and has so many pictures."""
    try:
        with av.open(str(path)) as part:
            return part.streams.video[0].frames == frame_count
    except (OSError, ValueError, IndexError):  # not there, cut short, or no film at all
        return False
