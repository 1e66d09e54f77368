"""The checking painter: reads marks as a critical eye would, and lists what is wrong."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np

from riffract.picture.bounds import Box, path_bounds
from riffract.picture.look import Look, contrast, laid_over
from riffract.picture.marks import Colour, Gradient, Group, Mark, Role, Shape, Words
from riffract.picture.raster import Pixels, paint
from riffract.picture.scene import Page
from riffract.picture.type import ink_box, missing_characters

SAFE_MARGIN_SHARE = 0.05
SMALLEST_SIZE_WIDE, SMALLEST_SIZE_TALL = 28.0, 30.0
LEAST_CONTRAST = 4.5
"""WCAG 2.2, success criterion 1.4.3, for text of any size."""

OVERLAP_TOLERANCE_PX = 1.0
FAINTEST_SEEN = 0.1
"""Words and shapes fainter than this are about to come or go, and are not judged."""


class FaultKind(StrEnum):
    """What can be wrong with words on a page; a shape can be off the page."""

    OFF_PAGE = "off_page"
    OUTSIDE_MARGIN = "outside_margin"
    TOO_SMALL = "too_small"
    OVERLAP = "overlap"
    LOW_CONTRAST = "low_contrast"
    MISSING_GLYPH = "missing_glyph"


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One thing wrong.

    Attributes:
        kind: what sort.
        words: the words concerned; of two, the later ones; empty for a shape.
        where: their box on the page.
        measured: the number that was found, in the kind's own unit (px or contrast ratio).
        detail: what else takes part.
    """

    kind: FaultKind
    words: str
    where: Box
    measured: float
    detail: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SeenWords:
    """Words where they stand on the page.

    Attributes:
        words: as they were given, colour apart: its opacity is what all groups leave of it.
        box: of the ink.
        is_fading: whether a group fades them in or out just now; then contrast is not judged.
    """

    words: Words
    box: Box
    is_fading: bool


def faults_of(marks: Iterable[Mark], look: Look, *, page: Page) -> tuple[Fault, ...]:
    """List all faults, in order of drawing, by kind."""
    listed = tuple(marks)
    seen = words_seen(listed)
    return (
        *_off_page(seen, page),
        *_shapes_off_page(listed, page),
        *_too_small(seen, page),
        *_missing(seen),
        *_overlaps(seen),
        *_low_contrast(seen, listed, look, page),
    )


def words_seen(marks: Iterable[Mark]) -> tuple[SeenWords, ...]:
    """List the words that a viewer sees: not faded out, clipped away or covered by the ground."""
    seen: list[SeenWords] = []
    for mark in marks:
        for item in _flat(mark, opacity=1.0, shift=(0.0, 0.0), clip=None):
            if isinstance(item, SeenWords):
                # The same words on the same spot are one, drawn again in another light.
                seen = [s for s in seen if (s.words.text, s.box) != (item.words.text, item.box)]
                seen.append(item)
            else:
                seen = [words for words in seen if not item.holds(words.box)]
    return tuple(seen)


def _flat(
    mark: Mark, *, opacity: float, shift: tuple[float, float], clip: Box | None
) -> Iterator[SeenWords | Box]:
    """Walk through a mark: words as they are seen, and boxes that cover all that is below."""
    match mark:
        case Words():
            alpha = mark.colour.alpha * opacity
            box = Box(**dict(zip(("left", "top", "right", "bottom"), ink_box(mark), strict=True)))
            box = box.moved(*shift)
            is_clipped = clip is not None and not clip.meets(box)
            if mark.text.strip() and alpha >= FAINTEST_SEEN and not is_clipped:
                x, y = mark.x + shift[0], mark.y + shift[1]
                colour = Colour(mark.colour.role, alpha)
                placed = replace(mark, x=x, y=y, colour=colour)
                yield SeenWords(words=placed, box=box, is_fading=opacity < 1.0)
        case Shape(fill=Colour(role=Role.GROUND | Role.GLASS, alpha=alpha)):
            cover = path_bounds(mark.path)
            if alpha >= 1.0 and cover is not None:
                yield cover.moved(*shift)
        case Group():
            limit, (right, down) = _inside(mark, shift, clip)
            items: list[SeenWords | Box] = []
            for inner in mark.marks:
                for item in _flat(
                    inner, opacity=opacity * mark.opacity, shift=(right, down), clip=limit
                ):
                    if isinstance(item, Box):
                        items = [i for i in items if isinstance(i, Box) or not item.holds(i.box)]
                    items.append(item)
            # A group fades as one: what covers others inside it does so however faint it all is.
            yield from (i for i in items if mark.opacity >= 1.0 or isinstance(i, SeenWords))
        case _:
            pass


