"""What all scenes share: margins, sizes of type, the claim on top and the captions below."""

from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import ceil
from typing import Final

from riffract.essay.shots import Doubt, Line, SceneName, Shot
from riffract.picture.bidi import is_leftward
from riffract.picture.bounds import Box
from riffract.picture.firmness import firmness_marks, firmness_width
from riffract.picture.marks import Colour, Group, Mark, Role, Weight, Words
from riffract.picture.scene import Page, shown_share
from riffract.picture.type import evened, text_width, wrap
from riffract.weighing.study import Verdict

APPEAR_SECONDS: Final = 0.24
LEAVE_SECONDS: Final = 0.2
NOTE_LINES_SHARE: Final = 1.45
"""From one line of notes under a picture to the next, over the size of a label."""

DESCENT_SHARE: Final = 0.25
"""How deep letters reach below the last baseline, in any writing, over their size."""

WIDE_CAPTION_LINES, TALL_CAPTION_LINES = 1, 3
PICTURE_BELOW_PX: Final = 58.0
"""From the claim's last baseline to the picture."""

FIRMNESS_BELOW_SHARE: Final = 1.5
"""From the claim's last baseline to the line that tells how firm it is, over the size of a label;
the picture makes room for that line."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sizes:
    """Sizes of type, px."""

    claim: float
    heading: float
    length: float
    caption: float
    label: float
    fret: float


WIDE_SIZES: Final = Sizes(claim=50, heading=36, length=34, caption=32, label=30, fret=30)
TALL_SIZES: Final = Sizes(claim=66, heading=48, length=40, caption=40, label=32, fret=38)
MOST_CLAIM_LINES: Final = 3
LONG_CLAIM_SHARE: Final = 0.82
"""Of its usual size for a claim of more lines; it is still larger than a heading."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """Where things stand on one scene's page.

    Attributes:
        page: the page.
        sizes: of type.
        claim: the claim, broken into lines.
        claim_baseline: of its first line.
        picture: the room for the picture, a line of notes below it included.
        caption_baselines: of the lines of a caption, from the top.
        has_captions: whether anything is said.
        verdict: how firm the finding is that the claim rests on; `None` to leave that out.
        doubts: notes that the recording does not bear out.
    """

    page: Page
    sizes: Sizes
    claim: tuple[str, ...]
    claim_baseline: float
    picture: Box
    caption_baselines: tuple[float, ...]
    has_captions: bool
    verdict: Verdict | None = None
    doubts: tuple[Doubt, ...] = ()

    @property
    def is_turned(self) -> bool:
        """Whether the claim runs from right to left."""
        return is_leftward(" ".join(self.claim))

    @property
    def note_baseline(self) -> float:
        """Where a line of notes under the picture stands."""
        return self.picture.bottom - self._note_air_px

    @property
    def picture_above_note(self) -> Box:
        """The room for the picture if a line of notes stands below it."""
        return self.picture_above_notes(1)

    def picture_above_notes(self, lines: int) -> Box:
        """Give the room for the picture if some lines of notes stand below it."""
        if not lines:
            return self.picture
        taken = self._note_air_px + (1.7 + NOTE_LINES_SHARE * (lines - 1)) * self.sizes.label
        return replace(self.picture, bottom=self.picture.bottom - taken)

    def raised_by_notes(self, lines: int) -> "Layout":
        """Give the layout above so many lines of notes at the foot of the picture.

        What is laid out in it may have a line of notes of its own, in step with those below.
        """
        taken = NOTE_LINES_SHARE * lines * self.sizes.label
        return replace(self, picture=replace(self.picture, bottom=self.picture.bottom - taken))

    def note_baselines(self, lines: int) -> tuple[float, ...]:
        """Tell where some lines of notes under the picture stand, from the top."""
        step = NOTE_LINES_SHARE * self.sizes.label
        return tuple(self.note_baseline - step * i for i in range(lines - 1, -1, -1))

    @property
    def _note_air_px(self) -> float:
        """Room below a line of notes: more where a caption follows."""
        return (0.85 if self.has_captions else 0.25) * self.sizes.label

    @property
    def left(self) -> float:
        """The left margin."""
        return self.picture.left

    @property
    def right(self) -> float:
        """The right margin."""
        return self.picture.right


def layout_of(shot: Shot, page: Page) -> Layout:
    """Lay out a scene's page; without captions the picture reaches further down."""
    usual = TALL_SIZES if page.is_tall else WIDE_SIZES
    side, foot = (54.0, 96.0) if page.is_tall else (96.0, 54.0)
    first = 152.0 if page.is_tall else 112.0
    sizes = _fitting(shot.title, usual, page.width - 2 * side)
    claim = wrap(shot.title, sizes.claim, 600, page.width - 2 * side)
    claim_end = first + (max(len(claim), 1) - 1) * sizes.claim * 1.2
    last_line = page.height - foot - DESCENT_SHARE * sizes.caption
    rows = TALL_CAPTION_LINES if page.is_tall else WIDE_CAPTION_LINES
    baselines = tuple(last_line - 1.36 * sizes.caption * (rows - 1 - i) for i in range(rows))
    captions_top = baselines[0] - 1.4 * sizes.caption
    verdict = _verdict_told(shot)
    picture = Box(
        left=side,
        top=claim_end + PICTURE_BELOW_PX + (0.0 if verdict is None else 0.8 * sizes.label),
        right=page.width - side,
        bottom=captions_top if shot.lines else page.height - foot,
    )
    return Layout(
        page=page,
        sizes=sizes,
        claim=claim,
        claim_baseline=first,
        picture=picture,
        caption_baselines=baselines,
        has_captions=bool(shot.lines),
        verdict=verdict,
        doubts=shot.doubts,
    )


