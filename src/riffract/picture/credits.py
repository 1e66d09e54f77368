"""The credits card: who made it, whose it is, and how to listen."""

from collections.abc import Iterator
from typing import Final

from riffract.essay.shots import Shot
from riffract.picture.bounds import Box
from riffract.picture.layout import claim_marks, layout_of
from riffract.picture.marks import Colour, Mark, Role, Words
from riffract.picture.scene import Page, Scene
from riffract.picture.string_mark import AHEAD
from riffract.picture.title import horizon_marks
from riffract.picture.type import wrap
from riffract.picture.voices import voices_of
from riffract.weighing.study import Study

LINE_SIZE: Final = 34.0
LEADING, AIR = 1.4, 0.6
HORIZON_SHARE: Final = 0.2
WIDEST_LINE_PX: Final = 1300.0


def credits_scene(study: Study, shot: Shot, page: Page) -> Scene:
    """List the shot's details, each a short paragraph, over the riff as it sank from sight.

    Lines close up if there are many.
    """
    layout = layout_of(shot, page)
    width = min(WIDEST_LINE_PX, layout.right - layout.left)
    paragraphs = [wrap(detail, LINE_SIZE, 400, width) for detail in shot.details]
    lines = sum(len(paragraph) for paragraph in paragraphs)
    horizon = Box(
        left=0.0,
        top=page.height * (0.95 - HORIZON_SHARE),
        right=float(page.width),
        bottom=page.height * 0.95,
    )
    room = horizon.top - layout.picture.top - 2.0 * LINE_SIZE
    leading = min(LEADING * LINE_SIZE, room / max(lines, 1))
    air = min(AIR * LINE_SIZE, (room - lines * leading) / max(len(paragraphs), 1))

    def text() -> Iterator[Mark]:
        y = layout.picture.top + 1.2 * LINE_SIZE
        for paragraph in paragraphs:
            for line in paragraph:
                yield Words(
                    x=layout.left,
                    y=y,
                    text=line,
                    size=LINE_SIZE,
                    weight=400,
                    colour=Colour(Role.QUIET),
                )
                y += leading
            y += air

    return Scene(
        page=page,
        ground=(
            *horizon_marks(study, voices_of(study, shot), horizon, AHEAD),
            *claim_marks(layout),
            *text(),
        ),
        cues=(),
        length_seconds=shot.length_seconds,
        description=f"Credits: {' '.join(shot.details)}",
    )