def _off_page(seen: tuple[SeenWords, ...], page: Page) -> Iterator[Fault]:
    paper = Box(left=0.0, top=0.0, right=float(page.width), bottom=float(page.height))
    safe = Box(
        left=page.width * SAFE_MARGIN_SHARE,
        top=page.height * SAFE_MARGIN_SHARE,
        right=page.width * (1.0 - SAFE_MARGIN_SHARE),
        bottom=page.height * (1.0 - SAFE_MARGIN_SHARE),
    ).grown(OVERLAP_TOLERANCE_PX)
    for item in seen:
        if not paper.holds(item.box):
            kind, limit = FaultKind.OFF_PAGE, paper
        elif not safe.holds(item.box):
            kind, limit = FaultKind.OUTSIDE_MARGIN, safe
        else:
            continue
        yield _fault(kind, item, _overhang(item.box, limit))


def _shapes_off_page(marks: Iterable[Mark], page: Page) -> Iterator[Fault]:
    paper = Box(left=0.0, top=0.0, right=float(page.width), bottom=float(page.height))
    for mark in marks:
        for box in _shape_boxes(mark, opacity=1.0, shift=(0.0, 0.0), clip=None):
            if not paper.grown(OVERLAP_TOLERANCE_PX).holds(box):
                measured = round(_overhang(box, paper), 2)
                yield Fault(
                    kind=FaultKind.OFF_PAGE, words="", where=box, measured=measured, detail="shape"
                )


def _shape_boxes(
    mark: Mark, *, opacity: float, shift: tuple[float, float], clip: Box | None
) -> Iterator[Box]:
    """List the boxes of the shapes that are seen, as far as they are; what only covers is none."""
    match mark:
        case Shape(fill=Colour(role=Role.GROUND | Role.GLASS), stroke=None):
            pass
        case Shape():
            box = path_bounds(mark.path)
            if box is not None and _most_alpha(mark) * opacity >= FAINTEST_SEEN:
                seen = _within(box.moved(*shift), clip)
                if seen.left <= seen.right and seen.top <= seen.bottom:
                    yield seen
        case Group():
            limit, (right, down) = _inside(mark, shift, clip)
            for inner in mark.marks:
                yield from _shape_boxes(
                    inner, opacity=opacity * mark.opacity, shift=(right, down), clip=limit
                )
        case Words():
            pass


def _most_alpha(shape: Shape) -> float:
    alphas = [] if shape.stroke is None else [shape.stroke.colour.alpha]
    match shape.fill:
        case Colour(alpha=alpha):
            alphas.append(alpha)
        case Gradient(from_alpha=one, to_alpha=other):
            alphas += [one, other]
        case None:
            pass
    return max(alphas, default=0.0)


def _inside(
    group: Group, shift: tuple[float, float], clip: Box | None
) -> tuple[Box | None, tuple[float, float]]:
    """Tell what limits the marks of a group, and how far they are moved."""
    right, down = shift[0] + group.shift[0], shift[1] + group.shift[1]
    own = None if group.clip is None else path_bounds(group.clip)
    if own is None:
        return clip, (right, down)
    return _within(own.moved(right, down), clip), (right, down)


