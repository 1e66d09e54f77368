"""A scene: marks as a pure function of time."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

from riffract.picture.marks import Group, Mark


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """The virtual page that marks are placed on, in px."""

    width: int
    height: int

    @property
    def is_tall(self) -> bool:
        """Whether it is made for a phone held upright."""
        return self.height > TALL_FROM * self.width

    @property
    def is_narrow(self) -> bool:
        """Whether a picture and a column of words find no room beside each other."""
        return self.width < NARROW_BELOW_PX


SHORT_SIDE_PX: Final = 1080
TALL_FROM: Final = 1.1
NARROW_BELOW_PX: Final = 1400

WIDE = Page(width=1920, height=1080)
TALL = Page(width=1080, height=1920)
SQUARE = Page(width=1080, height=1080)
PORTRAIT = Page(width=1080, height=1350)


def page_for(width: int, height: int) -> Page:
    """Give the page that an output of some size shows: its short side is 1080 px.

    >>> page_for(3840, 2160) == WIDE, page_for(720, 900) == PORTRAIT
    (True, True)
    """
    short = min(width, height)
    return Page(
        width=round(SHORT_SIDE_PX * width / short), height=round(SHORT_SIDE_PX * height / short)
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Cue:
    """Marks that come up once and stay.

    Attributes:
        at_seconds: when, from the start of the shot.
        marks: what.
        fade_seconds: how long they take to come up; opacity eases out.
    """

    at_seconds: float
    marks: tuple[Mark, ...]
    fade_seconds: float = 0.08

    def shown_share(self, seconds: float) -> float:
        """Tell how far the marks have come up at a moment of the shot, 0..1."""
        return shown_share(seconds - self.at_seconds, self.fade_seconds)

    def is_up(self, seconds: float) -> bool:
        """Say whether the marks have fully come up."""
        return seconds > self.at_seconds and seconds - self.at_seconds >= self.fade_seconds


Places = Mapping[int, tuple[float, float]]
"""Where the notes stand that are drawn: index of a note to a point of the page, px."""


def no_places(_seconds: float) -> Places:
    """Stand in for `Scene.places` where no single notes are drawn."""
    return {}


def nothing_moves(_seconds: float) -> tuple[Mark, ...]:
    """Stand in for `Scene.moving` where all is at rest."""
    return ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """One picture that unfolds in time. The same time always gives the same marks.

    It comes in three layers, so that a painter need not redraw what does not change.

    Attributes:
        page: where the marks are placed.
        ground: what stands from the first frame to the last; drawn first.
        cues: what comes up and stays, by time; drawn over the ground.
        moving: what else there is at a moment (seconds from the start of the shot); drawn last.
        places: where the notes stand at a moment, so that they can travel to the next scene.
        length_seconds: how long the scene lasts; after that it stands still.
        description: the picture in words, for those who cannot see it.
    """

    page: Page
    ground: tuple[Mark, ...]
    cues: tuple[Cue, ...]
    length_seconds: float
    description: str
    moving: Callable[[float], tuple[Mark, ...]] = nothing_moves
    places: Callable[[float], Places] = no_places

    def at(self, seconds: float) -> tuple[Mark, ...]:
        """List all marks of a moment, in the order of drawing."""
        return (*self.ground, *self.marks_over(seconds, first_cue=0))

    def marks_over(self, seconds: float, *, first_cue: int) -> tuple[Mark, ...]:
        """List the marks of a moment that lie over the ground and over the cues before one."""
        raised = (
            Group(marks=cue.marks, opacity=cue.shown_share(seconds))
            for cue in self.cues[first_cue:]
            if seconds > cue.at_seconds
        )
        return (*raised, *self.moving(seconds))

    def at_rest(self) -> tuple[Mark, ...]:
        """List the marks of the last moment: the scene as a still."""
        return self.at(self.length_seconds)


def shown_share(since_seconds: float, fade_seconds: float) -> float:
    """Tell how far something has come up: 0..1, fast at first (cubic ease out).

    >>> shown_share(0.04, 0.08), shown_share(1.0, 0.08)
    (0.875, 1.0)
    """
    if fade_seconds <= 0.0:
        return 1.0 if since_seconds >= 0.0 else 0.0
    left = 1.0 - min(max(since_seconds / fade_seconds, 0.0), 1.0)
    return 1.0 - left**3
