"""Loops: the main movement of a shot as a small picture that plays over and over.

A loop starts and ends at rest and fades back to its start, so that no jump is seen. Animated WebP
is written for web pages, GIF for places that know nothing else.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any, Final, Protocol

import av
import numpy as np
from av.filter import Graph

from riffract.essay.beside import beside
from riffract.picture.raster import Pixels
from riffract.publish.film.progress import (
    CancelledError,
    IsCancelled,
    Progress,
    nobody_cancels,
    nobody_listens,
)
from riffract.publish.film.writing import FramePainter

LARGEST_BYTES: Final = 8 * 1_000_000
"""What message boards and mail take without complaint (common practice)."""

LONGEST_SECONDS: Final = 8.0
"""Of movement: a loop shows one thing; with half or twice as much it is the same thing."""

FRAMES_A_SECOND: Final = 15
LONG_SIDES_PX: Final = (800, 640, 480, 320)
"""Tried in turn until the file is small enough."""

_REST_FRAMES = 10
_FADE_FRAMES = 5
_LOOK_LONG_SIDE_PX = 192
_QUALITY = "78"


class PainterOfSize(Protocol):
    """Makes the painter of a shot for any size."""

    def __call__(self, *, width: int, height: int) -> FramePainter:
        """Make a painter whose frames are so large."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Movable:
    """A shot to be looped.

    Attributes:
        name: of its files, without ending.
        length_seconds: of the shot.
        sides: of the page, px; only their ratio counts.
        painter: makes its painter.
    """

    name: str
    length_seconds: float
    sides: tuple[int, int]
    painter: PainterOfSize


def write_loops(
    folder: Path,
    shots: Sequence[Movable],
    *,
    progress: Progress = nobody_listens,
    is_cancelled: IsCancelled = nobody_cancels,
) -> Iterator[Path]:
    """Write the loop of each shot in which anything moves, as WebP and as GIF.

    Args:
        folder: exists.
        shots: in order.
        progress: is told the share of shots done.
        is_cancelled: is asked before each shot.

    Yields:
        Each file once it is there.
    """
    for number, shot in enumerate(shots):
        if is_cancelled():
            raise CancelledError
        moments = main_movement(shot)
        if moments:
            for ending, write in (("webp", _write_webp), ("gif", _write_gif)):
                path = folder / f"{shot.name}.{ending}"
                _write_small_enough(path, shot, moments, write)
                yield path
        progress((number + 1) / len(shots))


def main_movement(shot: Movable) -> tuple[float, ...]:
    """Find the moments of a shot's main movement, the rests before and after it included.

    Definition: of all stretches of at most `LONGEST_SECONDS` the one in which most points of the
    picture change, counted at a small size; the first such stretch, cut to its first and last
    change.

    Returns:
        Seconds from the start of the shot, a frame apart; empty if nothing moves.
    """
    width, height = _size(shot, _LOOK_LONG_SIDE_PX)
    painter = shot.painter(width=width, height=height)
    count = int(shot.length_seconds * FRAMES_A_SECOND) + 1
    changes = np.zeros(count)
    before: Pixels | None = None
    for k in range(count):
        pixels = painter.frame(k / FRAMES_A_SECOND).pixels
        if before is not None:
            changes[k] = np.count_nonzero(np.any(pixels != before, axis=2))
        before = pixels
    stretch = min(count, round(LONGEST_SECONDS * FRAMES_A_SECOND))
    sums = np.convolve(changes, np.ones(stretch), mode="valid")
    start = int(np.argmax(sums))
    moving = start + np.flatnonzero(changes[start : start + stretch])
    if not len(moving):
        return ()
    return tuple(k / FRAMES_A_SECOND for k in range(max(moving[0] - 1, 0), moving[-1] + 1))