def _fitting(claim: str, sizes: Sizes, width: float) -> Sizes:
    """Set a claim of many lines smaller, so that the picture keeps its room."""
    if len(wrap(claim, sizes.claim, 600, width)) <= MOST_CLAIM_LINES:
        return sizes
    return replace(sizes, claim=LONG_CLAIM_SHARE * sizes.claim)


def _verdict_told(shot: Shot) -> Verdict | None:
    """Give what is told below the claim.

    The whole shows several findings at once, so one verdict there would speak for all of them.
    """
    if not shot.findings or not shot.title or shot.scene is SceneName.WHOLE:
        return None
    return shot.findings[0].verdict


def claim_marks(layout: Layout) -> tuple[Mark, ...]:
    """Write the claim, and below it how firm the finding is that it rests on.

    A claim in a script that runs from right to left starts at the right margin.
    """
    is_turned = layout.is_turned
    claim = tuple(
        Words(
            x=line_start(layout, line, layout.sizes.claim, 600, is_turned=is_turned),
            y=layout.claim_baseline + i * layout.sizes.claim * 1.2,
            text=line,
            size=layout.sizes.claim,
            weight=600,
            colour=Colour(Role.TEXT),
        )
        for i, line in enumerate(layout.claim)
    )
    if layout.verdict is None or not claim:
        return claim
    baseline = claim[-1].y + FIRMNESS_BELOW_SHARE * layout.sizes.label
    size = layout.sizes.label
    # The name of a verdict is in the essay's language as well, but its sign has no direction.
    left = layout.right - firmness_width(layout.verdict, size) if is_turned else layout.left
    return (*claim, *firmness_marks(layout.verdict, left, baseline, size))


def line_start(layout: Layout, line: str, size: float, weight: Weight, *, is_turned: bool) -> float:
    """Tell where a line of a paragraph starts, so that it stands at the margin it is read from.

    Args:
        layout: of the page.
        line: its words.
        size: px.
        weight: of the letters.
        is_turned: whether the paragraph, of which it may be a later line, runs from right to left.
    """
    return layout.right - text_width(line, size, weight) if is_turned else layout.left


def label(
    layout: Layout,
    x: float,
    y: float,
    text: str,
    role: Role = Role.QUIET,
    *,
    strong: bool = False,
    halo: float = 0.0,
) -> Words:
    """Write a label."""
    return Words(
        x=x,
        y=y,
        text=text,
        size=layout.sizes.label,
        weight=600 if strong else 500,
        colour=Colour(role),
        halo=halo,
    )


def captions(layout: Layout, lines: Sequence[Line]) -> Callable[[float], tuple[Mark, ...]]:
    """Make what writes under the picture, at any moment of the shot, what is being said.

    A line too long for the rows there are is shown in parts, one after the other; each is shown for
    the share of the time that its words take up of the whole.
    """
    parts = [part for line in lines for part in _parts(layout, line)]
    starts = [part.start_seconds for part in parts]

    def at(seconds: float) -> tuple[Mark, ...]:
        index = bisect_right(starts, seconds) - 1
        if index < 0 or seconds >= parts[index].end_seconds:
            return ()
        part = parts[index]
        follows = index > 0 and parts[index - 1].end_seconds >= part.start_seconds
        precedes = index + 1 < len(parts) and starts[index + 1] <= part.end_seconds
        shown = 1.0 if follows else shown_share(seconds - part.start_seconds, APPEAR_SECONDS)
        left = (part.end_seconds - seconds) / LEAVE_SECONDS
        # Leaving eases in: slow at first, then gone. A caption that another one follows just stops.
        gone = 1.0 if precedes else 1.0 - (1.0 - min(left, 1.0)) ** 3
        return (Group(marks=part.marks, opacity=round(min(shown, gone), 3)),)

    return at


@dataclass(frozen=True, slots=True, kw_only=True)
class _Part:
    """As much of a line as is shown at once."""

    marks: tuple[Mark, ...]
    start_seconds: float
    end_seconds: float


def _parts(layout: Layout, line: Line) -> list[_Part]:
    size = layout.sizes.caption
    room = layout.right - layout.left
    rows = wrap(line.text, size, 400, room)
    pages = [rows]
    most = len(layout.caption_baselines)
    if len(rows) > most:
        texts = evened(line.text, size, 400, most * room, ceil(len(rows) / most))
        pages = [wrap(text, size, 400, room) for text in texts]
        if max(map(len, pages)) > most:
            pages = [rows[i : i + most] for i in range(0, len(rows), most)]
    widths = [sum(text_width(row, size, 400) for row in rows) for rows in pages]
    total = sum(widths) or 1.0
    length = line.end_seconds - line.start_seconds
    parts = []
    start = line.start_seconds
    is_turned = is_leftward(line.text)
    for rows, width in zip(pages, widths, strict=True):
        end = start + length * width / total
        marks = _caption(layout, rows, is_turned=is_turned)
        parts.append(_Part(marks=marks, start_seconds=start, end_seconds=end))
        start = end
    return parts


def _caption(layout: Layout, rows: tuple[str, ...], *, is_turned: bool) -> tuple[Mark, ...]:
    baselines = layout.caption_baselines[-len(rows) :] if rows else ()
    return tuple(
        Words(
            x=line_start(layout, row, layout.sizes.caption, 400, is_turned=is_turned),
            y=y,
            text=row,
            size=layout.sizes.caption,
            weight=400,
            colour=Colour(Role.QUIET),
        )
        for y, row in zip(baselines, rows, strict=False)
    )
