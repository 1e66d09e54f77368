"""The film: the frames of all shots, with their sound, as one MP4.

Frame k shows the moment k / fps; sound starts with it and is as long as the frames. One thread
draws and converts, another encodes; what stands still is converted once. Each shot is encoded into
a part of its own; at the end the parts are joined as they are.
"""

from bisect import bisect_right
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass, replace
from itertools import accumulate, groupby
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Final, Protocol

from riffract.analysis.saying import in_digits, say
from riffract.essay.beside import beside
from riffract.formats.problem import Problem, Severity
from riffract.picture.raster import Frame, Pixels
from riffract.publish.captions import Cue
from riffract.publish.film.flash import Flashing, FlashMeter
from riffract.publish.film.movie_file import MovieFile, MovieLabels
from riffract.publish.film.part import MovieFrame, PictureConverter, is_whole, part_pictures
from riffract.publish.film.part_encoder import PartEncoder
from riffract.publish.film.progress import (
    CancelledError,
    IsCancelled,
    Progress,
    nobody_cancels,
    nobody_listens,
)
from riffract.publish.wording import clock_text
from riffract.sound.sound import Sound

FRAMES_A_SECOND: Final = 30
_FRAMES_BETWEEN_REPORTS = 10
_ROUNDING_SECONDS = 1e-9
_PART_ENDING = ".part.mp4"


