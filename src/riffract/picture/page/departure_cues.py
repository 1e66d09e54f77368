"""When a departure is marked: as soon as the moment is heard at which it starts."""

from collections.abc import Iterable

from riffract.essay.shots import Shot
from riffract.picture.hearing import Visit, moment_heard_seconds
from riffract.picture.layout import APPEAR_SECONDS
from riffract.picture.marks import Mark
from riffract.picture.page.departures import Marked
from riffract.picture.scene import Cue


def marked_before(departures: Iterable[Marked], shot: Shot, visit: Visit) -> list[Mark]:
    """Give what is marked when a page is turned to; all of it in a shot that plays nothing."""
    marks: list[Mark] = []
    for one in departures:
        at = moment_heard_seconds(shot, one.departure.start_quarters)
        if not shot.plays or (at is not None and at < visit.from_seconds):
            marks += one.marks
    return marks


def marked_during(departures: Iterable[Marked], shot: Shot, visit: Visit) -> list[Cue]:
    """Give what comes to be marked while a page is seen."""
    moments = [
        (moment_heard_seconds(shot, one.departure.start_quarters), one) for one in departures
    ]
    return [
        Cue(at_seconds=at, marks=one.marks, fade_seconds=APPEAR_SECONDS)
        for at, one in moments
        if at is not None and visit.from_seconds <= at < visit.to_seconds
    ]
