"""The film: the frames of all shots, with their sound, as one MP4.

Frame k shows the moment k / fps; sound starts with it and is as long as the frames. One thread
draws and converts, another encodes; what stands still is converted once.
"""

from bisect import bisect_right
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import accumulate
from pathlib import Path
from queue import Queue
from threading import Thread
from typing import Final, Protocol

from riffract.essay.beside import beside
from riffract.formats.problem import Problem
from riffract.picture.raster import Frame
from riffract.publish.captions import Cue
from riffract.publish.flash import Flashing, FlashMeter
from riffract.publish.movie_file import MovieFile, MovieFrame, MovieLabels
from riffract.publish.progress import (
    CancelledError,
    IsCancelled,
    Progress,
    nobody_cancels,
    nobody_listens,
)
from riffract.publish.wording import clock_text
from riffract.sound.sound import Sound

FRAMES_A_SECOND: Final = 30
_FRAMES_WAITING = 8
_FRAMES_BETWEEN_REPORTS = 10
_ROUNDING_SECONDS = 1e-9


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
    """

    title: str
    length_seconds: float
    painter: Callable[[], FramePainter]


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
    progress: Progress = nobody_listens,
    is_cancelled: IsCancelled = nobody_cancels,
) -> tuple[Problem, ...]:
    """Write an MP4: H.264 and AAC, a chapter for each reel, captions as a track of their own.

    The film is as long as its reels together, to the nearest frame; sound beyond that is left
    out, and missing sound is silence. The same input gives the same bytes on one machine.

    Args:
        path: the file; it appears only when all is well. Its folder must exist.
        reels: one after the other.
        sound: heard from the first frame on.
        width: of the picture in px; even.
        height: of the picture in px; even.
        labels: title and the like, kept inside the file.
        cues: captions.
        frames_a_second: of the picture.
        progress: is told the share of frames done.
        is_cancelled: is asked before each frame.

    Returns:
        Problems; none if the film was written. A film that flashes too much is not written.

    Raises:
        CancelledError: if it was stopped; nothing is left behind.
        ValueError: if there is nothing to film, or a side of the picture is odd.
    """
    lengths = [reel.length_seconds for reel in reels]
    frames = frame_count(lengths, frames_a_second)
    if frames < 1:
        raise ValueError(f"a film needs at least one frame, got {len(reels)} reels")
    if width % 2 or height % 2:
        raise ValueError(f"width and height must be even, got {width} × {height}")
    starts = [0.0, *accumulate(lengths)]
    try:
        with (
            beside(path) as draft,
            MovieFile(
                draft,
                width=width,
                height=height,
                frames_a_second=frames_a_second,
                frame_count=frames,
                sound=sound,
                labels=labels,
                chapters=tuple(zip(starts, (reel.title for reel in reels), strict=False)),
                cues=cues,
            ) as movie,
        ):
            with _encoding(movie) as encode:
                for picture in _pictures(movie, reels, frames_a_second):
                    if is_cancelled():
                        raise CancelledError
                    encode(picture)
                    if picture.index % _FRAMES_BETWEEN_REPORTS == 0:
                        progress(picture.index / frames)
            movie.finish()
    except _FlashesError as refused:
        return (_flash_problem(refused.flashing, starts, reels),)
    progress(1.0)
    return ()


class _FlashesError(Exception):
    """The picture flashes too much."""

    def __init__(self, flashing: Flashing) -> None:
        super().__init__(flashing)
        self.flashing = flashing


def _pictures(
    movie: MovieFile, reels: Sequence[Reel], frames_a_second: int
) -> Iterator[MovieFrame]:
    """Draw and convert each frame, watching for flashes; what stands still is taken again."""
    meter = FlashMeter(width=movie.width, height=movie.height)
    reel = -1
    for moment in moments([reel.length_seconds for reel in reels], frames_a_second):
        starts_reel = moment.reel != reel
        if starts_reel:
            reel, painter = moment.reel, reels[moment.reel].painter()
        frame = painter.frame(moment.seconds)
        if starts_reel or frame.is_new:
            flashing = meter.add(moment.index / frames_a_second, frame.pixels)
            if flashing is not None:
                raise _FlashesError(flashing)
            converted = movie.converted(frame.pixels)
        yield MovieFrame(index=moment.index, picture=converted, is_key=starts_reel)


@contextmanager
def _encoding(movie: MovieFile) -> Iterator[Callable[[MovieFrame], None]]:
    """Encode in a second thread; what is given here waits in a short queue."""
    waiting: Queue[MovieFrame | None] = Queue(maxsize=_FRAMES_WAITING)
    failures: list[BaseException] = []

    def encode_all() -> None:
        try:
            for picture in iter(waiting.get, None):
                movie.add(picture)
        except BaseException as failure:  # handed to the drawing side below
            failures.append(failure)
            while waiting.get() is not None:  # so that nobody waits for a place in the queue
                pass

    def encode(picture: MovieFrame) -> None:
        if failures:
            raise failures[0]
        waiting.put(picture)

    encoder = Thread(target=encode_all, name="encode film")
    encoder.start()
    try:
        yield encode
    finally:
        waiting.put(None)
        encoder.join()
    if failures:
        raise failures[0]


def _flash_problem(
    flashing: Flashing, starts_seconds: Sequence[float], reels: Sequence[Reel]
) -> Problem:
    reel = bisect_right(starts_seconds[: len(reels)], flashing.from_seconds) - 1
    return Problem(
        what=f"the picture flashes {flashing.flashes:g} times in the second from "
        f"{clock_text(flashing.from_seconds)}, in “{reels[reel].title}”; more than 3 may harm",
        mend="slow the shot down, or choose another picture for it",
        place=clock_text(flashing.from_seconds),
    )
