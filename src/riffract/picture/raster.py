"""The raster painter: marks → pixels, for stills and for the frames of a film."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import ceil, floor
from typing import Any, Final

import numpy as np
import skia
from numpy.typing import NDArray

from riffract.picture.bounds import bounds_of
from riffract.picture.changed import NOWHERE, PixelBox, closed, joined, matches
from riffract.picture.look import Look
from riffract.picture.marks import (
    Close,
    Colour,
    CurveTo,
    Fill,
    Gradient,
    Group,
    LineTo,
    Mark,
    MoveTo,
    Path,
    Role,
    Shape,
    Stroke,
    Weight,
    Words,
)
from riffract.picture.scene import Page, Scene
from riffract.picture.type import Family, family, set_line, start_x

OVERLAY_RIM_PX: Final = 3.0
"""Of all that is drawn on a transparent page: what lies below is not known and may be as light as
it is. Subtitles have an outline of about a tenth of their size (common practice); this is a tenth
of the smallest words."""

OVERLAY_GLASS_ALPHA: Final = 0.5
"""How much of a page without ground its glass covers: half, so that the user's own picture shows
through, and the panel's edge is still seen."""

Pixels = NDArray[np.uint8]
"""A picture, shape (height, width, 4): blue, green, red, alpha.

Alpha is 255 everywhere, unless the look has no ground; then the colours are multiplied by it.
"""


def paint(marks: Iterable[Mark], look: Look, *, page: Page, width: int, height: int) -> Pixels:
    """Draw marks of a page at any output size.

    The page is scaled to the output's width and height; keep its proportions, or it is stretched.
    """
    pixels = np.empty((height, width, 4), dtype=np.uint8)
    canvas = _canvas_on(pixels, page)
    canvas.clear(skia.ColorTRANSPARENT)
    draw_on(canvas, marks, look, with_ground=look.has_ground)
    return pixels


def draw_on(canvas: Any, marks: Iterable[Mark], look: Look, *, with_ground: bool) -> None:
    """Draw marks on a canvas of skia that is scaled to the page.

    Args:
        canvas: of pixels, or of a document.
        marks: in order.
        look: the colours.
        with_ground: whether all is filled with the ground's colour first.
    """
    if with_ground:
        canvas.drawPaint(skia.Paint(Color=_colour(look, Role.GROUND, 1.0)))
    for mark in marks:
        _draw(canvas, mark, look)


def png(pixels: Pixels, *, is_multiplied: bool = True) -> bytes:
    """Pack a picture as PNG; the same pixels give the same bytes.

    Args:
        pixels: the picture.
        is_multiplied: whether its colours are multiplied by its alpha; a PNG's never are.
    """
    alpha_type = skia.kPremul_AlphaType if is_multiplied else skia.kUnpremul_AlphaType
    pixmap = skia.Pixmap(_info(pixels, alpha_type), pixels, pixels.strides[0])
    image = skia.Image.MakeRasterCopy(pixmap)
    return bytes(image.encodeToData(skia.kPNG, 100))


def unmultiplied(pixels: Pixels, look: Look) -> Pixels:
    """Give colours as they are apart from their alpha, as editing programs want them.

    Where nothing is drawn the ground's colour stands with an alpha of 0, so that codecs that share
    colours between neighbours bring nothing foreign into the edges.
    """
    pixmap = skia.Pixmap(_info(pixels, skia.kPremul_AlphaType), pixels, pixels.strides[0])
    plain = np.empty_like(pixels)
    pixmap.readPixels(_info(plain, skia.kUnpremul_AlphaType), plain, plain.strides[0], 0, 0)
    red, green, blue = (round(channel * 255) for channel in look.rgb(Role.GROUND))
    whole = plain.view("<u4")  # a point as one number; 0 where nothing is drawn
    np.putmask(whole, whole == 0, blue | green << 8 | red << 16)
    return plain


