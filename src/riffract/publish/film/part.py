"""A part of the film: the pictures of one shot, encoded into a file of its own.

Parts are joined without being encoded again, so a film that was stopped goes on from its last
whole shot.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any, Final

import av
import numpy as np
from av.video.frame import PictureType
from av.video.reformatter import ColorPrimaries, ColorRange, Colorspace, ColorTrc, VideoReformatter
from numpy.typing import NDArray

from riffract.picture.changed import PixelBox
from riffract.picture.raster import Frame

QUALITY: Final = {"preset": "veryfast", "crf": "15", "profile": "high", "forced-idr": "1"}
"""Constant quality. On the built-in essay's pictures this costs half the time of the preset medium
at 19, gives a file of the same size (529 to 518 kB for six seconds), and is as near to what was
drawn: 53.6 to 53.5 dB over all frames, 51.6 to 51.7 in the worst one."""

_MOST_SHARE: Final = 0.5
"""Of a picture: where more than this has changed, all is converted, which spares a copy."""

_FILTER_PX: Final = 4
"""How far around a point the conversion looks, to share colours among four points, and to spare."""

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
    """Turns the frames of a shot into the encoder's own colours; only what changed is converted."""

    def __init__(self) -> None:
        self._whole, self._tile = VideoReformatter(), VideoReformatter()
        self._last: NDArray[np.uint8] | None = None

    def converted(self, frame: Frame) -> Any:
        """Turn the next frame into a film picture.

        Args:
            frame: its sides are even; `changed` speaks of the one that was given before.

        Returns:
            The same picture as if all of it were converted.
        """
        height, width, _ = frame.pixels.shape
        box = _even(frame.changed, width, height)
        if self._last is None or box is None or box.area > _MOST_SHARE * width * height:
            self._last = _in_film_colours(self._whole, frame.pixels)
        elif box.area:
            self._mend(self._last, frame.pixels, box)
        return _film_picture(self._last, width, height)

    def _mend(self, last: NDArray[np.uint8], pixels: NDArray[np.uint8], box: PixelBox) -> None:
        """Convert a part of a picture, with enough around it, and put it into the last one."""
        height, width, _ = pixels.shape
        around = _grown(box, _FILTER_PX, width, height)
        tile = _in_film_colours(self._tile, np.ascontiguousarray(pixels[around.rows_and_columns]))
        tile_sides = (around.right - around.left, around.bottom - around.top)
        inner = PixelBox(
            left=box.left - around.left,
            top=box.top - around.top,
            right=box.right - around.left,
            bottom=box.bottom - around.top,
        )
        for step, target, source in zip(
            (1, 2, 2), _planes(last, width, height), _planes(tile, *tile_sides), strict=True
        ):
            target[_shrunk(box, step)] = source[_shrunk(inner, step)]


def _in_film_colours(reformatter: VideoReformatter, pixels: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Convert blue, green, red, alpha, shape (height, width, 4), to (height * 3 / 2, width)."""
    frame = reformatter.reformat(
        av.VideoFrame.from_numpy_buffer(pixels, format="bgra"),
        format="yuv420p",
        src_color_range=ColorRange.JPEG,
        dst_color_range=ColorRange.MPEG,
        dst_colorspace=Colorspace.ITU709,
        threads=2,
    )
    return np.asarray(frame.to_ndarray())


def _film_picture(picture: NDArray[np.uint8], width: int, height: int) -> Any:
    """Copy a converted picture into a frame of the encoder's library, row by row."""
    frame = av.VideoFrame(width, height, "yuv420p")
    for plane, source in zip(frame.planes, _planes(picture, width, height), strict=True):
        rows, columns = source.shape
        # The library may keep rows longer than the picture is wide.
        target = np.frombuffer(memoryview(plane), dtype=np.uint8).reshape(-1, plane.line_size)
        target[:rows, :columns] = source
    return frame


def _planes(picture: NDArray[np.uint8], width: int, height: int) -> tuple[NDArray[np.uint8], ...]:
    """Give light and the two planes of colour, which have half the rows and half the columns."""
    points, quarter = width * height, width * height // 4
    flat = picture.reshape(-1)
    half = (height // 2, width // 2)
    return (
        flat[:points].reshape(height, width),
        flat[points : points + quarter].reshape(half),
        flat[points + quarter :].reshape(half),
    )


def _even(box: PixelBox | None, width: int, height: int) -> PixelBox | None:
    """Widen a box to whole points of colour, and by those that share colour with a changed one."""
    if box is None or not box.area:
        return box
    return _grown(
        PixelBox(
            left=box.left // 2 * 2,
            top=box.top // 2 * 2,
            right=(box.right + 1) // 2 * 2,
            bottom=(box.bottom + 1) // 2 * 2,
        ),
        2,
        width,
        height,
    )


def _grown(box: PixelBox, by_px: int, width: int, height: int) -> PixelBox:
    return PixelBox(
        left=max(box.left - by_px, 0),
        top=max(box.top - by_px, 0),
        right=min(box.right + by_px, width),
        bottom=min(box.bottom + by_px, height),
    )


def _shrunk(box: PixelBox, step: int) -> tuple[slice, slice]:
    return (
        slice(box.top // step, box.bottom // step),
        slice(box.left // step, box.right // step),
    )


class PartFile:
    """A part in the making; use it within `closing`, and `finish` it.

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

    def close(self) -> None:
        """Let go of the file, finished or not."""
        self._container.close()

    def add(self, frame: MovieFrame) -> None:
        """Encode the next picture."""
        picture = frame.picture
        picture.pts, picture.time_base = frame.index, self._frame_seconds
        picture.pict_type = PictureType.NONE if frame.index else PictureType.I
        self._container.mux(self._stream.encode(picture))

    def finish(self) -> None:
        """Encode what is left; the file is complete once it is closed."""
        self._container.mux(self._stream.encode(None))


def is_whole(path: Path, frame_count: int) -> bool:
    """Say whether a part is there, can be read, and has so many pictures."""
    try:
        with av.open(str(path)) as part:
            return part.streams.video[0].frames == frame_count
    except (OSError, ValueError, IndexError):  # not there, cut short, or no film at all
        return False


def part_pictures(path: Path) -> Iterator[NDArray[np.uint8]]:
    """Decode a part picture by picture, shape (height, width, 4): blue, green, red, alpha."""
    with av.open(str(path)) as part:
        stream = part.streams.video[0]
        stream.thread_type = "AUTO"
        reformatter = VideoReformatter()
        for frame in part.decode(stream):
            plain = reformatter.reformat(
                frame,
                format="bgra",
                src_colorspace=Colorspace.ITU709,
                src_color_range=ColorRange.MPEG,
                dst_color_range=ColorRange.JPEG,
                threads=2,
            )
            yield np.asarray(plain.to_ndarray())
