"""The credits card: who made it, whose it is, and how to listen."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from riffract.analysis.saying import say
from riffract.analysis.wording import in_sentences
from riffract.essay.shots import Shot
from riffract.picture.bidi import is_leftward
from riffract.picture.layout import claim_marks, layout_of, line_start
from riffract.picture.marks import Colour, Mark, Role, Words
from riffract.picture.scene import Page, Scene
from riffract.picture.string_mark import AHEAD
from riffract.picture.title import HORIZON_SHARE, horizon_box, horizon_marks, horizon_of
from riffract.picture.type import wrap
from riffract.picture.voices import voices_of
from riffract.weighing.study import Study

LINE_SIZE: Final = 34.0
LEADING, AIR = 1.4, 0.6
LOW_HORIZON_SHARE: Final = 0.2
"""Of the page's height, where the lines leave no room for one as high as the title's."""

WIDEST_LINE_PX: Final = 1300.0


def credits_scene(study: Study, shot: Shot, page: Page) -> Scene:
    """List the shot's details where the title stood, over the riff as it sank from sight.

    Lines close up if there are many, and the horizon lies lower.
    """
    layout = layout_of(shot, page)
    width = min(WIDEST_LINE_PX, layout.right - layout.left)
    paragraphs = [wrap(detail, LINE_SIZE, 400, width) for detail in shot.details]
    lines = sum(len(paragraph) for paragraph in paragraphs)
    heading = layout.sizes.claim * 1.2 * len(layout.claim) + LINE_SIZE
    used = heading + LINE_SIZE * (LEADING * lines + AIR * len(paragraphs))
    box = horizon_box(page, HORIZON_SHARE)
    first = (box.top - used) * 0.62 + layout.sizes.claim * 0.7
    if first < layout.claim_baseline:
        box, first = horizon_box(page, LOW_HORIZON_SHARE), layout.claim_baseline
    layout = replace(layout, claim_baseline=first)
    top = first + heading
    room = box.top - top - LINE_SIZE
    leading = min(LEADING * LINE_SIZE, room / max(lines, 1))
    air = min(AIR * LINE_SIZE, (room - lines * leading) / max(len(paragraphs), 1))

    def text() -> Iterator[Mark]:
        y = top
        for detail, paragraph in zip(shot.details, paragraphs, strict=True):
            is_turned = is_leftward(detail)
            for line in paragraph:
                yield Words(
                    x=line_start(layout, line, LINE_SIZE, 400, is_turned=is_turned),
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
            *horizon_marks(horizon_of(study, voices_of(study, shot), box), AHEAD),
            *claim_marks(layout),
            *text(),
        ),
        cues=(),
        length_seconds=shot.length_seconds,
        description=say("End card: {credits}", credits=in_sentences(shot.details)),
    )