def rimmed(pixels: Pixels, look: Look, *, page: Page) -> Pixels:
    """Lay a rim in the ground's colour around all that is drawn on a transparent page.

    Definition: each point becomes as opaque as the most opaque one within the rim's width, and what
    that adds is ground. So nothing is added inside an even face such as glass, and laid over the
    ground the picture is the same as before.

    Args:
        pixels: as a painter of a look without ground gives them; not written to.
        look: its colours.
        page: that was drawn.
    """
    rim_px = max(1, round(OVERLAY_RIM_PX * pixels.shape[0] / page.height))
    alpha = np.ascontiguousarray(pixels[..., 3])
    rim = _spread(alpha, rim_px) - alpha
    shares = np.arange(256) / 255
    ringed = pixels.copy()
    for place, channel in enumerate((*reversed(look.rgb(Role.GROUND)), 1.0)):
        ringed[..., place] += np.round(shares * channel * 255).astype(np.uint8)[rim]
    return ringed


def _spread(alpha: NDArray[np.uint8], by_px: int) -> NDArray[np.uint8]:
    """Give each point the highest value of the square around it, so many points to each side."""
    spread = alpha
    for axis in (0, 1):
        source = spread
        spread = source.copy()
        for by in range(1, by_px + 1):
            first, last = (slice(by, None), slice(None, -by))
            ahead, behind = (first, last) if axis == 0 else ((..., first), (..., last))
            np.maximum(spread[behind], source[ahead], out=spread[behind])
            np.maximum(spread[ahead], source[behind], out=spread[ahead])
    return spread


_MOST_CUES_FOLLOWED: Final = 12
"""Ours: if more cues have come to rest since the last frame, drawing all that is over them takes
less time than finding out what they touch. In a film hardly ever so many do."""

