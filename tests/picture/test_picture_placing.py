"""Names of shapes: each where nothing else stands."""

from riffract.picture.bounds import Box, bounds_of
from riffract.picture.marks import Colour, Role, Words
from riffract.picture.placing import Named, names_placed

ROOM = Box(left=0.0, top=0.0, right=400.0, bottom=200.0)


def box(left: float, top: float, width: float = 40.0) -> Box:
    return Box(left=left, top=top, right=left + width, bottom=top + 40.0)


def words(x: float, y: float) -> Words:
    return Words(x=x, y=y, text="name", size=30.0, weight=600, colour=Colour(Role.BEND))


def test_a_name_keeps_clear_of_shapes_that_come_after_its_own() -> None:
    first = Named(shape=box(20, 100), places=[words(70, 130), words(20, 80)], within=ROOM)
    later = Named(shape=box(100, 100), places=[words(150, 130)], within=ROOM)
    placed = names_placed([first, later], [])
    assert [None if w is None else w.x for w in placed] == [20.0, 150.0]


def test_a_name_may_stand_in_its_own_shape_and_in_no_other() -> None:
    wide = box(20, 20, 200)
    inside = words(60, 50)
    own = Named(shape=wide, places=[inside], within=ROOM)
    other = Named(shape=box(300, 100), places=[inside], within=ROOM)
    assert names_placed([own], []) == (inside,)
    assert names_placed([other, own], [])[0] is None


def test_two_names_do_not_share_a_place() -> None:
    place = words(20, 180)
    pair = [Named(shape=box(x, 20), places=[place], within=ROOM) for x in (20, 120)]
    assert names_placed(pair, []) == (place, None)


def test_a_name_stays_in_its_room() -> None:
    outside = words(390, 50)
    assert names_placed([Named(shape=box(20, 100), places=[outside], within=ROOM)], []) == (None,)
    held = bounds_of(outside)
    assert held is not None
    assert not ROOM.holds(held)
