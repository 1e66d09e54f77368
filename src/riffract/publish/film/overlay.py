"""The overlay: each shot's marks on a transparent page, for the user's own editing program.

Every shot is a file of its own, with a list that says where in the film it belongs.
"""

import csv
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack
from enum import StrEnum
from fractions import Fraction
from io import StringIO
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final

import av
from av.video.reformatter import ColorPrimaries, ColorRange, Colorspace, ColorTrc, VideoReformatter

from riffract.essay.beside import beside, write_whole
from riffract.picture.look import Look
from riffract.picture.raster import Pixels, png, rimmed, unmultiplied
from riffract.picture.scene import Page, page_for
from riffract.publish.film.progress import (
    CancelledError,
    IsCancelled,
    Progress,
    nobody_cancels,
    nobody_listens,
)
from riffract.publish.film.writing import Moment, Reel, moments

TIMING_FILE: Final = "timing.csv"


class OverlayKind(StrEnum):
    """What an overlay is written as."""

    PRORES = "prores"
    VP9 = "vp9"
    PNG = "png"


_BYTES_A_POINT: Final = MappingProxyType(
    {OverlayKind.PRORES: 0.37, OverlayKind.VP9: 0.012, OverlayKind.PNG: 0.21}
)
"""Over the shots of the built-in essay; its fold and its stack take half as much again."""

_ENDINGS: Final = MappingProxyType({OverlayKind.PRORES: "mov", OverlayKind.VP9: "webm"})


def write_overlay(
    folder: Path,
    names: Sequence[str],
    reels: Sequence[Reel],
    look: Look,
    *,
    kind: OverlayKind,
    width: int,
    height: int,
    frames_a_second: int,
    progress: Progress = nobody_listens,
    is_cancelled: IsCancelled = nobody_cancels,
) -> Iterator[Path]:
    """Write each shot with an alpha channel, then the list of their times.

    All that is drawn has a rim in the ground's colour, so it is seen over light pictures, too.
    Colours are not multiplied by alpha ("straight"). ProRes 4444 and VP9 keep alpha in the file; a
    PNG sequence is a folder a shot, with a picture for each frame.

    Args:
        folder: exists.
        names: of the shots' files, without ending.
        reels: the shots; their painters draw on a transparent page.
        look: the colours.
        kind: what is written.
        width: of the picture, px, even.
        height: of the picture, px, even.
        frames_a_second: of the picture.
        progress: is told the share of frames done.
        is_cancelled: is asked before each frame.

    Yields:
        Each file once it is there; of a PNG sequence its folder.

    Raises:
        CancelledError: if it was stopped; the shots complete until then stay.
    """
    page = page_for(width, height)
    shown = list(moments([reel.length_seconds for reel in reels], frames_a_second))
    for number, (name, reel) in enumerate(zip(names, reels, strict=True)):
        own = [moment for moment in shown if moment.reel == number]
        pictures = _pictures(reel, own, look, page)
        reported = _reported(pictures, own, len(shown), progress, is_cancelled)
        if kind is OverlayKind.PNG:
            path = folder / name
            _write_sequence(path, reported)
        else:
            path = folder / f"{name}.{_ENDINGS[kind]}"
            _write_movie(path, reported, kind, (width, height), frames_a_second)
        yield path
    path = folder / TIMING_FILE
    write_whole(path, timing_text(names, reels, kind, frames_a_second))
    yield path
    progress(1.0)


def timing_text(
    names: Sequence[str], reels: Sequence[Reel], kind: OverlayKind, frames_a_second: int
) -> str:
    """List for each shot its file, its title, and its place in the film in frames and seconds."""
    shown = list(moments([reel.length_seconds for reel in reels], frames_a_second))
    table = StringIO()
    writer = csv.writer(table, lineterminator="\n")
    writer.writerow(
        ["file", "title", "first_frame", "frames", "frames_a_second", "start_seconds", "seconds"]
    )
    for number, (name, reel) in enumerate(zip(names, reels, strict=True)):
        own = [moment.index for moment in shown if moment.reel == number]
        if not own:
            continue
        writer.writerow(
            [
                overlay_name(name, kind),
                reel.title,
                own[0],
                len(own),
                frames_a_second,
                f"{own[0] / frames_a_second:.3f}",
                f"{len(own) / frames_a_second:.3f}",
            ]
        )
    return table.getvalue()


def overlay_name(shot: str, kind: OverlayKind) -> str:
    """Name what holds a shot: a file, or a folder of pictures.

    >>> overlay_name("03-fold", OverlayKind.VP9), overlay_name("03-fold", OverlayKind.PNG)
    ('03-fold.webm', '03-fold/')
    """
    ending = _ENDINGS.get(kind)
    return f"{shot}.{ending}" if ending else f"{shot}/"


def expected_bytes(kind: OverlayKind, *, width: int, height: int, frames: int) -> int:
    """Guess how large an overlay will be, from what the built-in essay's took at 1920 × 1080.

    Args:
        kind: what is written.
        width: of the picture, px.
        height: of the picture, px.
        frames: how many pictures there are.
    """
    return round(_BYTES_A_POINT[kind] * width * height * frames)


def is_whole(folder: Path, kind: OverlayKind) -> bool:
    """Tell whether a folder holds all of an overlay of a kind: the list of its times comes last."""
    try:
        listed = (folder / TIMING_FILE).read_text("utf-8")
    except (FileNotFoundError, NotADirectoryError):
        return False
    names = [row["file"] for row in csv.DictReader(StringIO(listed))]
    ending = overlay_name("", kind)
    return all(name.endswith(ending) and (folder / name).exists() for name in names)