def loop_frames(painter: FramePainter, moments: Sequence[float]) -> Iterator[Pixels]:
    """Draw a loop: a rest, the movement, a rest, and a fade back to the start."""
    first = last = painter.frame(moments[0]).pixels
    yield from [first] * _REST_FRAMES
    for moment in moments[1:]:
        last = painter.frame(moment).pixels
        yield last
    yield from [last] * _REST_FRAMES
    for step in range(1, _FADE_FRAMES + 1):
        yield _between(last, first, step / (_FADE_FRAMES + 1))


def _between(one: Pixels, other: Pixels, share: float) -> Pixels:
    mixed = one + share * (other.astype(np.float32) - one)
    return np.asarray(np.rint(mixed), dtype=np.uint8)


def _size(shot: Movable, long_side_px: int) -> tuple[int, int]:
    wide, high = (2 * round(side * long_side_px / max(shot.sides) / 2) for side in shot.sides)
    return wide, high


_Write = Callable[[Path, Iterator[Pixels], tuple[int, int]], None]


def _write_small_enough(path: Path, shot: Movable, moments: Sequence[float], write: _Write) -> None:
    """Write a loop as large as the limit allows; the smallest size is taken in any case."""
    with beside(path) as draft:
        for long_side in LONG_SIDES_PX:
            size = _size(shot, long_side)
            painter = shot.painter(width=size[0], height=size[1])
            write(draft, loop_frames(painter, moments), size)
            if draft.stat().st_size <= LARGEST_BYTES:
                break


def _write_webp(path: Path, pictures: Iterator[Pixels], size: tuple[int, int]) -> None:
    options = {"loop": "0", "quality": _QUALITY, "compression_level": "4", "preset": "drawing"}
    with av.open(str(path), "w", format="webp", container_options={"loop": "0"}) as container:
        stream = _stream(container, "libwebp_anim", "bgra", size, options)
        for index, pixels in enumerate(pictures):
            container.mux(stream.encode(_frame(pixels, index)))
        container.mux(stream.encode(None))


def _write_gif(path: Path, pictures: Iterator[Pixels], size: tuple[int, int]) -> None:
    """Write a GIF in the 256 colours that serve the whole of it best."""
    graph = _palette_graph(size)
    for index, pixels in enumerate(pictures):
        graph.push(_frame(pixels, index))
    graph.push(None)
    with av.open(str(path), "w", format="gif", container_options={"loop": "0"}) as container:
        stream = _stream(container, "gif", "pal8", size, {})
        for index, frame in enumerate(_pulled(graph)):
            frame.pts, frame.time_base = index, Fraction(1, FRAMES_A_SECOND)
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))


def _palette_graph(size: tuple[int, int]) -> Graph:
    graph = Graph()
    source = graph.add_buffer(
        width=size[0],
        height=size[1],
        format=av.VideoFormat("bgra", *size),
        time_base=Fraction(1, FRAMES_A_SECOND),
    )
    split = graph.add("split")
    choose = graph.add("palettegen", "stats_mode=full:reserve_transparent=0")
    use = graph.add("paletteuse", "dither=none:diff_mode=rectangle")
    sink = graph.add("buffersink")
    source.link_to(split)
    split.link_to(choose, 0, 0)
    split.link_to(use, 1, 0)
    choose.link_to(use, 0, 1)
    use.link_to(sink)
    graph.configure()
    return graph


def _pulled(graph: Graph) -> Iterator[Any]:
    while True:
        try:
            yield graph.pull()
        except (EOFError, av.BlockingIOError):
            return


def _stream(
    container: Any, codec: str, pixel_format: str, size: tuple[int, int], options: dict[str, str]
) -> Any:
    stream = container.add_stream(
        codec,
        rate=FRAMES_A_SECOND,
        options=options,
        width=size[0],
        height=size[1],
        time_base=Fraction(1, FRAMES_A_SECOND),
    )
    stream.pix_fmt = pixel_format
    return stream


def _frame(pixels: Pixels, index: int) -> Any:
    frame = av.VideoFrame.from_numpy_buffer(np.ascontiguousarray(pixels), format="bgra")
    frame.pts, frame.time_base = index, Fraction(1, FRAMES_A_SECOND)
    return frame
