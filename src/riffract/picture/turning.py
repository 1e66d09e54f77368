"""Pages of a scene that are turned as the music reaches them."""

from collections.abc import Iterable, Iterator, Sequence
from typing import TypeVar

from riffract.picture.bounds import Box
from riffract.picture.hearing import Visit
from riffract.picture.layout import APPEAR_SECONDS
from riffract.picture.marks import Colour, Mark, Role, Shape, rectangle
from riffract.picture.scene import Cue

_Drawn = TypeVar("_Drawn")


def visit_at(seen: Sequence[Visit], seconds: float) -> Visit:
    """Tell which page is seen at a moment of the shot."""
    return next(visit for visit in seen if seconds < visit.to_seconds)


def turned_to(visit: Visit, rooms: Iterable[Box], sheet: Iterable[Mark]) -> Cue:
    """Turn to a page: what stands in its rooms is taken away, and it comes up there.

    Args:
        visit: to the page.
        rooms: that the page before may fill.
        sheet: the page.
    """
    fresh = (
        Shape(
            path=rectangle(room.left, room.top, room.width, room.height), fill=Colour(Role.GROUND)
        )
        for room in rooms
    )
    return Cue(at_seconds=visit.from_seconds, marks=(*fresh, *sheet), fade_seconds=APPEAR_SECONDS)


def heard_during(
    visit: Visit, heard: Iterable[tuple[_Drawn, float | None]]
) -> Iterator[tuple[_Drawn, float]]:
    """Choose what is heard while a page is seen, with the moment.

    Args:
        visit: to the page.
        heard: what may be, and when it is, in seconds of the shot; `None` for never.
    """
    for drawn, at in heard:
        if at is not None and visit.from_seconds <= at < visit.to_seconds:
            yield drawn, at