def _within(box: Box, clip: Box | None) -> Box:
    """Keep what lies within a box: for a line no area, for what lies outside less than none."""
    if clip is None:
        return box
    return Box(
        left=max(box.left, clip.left),
        top=max(box.top, clip.top),
        right=min(box.right, clip.right),
        bottom=min(box.bottom, clip.bottom),
    )


def _overhang(box: Box, limit: Box) -> float:
    return max(
        limit.left - box.left,
        limit.top - box.top,
        box.right - limit.right,
        box.bottom - limit.bottom,
    )


def _too_small(seen: tuple[SeenWords, ...], page: Page) -> Iterator[Fault]:
    smallest = SMALLEST_SIZE_TALL if page.is_tall else SMALLEST_SIZE_WIDE
    for item in seen:
        if item.words.size < smallest:
            yield _fault(FaultKind.TOO_SMALL, item, item.words.size)


def _missing(seen: tuple[SeenWords, ...]) -> Iterator[Fault]:
    for item in seen:
        missing = missing_characters(item.words.text)
        if missing:
            yield _fault(FaultKind.MISSING_GLYPH, item, float(len(missing)), missing)


def _overlaps(seen: tuple[SeenWords, ...]) -> Iterator[Fault]:
    """Compare each two words once, by a sweep from left to right."""
    order = sorted(range(len(seen)), key=lambda i: seen[i].box.left)
    for place, i in enumerate(order):
        for j in order[place + 1 :]:
            if seen[j].box.left >= seen[i].box.right:
                break
            common = seen[i].box.common(seen[j].box)
            if common is None or min(common.width, common.height) <= OVERLAP_TOLERANCE_PX:
                continue
            earlier, later = seen[min(i, j)], seen[max(i, j)]
            if earlier.is_fading != later.is_fading:
                continue  # one gives way to the other
            yield _fault(
                FaultKind.OVERLAP,
                later,
                min(common.width, common.height),
                earlier.words.text,
            )


def _low_contrast(
    seen: tuple[SeenWords, ...], marks: tuple[Mark, ...], look: Look, page: Page
) -> Iterator[Fault]:
    """Compare the colour of words with what is drawn beneath them, averaged over their ink box."""
    under = paint(_without_words(marks), look, page=page, width=page.width, height=page.height)
    for item in seen:
        background = _mean_colour(under, item.box)
        if item.words.halo > 0.0:
            background = laid_over(look.rgb(Role.GROUND), item.words.colour.alpha / 2, background)
        colour = item.words.colour
        ink = laid_over(look.rgb(colour.role), colour.alpha, background)
        ratio = contrast(ink, background)
        if ratio < LEAST_CONTRAST and not item.is_fading:
            yield _fault(FaultKind.LOW_CONTRAST, item, ratio, colour.role.value)


def _without_words(marks: Iterable[Mark]) -> Iterator[Mark]:
    for mark in marks:
        match mark:
            case Group():
                yield replace(mark, marks=tuple(_without_words(mark.marks)))
            case Shape():
                yield mark
            case Words():
                pass


def _mean_colour(pixels: Pixels, box: Box) -> tuple[float, float, float]:
    height, width, _ = pixels.shape
    left, right = max(int(box.left), 0), min(int(box.right) + 1, width)
    top, bottom = max(int(box.top), 0), min(int(box.bottom) + 1, height)
    if left >= right or top >= bottom:
        return (0.0, 0.0, 0.0)
    blue, green, red = np.mean(pixels[top:bottom, left:right, :3], axis=(0, 1)) / 255.0
    return (float(red), float(green), float(blue))


def _fault(kind: FaultKind, item: SeenWords, measured: float, detail: str = "") -> Fault:
    return Fault(
        kind=kind, words=item.words.text, where=item.box, measured=round(measured, 2), detail=detail
    )