_SOFT_EDGE_PX: Final = 2
"""How far beyond a mark's outline its softened edge can reach, px of the picture."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """One picture of a film.

    Attributes:
        pixels: the picture; never written to again once it is given out.
        is_new: whether it differs from the frame that was asked for before.
        changed: outside this part it is the frame that was asked for before; `None` for all of it.
    """

    pixels: Pixels
    is_new: bool
    changed: PixelBox | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Drawn:
    """A frame that was drawn: the cues at rest in it, the marks over them, and where those are."""

    at_rest: int
    over: tuple[Mark, ...]
    boxes: tuple[PixelBox, ...]
    pixels: Pixels


class ScenePainter:
    """Draws a scene moment by moment, and redraws only what moves or has just come up.

    What stands at rest (the ground and the first cues, as far as they have fully come up) is kept
    as a picture. The same moment gives the same pixels whether it is played to or jumped to.

    Args:
        scene: what is drawn.
        look: its colours.
        width, height: px.
        stills_kept: how many pictures of what stands at rest are kept along the scene, so that a
            jump draws a part of its cues only; a film needs none.
    """

    def __init__(
        self, scene: Scene, look: Look, *, width: int, height: int, stills_kept: int = 0
    ) -> None:
        self._scene = scene
        self._look = look
        self._still = paint(scene.ground, look, page=scene.page, width=width, height=height)
        self._ground = self._still.copy() if scene.cues else self._still
        self._cues_in_still = 0
        self._kept = {0: self._ground}
        self._kept_every = len(scene.cues) // (stills_kept + 1) + 1
        self._last: _Drawn | None = None

    def frame(self, seconds: float) -> Frame:
        """Draw the moment `seconds` after the start of the scene."""
        at_rest = self._cues_at_rest(seconds)
        over = self._scene.marks_over(seconds, first_cue=at_rest)
        last = self._last
        if last is not None and (last.at_rest, last.over) == (at_rest, over):
            return Frame(pixels=last.pixels, is_new=False)
        self._bring_still_to(at_rest)
        if last is None or not 0 <= at_rest - last.at_rest <= _MOST_CUES_FOLLOWED:
            drawn, changed = self._drawn_anew(at_rest, over), None
        else:
            drawn, changed = self._drawn_on(last, at_rest, over)
        self._last = drawn
        return Frame(pixels=drawn.pixels, is_new=True, changed=changed)

    def _drawn_anew(self, at_rest: int, over: tuple[Mark, ...]) -> "_Drawn":
        pixels = self._still.copy()
        self._draw_over(pixels, over)
        boxes = tuple(map(self._box_of, over))
        return _Drawn(at_rest=at_rest, over=over, boxes=boxes, pixels=pixels)

    def _drawn_on(
        self, last: "_Drawn", at_rest: int, over: tuple[Mark, ...]
    ) -> tuple["_Drawn", PixelBox]:
        """Draw what changed, and all that it touches, over the last frame; say what changed.

        Whole marks are drawn anew: skia softens edges otherwise where it is clipped.
        """
        same = matches(last.over, over)
        boxes = tuple(
            self._box_of(mark) if n is None else last.boxes[n]
            for mark, n in zip(over, same, strict=True)
        )
        settled = (mark for cue in self._scene.cues[last.at_rest : at_rest] for mark in cue.marks)
        gone = (box for n, box in enumerate(last.boxes) if n not in set(same))
        come = (box for box, n in zip(boxes, same, strict=True) if n is None)
        changed = joined((*map(self._box_of, settled), *gone, *come))
        part, touched = closed(changed, boxes)
        pixels = last.pixels.copy()
        pixels[part.rows_and_columns] = self._still[part.rows_and_columns]
        self._draw_over(pixels, [over[n] for n in touched])
        return _Drawn(at_rest=at_rest, over=over, boxes=boxes, pixels=pixels), changed

    def _draw_over(self, pixels: Pixels, marks: Sequence[Mark]) -> None:
        if marks:
            canvas = _canvas_on(pixels, self._scene.page)
            for mark in marks:
                _draw(canvas, mark, self._look)

    def _box_of(self, mark: Mark) -> PixelBox:
        """Give the px that a mark can touch."""
        box = bounds_of(mark)
        if box is None:
            return NOWHERE
        height, width, _ = self._still.shape
        across, down = width / self._scene.page.width, height / self._scene.page.height
        return PixelBox(
            left=max(floor(box.left * across) - _SOFT_EDGE_PX, 0),
            top=max(floor(box.top * down) - _SOFT_EDGE_PX, 0),
            right=min(ceil(box.right * across) + _SOFT_EDGE_PX, width),
            bottom=min(ceil(box.bottom * down) + _SOFT_EDGE_PX, height),
        )

    def _cues_at_rest(self, seconds: float) -> int:
        """Count the cues that have fully come up and that nothing still coming up lies under."""
        for count, cue in enumerate(self._scene.cues):
            if not cue.is_up(seconds):
                return count
        return len(self._scene.cues)

    def _bring_still_to(self, count: int) -> None:
        nearest = max(kept for kept in self._kept if kept <= count)
        if not nearest <= self._cues_in_still <= count:
            self._still = self._kept[nearest].copy()
            self._cues_in_still = nearest
        while self._cues_in_still < count:
            start = self._cues_in_still
            end = min(count, start - start % self._kept_every + self._kept_every)
            canvas = _canvas_on(self._still, self._scene.page)
            for cue in self._scene.cues[start:end]:
                for mark in cue.marks:
                    _draw(canvas, mark, self._look)
            self._cues_in_still = end
            if end % self._kept_every == 0 and end not in self._kept:
                self._kept[end] = self._still.copy()


def _canvas_on(pixels: Pixels, page: Page) -> Any:
    height, width, _ = pixels.shape
    info = _info(pixels, skia.kPremul_AlphaType)
    surface = skia.Surface.MakeRasterDirect(info, pixels, pixels.strides[0])
    canvas = surface.getCanvas()
    canvas.scale(width / page.width, height / page.height)
    return canvas


def _info(pixels: Pixels, alpha_type: Any) -> Any:
    height, width, _ = pixels.shape
    return skia.ImageInfo.Make(width, height, skia.kBGRA_8888_ColorType, alpha_type)


def _draw(canvas: Any, mark: Mark, look: Look) -> None:
    match mark:
        case Shape():
            _draw_shape(canvas, mark, look)
        case Words():
            _draw_words(canvas, mark, look)
        case Group():
            _draw_group(canvas, mark, look)


def _draw_shape(canvas: Any, shape: Shape, look: Look) -> None:
    path = _skia_path(shape.path)
    if shape.fill is not None:
        canvas.drawPath(path, _fill_paint(shape.fill, look))
    if shape.stroke is not None:
        canvas.drawPath(path, _stroke_paint(shape.stroke, look))


def _draw_words(canvas: Any, words: Words, look: Look) -> None:
    line = set_line(words.text, words.size, words.weight)
    if not line.glyphs:
        return
    builder = skia.TextBlobBuilder()
    builder.allocRunPos(
        _skia_font(family(), words.weight, words.size),
        line.glyphs,
        [skia.Point(*p) for p in line.places],
    )
    blob = builder.make()
    if blob is None:
        return
    x = start_x(words)
    if words.halo > 0.0:
        rim = Stroke(colour=Colour(Role.GROUND, words.colour.alpha), width=2.0 * words.halo)
        paint = _stroke_paint(rim, look)
        paint.setStrokeJoin(skia.Paint.kRound_Join)
        canvas.drawTextBlob(blob, x, words.y, paint)
    canvas.drawTextBlob(blob, x, words.y, _fill_paint(words.colour, look))


def _draw_group(canvas: Any, group: Group, look: Look) -> None:
    if group.opacity <= 0.0:
        return
    saved = canvas.save()
    canvas.translate(*group.shift)
    if group.clip is not None:
        canvas.clipPath(_skia_path(group.clip), doAntiAlias=True)
    if group.opacity < 1.0:
        box = bounds_of(Group(marks=group.marks))
        if box is not None:
            limits = skia.Rect.MakeLTRB(box.left, box.top, box.right, box.bottom).makeOutset(1, 1)
            canvas.saveLayerAlpha(limits, round(group.opacity * 255))
    for mark in group.marks:
        _draw(canvas, mark, look)
    canvas.restoreToCount(saved)


def _fill_paint(fill: Fill, look: Look) -> Any:
    paint = skia.Paint(AntiAlias=True)
    match fill:
        case Colour(role, alpha):
            paint.setColor(_colour(look, role, alpha))
            if role is Role.GROUND and not look.has_ground:
                paint.setBlendMode(skia.BlendMode.kDstOut)
            if role is Role.GLASS and not look.has_ground:
                # It takes the place of what lies below, so that only the user's picture shows.
                paint.setColor(_colour(look, role, alpha * OVERLAY_GLASS_ALPHA))
                paint.setBlendMode(skia.BlendMode.kSrc)
        case Gradient(role=role):
            paint.setShader(
                skia.GradientShader.MakeLinear(
                    points=[skia.Point(*fill.from_xy), skia.Point(*fill.to_xy)],
                    colors=[
                        _colour(look, role, fill.from_alpha),
                        _colour(look, role, fill.to_alpha),
                    ],
                )
            )
    return paint


def _stroke_paint(stroke: Stroke, look: Look) -> Any:
    paint = skia.Paint(
        AntiAlias=True,
        Style=skia.Paint.kStroke_Style,
        StrokeWidth=stroke.width,
        StrokeMiter=4.0,
        Color=_colour(look, stroke.colour.role, stroke.colour.alpha),
    )
    if stroke.cap == "round":
        paint.setStrokeCap(skia.Paint.kRound_Cap)
    if stroke.dash:
        paint.setPathEffect(skia.DashPathEffect.Make(list(stroke.dash), 0.0))
    return paint


def _colour(look: Look, role: Role, alpha: float) -> int:
    red, green, blue = (round(channel * 255) for channel in look.rgb(role))
    return int(skia.ColorSetARGB(round(look.alpha(role, alpha) * 255), red, green, blue))


def _skia_path(path: Path) -> Any:
    drawn = skia.Path()
    for step in path:
        match step:
            case MoveTo(x, y):
                drawn.moveTo(x, y)
            case LineTo(x, y):
                drawn.lineTo(x, y)
            case CurveTo(x1, y1, x2, y2, x, y):
                drawn.cubicTo(x1, y1, x2, y2, x, y)
            case Close():
                drawn.close()
    return drawn


@lru_cache(maxsize=32)
def _typeface(of: Family, weight: Weight) -> Any:
    # An empty manager: the default one reads the machine's own fonts, which must not matter here.
    manager = skia.FontMgr.New_Custom_Empty()
    return manager.makeFromData(skia.Data.MakeWithCopy(of.files[weight]))


@lru_cache(maxsize=256)
def _skia_font(of: Family, weight: Weight, size: float) -> Any:
    font = skia.Font(_typeface(of, weight), size)
    font.setSubpixel(True)
    font.setLinearMetrics(True)
    font.setHinting(skia.FontHinting.kNone)
    font.setEdging(skia.Font.Edging.kAntiAlias)
    font.setBaselineSnap(False)
    return font
