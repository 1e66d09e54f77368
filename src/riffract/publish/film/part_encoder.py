"""Encoding in a second thread, so that one core draws while the other encodes."""

from collections.abc import Iterator
from contextlib import closing
from itertools import groupby
from pathlib import Path
from queue import Queue
from threading import Event, Thread
from types import TracebackType
from typing import Final, Self

from riffract.essay.beside import beside
from riffract.publish.film.part import MovieFrame, PartFile

FRAMES_WAITING: Final = 8
"""Drawn ahead of the encoder: enough to bridge a slow frame, and few enough to hold in memory."""

_Item = tuple[Path, MovieFrame]


class _StoppedError(Exception):
    """The drawing side gave up; what was drawn of the last part is not all of it."""


class PartEncoder:
    """Encodes parts, one after the other; use it in a `with` block.

    Frames are given part by part. A part appears when a frame of the next one, or the end of the
    block, shows that it is whole. An error of the encoder is raised by the next `encode`, or at the
    end of the block; after an error inside the block, the last part does not appear.
    """

    def __init__(self, *, width: int, height: int, frames_a_second: int) -> None:
        self._width, self._height = width, height
        self._frames_a_second = frames_a_second
        self._waiting: Queue[_Item | None] = Queue(maxsize=FRAMES_WAITING)
        self._failure: BaseException | None = None
        self._stopped = Event()
        self._thread = Thread(target=self._encode_all, name="encode film")

    def __enter__(self) -> Self:
        self._thread.start()
        return self

    def __exit__(
        self,
        _type: type[BaseException] | None,
        value: BaseException | None,
        _trace: TracebackType | None,
    ) -> None:
        if value is not None:
            self._stopped.set()
        self._waiting.put(None)
        self._thread.join()
        if value is None and self._failure is not None:
            raise self._failure

    def encode(self, part: Path, frame: MovieFrame) -> None:
        """Hand over the next frame of a part; waits if too many wait already."""
        if self._failure is not None:
            raise self._failure
        self._waiting.put((part, frame))

    def _encode_all(self) -> None:
        items = self._items()
        try:
            for part, of_part in groupby(items, key=lambda item: item[0]):
                self._encode_part(part, of_part)
        except _StoppedError:
            pass
        except BaseException as failure:  # handed to the drawing side
            self._failure = failure
        finally:
            for _ in items:  # so that nobody waits for a place in the queue
                pass

    def _items(self) -> Iterator[_Item]:
        yield from iter(self._waiting.get, None)

    def _encode_part(self, part: Path, items: Iterator[_Item]) -> None:
        with beside(part) as draft:
            file = PartFile(
                draft,
                width=self._width,
                height=self._height,
                frames_a_second=self._frames_a_second,
            )
            with closing(file):
                for _, frame in items:
                    file.add(frame)
                if self._stopped.is_set():
                    raise _StoppedError
                file.finish()