class FramePainter(Protocol):
    """Paints the moments of one shot, as `riffract.picture.raster.ScenePainter` does."""

    def frame(self, seconds: float) -> Frame:
        """Draw the moment `seconds` after the start of the shot, and say whether it is new."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Reel:
    """One shot, ready to be filmed.

    Attributes:
        title: its chapter's name.
        length_seconds: how long it lasts.
        painter: makes its painter when its turn comes.
        key: is the same only for reels whose pictures are the same; may be a file's name. Empty if
            nothing is known about that.
    """

    title: str
    length_seconds: float
    painter: Callable[[], FramePainter]
    key: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Moment:
    """What one frame shows.

    Attributes:
        index: the frame's number, from 0.
        reel: the number of its reel, from 0.
        seconds: the moment, from the start of the reel.
    """

    index: int
    reel: int
    seconds: float


def moments(lengths_seconds: Sequence[float], frames_a_second: int) -> Iterator[Moment]:
    """List what each frame of a film shows: frame k the moment k / fps.

    >>> [(m.reel, round(m.seconds, 6)) for m in moments([0.5, 1.0], 3)]
    [(0, 0.0), (0, 0.333333), (1, 0.166667), (1, 0.5)]
    """
    starts = [0.0, *accumulate(lengths_seconds)]
    reel = 0
    for index in range(frame_count(lengths_seconds, frames_a_second)):
        seconds = index / frames_a_second
        while reel + 1 < len(lengths_seconds) and seconds >= starts[reel + 1] - _ROUNDING_SECONDS:
            reel += 1
        yield Moment(index=index, reel=reel, seconds=max(0.0, seconds - starts[reel]))


def frame_count(lengths_seconds: Sequence[float], frames_a_second: int) -> int:
    """Count the frames of a film, to the nearest whole one.

    >>> frame_count([1.0, 0.51], 30)
    45
    """
    return round(sum(lengths_seconds) * frames_a_second)


def write_film(
    path: Path,
    reels: Sequence[Reel],
    sound: Sound,
    *,
    width: int,
    height: int,
    labels: MovieLabels,
    cues: Sequence[Cue] = (),
    frames_a_second: int = FRAMES_A_SECOND,
    meter: FlashMeter | None = None,
    despite_flashing: bool = False,
    parts_folder: Path | None = None,
    progress: Progress = nobody_listens,
    is_cancelled: IsCancelled = nobody_cancels,
) -> tuple[Problem, ...]:
    """Write an MP4: H.264 and AAC, a chapter for each reel, captions as a track of their own.

    The film is as long as its reels together, to the nearest frame; sound beyond that is left
    out, and missing sound is silence. The same input gives the same pictures and sound on one
    machine; two encoding threads may pack them a little otherwise.

    Args:
        path: the file; it appears only when all is well. Its folder must exist.
        reels: one after the other.
        sound: heard from the first frame on.
        width: of the picture in px; even.
        height: of the picture in px; even.
        labels: title and the like, kept inside the file.
        cues: captions.
        frames_a_second: of the picture.
        meter: watches the pictures; give one to read afterwards what it saw.
        despite_flashing: write the film even if it flashes too much; the problem is then a warning.
        parts_folder: keeps the reels that are complete if the job is stopped, and is taken away
            when the film is there; those that have a key are taken from it again. `None` keeps
            nothing.
        progress: is told the share of frames done.
        is_cancelled: is asked before each frame.

    Returns:
        Problems; a film with an error among them is not written. Flashing too much is one.

    Raises:
        CancelledError: if it was stopped; nothing but whole parts is left behind.
        ValueError: if there is nothing to film, or a side of the picture is odd.
    """
    lengths = [reel.length_seconds for reel in reels]
    frames = frame_count(lengths, frames_a_second)
    if frames < 1:
        raise ValueError(f"a film needs at least one frame, got {len(reels)} reels")
    if width % 2 or height % 2:
        raise ValueError(f"width and height must be even, got {width} × {height}")
    starts = [0.0, *accumulate(lengths)]
    watch = _Watch(
        meter=meter or FlashMeter(width=width, height=height),
        frames=frames,
        despite_flashing=despite_flashing,
        progress=progress,
        is_cancelled=is_cancelled,
    )
    with _parts_in(parts_folder, path) as folder:
        try:
            parts = _made_parts(folder, reels, (width, height), frames_a_second, watch)
        except _FlashesError as refused:
            return (_flash_problem(refused.flashing, starts, reels),)
        with (
            beside(path) as draft,
            closing(
                MovieFile(
                    draft,
                    first_part=parts[0][1],
                    frames_a_second=frames_a_second,
                    frame_count=frames,
                    sound=sound,
                    labels=labels,
                    chapters=tuple(zip(starts, (reel.title for reel in reels), strict=False)),
                    cues=cues,
                )
            ) as movie,
        ):
            for first_index, part in parts:
                movie.add_part(part, first_index)
            movie.finish()
    progress(1.0)
    if watch.flashing is None:
        return ()
    problem = _flash_problem(watch.flashing, starts, reels)
    return (replace(problem, severity=Severity.WARNING),)


@dataclass(slots=True, kw_only=True)
class _Watch:
    """Looks at the job while it is done: for flashes, for the end, and for those who wait."""

    meter: FlashMeter
    frames: int
    despite_flashing: bool
    progress: Progress
    is_cancelled: IsCancelled
    flashing: Flashing | None = None

    def see(self, seconds: float, pixels: Pixels) -> None:
        """Look at a new picture."""
        flashing = self.meter.add(seconds, pixels)
        if flashing is None:
            return
        if not self.despite_flashing:
            raise _FlashesError(flashing)
        self.flashing = self.flashing or flashing

    def reach(self, index: int) -> None:
        """Tell how far the film is, and stop if it shall."""
        if self.is_cancelled():
            raise CancelledError
        if index % _FRAMES_BETWEEN_REPORTS == 0:
            self.progress(index / self.frames)


class _FlashesError(Exception):
    """The picture flashes too much."""

    def __init__(self, flashing: Flashing) -> None:
        super().__init__(flashing)
        self.flashing = flashing


@contextmanager
def _parts_in(folder: Path | None, film: Path) -> Iterator[Path]:
    """Give a place for parts: one that outlives a failure, or one that does not."""
    if folder is None:
        with TemporaryDirectory(dir=film.parent, prefix=f".{film.name}.") as own:
            yield Path(own)
        return
    folder.mkdir(exist_ok=True)
    yield folder
    for part in folder.glob(f"*{_PART_ENDING}"):
        part.unlink()
    with suppress(OSError):  # what others have put there stays
        folder.rmdir()


def _made_parts(
    folder: Path,
    reels: Sequence[Reel],
    size: tuple[int, int],
    frames_a_second: int,
    watch: _Watch,
) -> list[tuple[int, Path]]:
    """Make the parts that are not there yet; give each with the number of its first frame."""
    shown = list(moments([reel.length_seconds for reel in reels], frames_a_second))
    parts: list[tuple[int, Path]] = []
    width, height = size
    with PartEncoder(width=width, height=height, frames_a_second=frames_a_second) as encoder:
        for number, own in groupby(shown, key=lambda moment: moment.reel):
            reel, of_reel = reels[number], list(own)
            part = folder / _part_name(reel, number, of_reel)
            parts.append((of_reel[0].index, part))
            if reel.key and is_whole(part, len(of_reel)):
                _watch_part(part, of_reel, frames_a_second, watch)
                continue
            for picture in _pictures(reel, of_reel, frames_a_second, watch):
                encoder.encode(part, picture)
    return parts


def _part_name(reel: Reel, number: int, shown: Sequence[Moment]) -> str:
    """Name a part after all that makes its pictures: also how many, and where the first falls."""
    name = reel.key or f"reel-{number:03d}"
    return f"{name}-{len(shown)}-{round(shown[0].seconds * 1e6)}{_PART_ENDING}"


def _watch_part(part: Path, shown: Sequence[Moment], frames_a_second: int, watch: _Watch) -> None:
    """Look at all pictures of a part that is there already, as if they were drawn now.

    A swing may have begun long before the part ends, so its last second alone would not do.
    """
    for moment, pixels in zip(shown, part_pictures(part), strict=True):
        watch.reach(moment.index)
        watch.see(moment.index / frames_a_second, pixels)


def _pictures(
    reel: Reel, shown: Sequence[Moment], frames_a_second: int, watch: _Watch
) -> Iterator[MovieFrame]:
    """Draw and convert each frame, watching for flashes; what stands still is taken again."""
    painter, converter = reel.painter(), PictureConverter()
    converted: object = None
    for number, moment in enumerate(shown):
        watch.reach(moment.index)
        frame = painter.frame(moment.seconds)
        if frame.is_new or converted is None:
            watch.see(moment.index / frames_a_second, frame.pixels)
            converted = converter.converted(frame)
        yield MovieFrame(index=number, picture=converted)


def _flash_problem(
    flashing: Flashing, starts_seconds: Sequence[float], reels: Sequence[Reel]
) -> Problem:
    reel = bisect_right(starts_seconds[: len(reels)], flashing.from_seconds) - 1
    return Problem(
        what=say(
            "the picture flashes {count} times in the second from {at}, in “{shot}”; more than "
            "3 may harm",
            count=in_digits(f"{flashing.flashes:g}"),
            at=clock_text(flashing.from_seconds),
            shot=reels[reel].title,
        ),
        mend=say(
            "slow the shot down, or choose another picture for it; `--despite-flashing` writes "
            "it all the same"
        ),
        place=clock_text(flashing.from_seconds),
    )