def _pictures(
    reel: Reel, shown: Sequence[Moment], look: Look, page: Page
) -> Iterator[tuple[Pixels, bool]]:
    """Draw each frame with rims, and say whether it differs from the one before."""
    painter = reel.painter()
    plain: Pixels | None = None
    for moment in shown:
        frame = painter.frame(moment.seconds)
        is_new = plain is None or frame.is_new
        if plain is None or frame.is_new:
            plain = unmultiplied(rimmed(frame.pixels, look, page=page), look)
        yield plain, is_new


def _reported(
    pictures: Iterator[tuple[Pixels, bool]],
    shown: Sequence[Moment],
    whole: int,
    progress: Progress,
    is_cancelled: IsCancelled,
) -> Iterator[tuple[Pixels, bool]]:
    for moment, picture in zip(shown, pictures, strict=True):
        if is_cancelled():
            raise CancelledError
        yield picture
        progress(moment.index / whole)


def _write_sequence(folder: Path, pictures: Iterator[tuple[Pixels, bool]]) -> None:
    """Write a picture for each frame; those of an earlier, longer shot are taken away."""
    folder.mkdir(exist_ok=True)
    packed = b""
    count = 0
    for pixels, is_new in pictures:
        packed = png(pixels, is_multiplied=False) if is_new else packed
        write_whole(folder / f"{count:05d}.png", packed)
        count += 1
    for left_over in folder.glob("[0-9][0-9][0-9][0-9][0-9].png"):
        if int(left_over.stem) >= count:
            left_over.unlink()


def _write_movie(
    path: Path,
    pictures: Iterator[tuple[Pixels, bool]],
    kind: OverlayKind,
    size: tuple[int, int],
    frames_a_second: int,
) -> None:
    with beside(path) as draft, ExitStack() as stack:
        container: Any = stack.enter_context(
            av.open(
                str(draft),
                "w",
                format={OverlayKind.PRORES: "mov", OverlayKind.VP9: "webm"}[kind],
                container_options={"fflags": "+bitexact"},
            )
        )
        stream = _STREAMS[kind](container, size, frames_a_second)
        context = stream.codec_context
        context.color_primaries, context.color_trc = ColorPrimaries.BT709, ColorTrc.BT709
        context.colorspace, context.color_range = _AVCOL_SPC_BT709, ColorRange.MPEG
        reformatter = VideoReformatter()
        converted: Any = None
        for index, (pixels, is_new) in enumerate(pictures):
            if is_new:
                converted = _converted(reformatter, pixels, stream.pix_fmt)
            converted.pts, converted.time_base = index, Fraction(1, frames_a_second)
            container.mux(stream.encode(converted))
        container.mux(stream.encode(None))


def _converted(reformatter: VideoReformatter, pixels: Pixels, pixel_format: str) -> Any:
    return reformatter.reformat(
        av.VideoFrame.from_numpy_buffer(pixels, format="bgra"),
        format=pixel_format,
        src_color_range=ColorRange.JPEG,
        dst_color_range=ColorRange.MPEG,
        dst_colorspace=Colorspace.ITU709,
        threads=2,
    )


def _prores_stream(container: Any, size: tuple[int, int], frames_a_second: int) -> Any:
    """Open ProRes 4444; 4 is the number of its profile.

    What is drawn has 8 bits of alpha, so 16 would hold nothing more. Constant quality in place of a
    constant rate: on the built-in essay's fold 1.0 in place of 1.9 MB a picture, in a fifth of the
    time, at 53 dB over all, as near to what was drawn as the film is.
    """
    options = {
        "profile": "4",
        "alpha_bits": "8",
        "vendor": "apl0",
        "flags": "+qscale",
        "global_quality": str(_PRORES_QUANTISER * _LAMBDA),
    }
    stream = container.add_stream("prores_ks", rate=frames_a_second, options=options)
    return _opened(stream, "yuva444p10le", size, frames_a_second)


def _vp9_stream(container: Any, size: tuple[int, int], frames_a_second: int) -> Any:
    """Open VP9 with alpha; hidden reference frames would lose it."""
    options = {
        "crf": "20",
        "b": "0",
        "deadline": "good",
        "cpu-used": "4",
        "row-mt": "1",
        "auto-alt-ref": "0",
    }
    stream = container.add_stream("libvpx-vp9", rate=frames_a_second, options=options)
    return _opened(stream, "yuva420p", size, frames_a_second)


def _opened(stream: Any, pixel_format: str, size: tuple[int, int], frames_a_second: int) -> Any:
    stream.width, stream.height = size
    stream.pix_fmt = pixel_format
    stream.codec_context.time_base = Fraction(1, frames_a_second)
    stream.codec_context.thread_count = 2
    return stream


_STREAMS: Final[dict[OverlayKind, Callable[[Any, tuple[int, int], int], Any]]] = {
    OverlayKind.PRORES: _prores_stream,
    OverlayKind.VP9: _vp9_stream,
}
_PRORES_QUANTISER: Final = 6
_LAMBDA: Final = 118
"""The unit in which the library counts quality (`FF_QP2LAMBDA`)."""

_AVCOL_SPC_BT709: Final = 1
"""ITU-T H.273, matrix coefficients: 1 is BT.709."""
