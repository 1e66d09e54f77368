"""A scene as SVG that a script can move: what stands, what comes up, and what goes about.

Nothing is drawn a second time: the marks are those of the film. What comes up is in the page once,
and the script sets how far it has come up. What goes about is looked at `FRAMES_A_SECOND` times;
each of its elements is kept once, and a frame is a list of their numbers.
"""

from base64 import b64encode
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final
from zlib import compress

import msgspec

from riffract.picture.scene import Page, Scene
from riffract.picture.svg import SvgPieces

FRAMES_A_SECOND: Final = 15
"""How often what goes about is looked at. A fold still looks smooth, and 30 would make the pictures
of the built-in essay larger by a third for no movement that 15 do not show."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rising:
    """Elements that come up once: when, and how long they take, in seconds."""

    at_seconds: float
    fade_seconds: float
    elements: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MovingPicture:
    """A scene in pieces.

    Attributes:
        page: its size.
        ground: elements that stand from first to last.
        rising: what comes up over them, in the order of drawing.
        parts: every element that goes about, once.
        frames: from when on which of the parts are seen, by time; only where they change.
        rest: elements of the picture while nothing is heard, with all in it to see at once. A long
            passage is paged while it is heard, and would rest on its last page.
        description: the picture in words.
    """

    page: Page
    ground: str
    rising: tuple[Rising, ...]
    parts: tuple[str, ...]
    frames: tuple[tuple[float, tuple[int, ...]], ...]
    rest: str
    description: str

    @property
    def packed(self) -> str:
        """What the script needs to move it: JSON, deflated (RFC 1950), in Base64.

        Its elements are much alike: packed they take an eighth of their length.
        """
        rising = [(one.at_seconds, one.fade_seconds, one.elements) for one in self.rising]
        moving = (self.ground, rising, self.parts, self.frames)
        names = ("ground", "rising", "parts", "frames")
        text = msgspec.json.encode(dict(zip(names, moving, strict=True)))
        return b64encode(compress(text, level=9)).decode("ascii")


def moving_picture(scene: Scene, still: Scene, pieces: SvgPieces) -> MovingPicture:
    """Take a scene into pieces.

    Args:
        scene: with its movement.
        still: the same as it stands when nothing is heard.
        pieces: writes the elements; its definitions belong into the same document.
    """
    numbers: dict[str, int] = {}
    frames = tuple(_changed(list(_frames(scene, pieces, numbers))))
    return MovingPicture(
        page=scene.page,
        ground=pieces.piece(scene.ground),
        rising=tuple(
            Rising(
                at_seconds=round(cue.at_seconds, 3),
                fade_seconds=round(cue.fade_seconds, 3),
                elements=pieces.piece(cue.marks),
            )
            for cue in scene.cues
            if cue.at_seconds < scene.length_seconds
        ),
        parts=tuple(numbers),
        frames=frames,
        rest=pieces.piece(still.at_rest()),
        description=still.description,
    )


_Frame = tuple[float, tuple[int, ...]]


def _frames(scene: Scene, pieces: SvgPieces, numbers: dict[str, int]) -> Iterator[_Frame]:
    """Look at what goes about, and number its elements as they are first met."""
    count = int(scene.length_seconds * FRAMES_A_SECOND)
    moments = [*(k / FRAMES_A_SECOND for k in range(count)), scene.length_seconds]
    for seconds in moments:
        elements = (pieces.piece([mark]) for mark in scene.moving(seconds))
        seen = tuple(numbers.setdefault(e, len(numbers)) for e in elements if e)
        yield round(seconds, 3), seen


def _changed(frames: Sequence[_Frame]) -> Iterator[_Frame]:
    """Leave out the frames that show the same as the one before."""
    yield frames[0]
    for (_, before), frame in pairwise(frames):
        if frame[1] != before:
            yield frame
