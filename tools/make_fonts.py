"""Make the three font files that Riffract ships, from two open fonts.

Riffract Sans is Atkinson Hyperlegible Next (latin and latin-ext) with tabular figures as its own,
music signs from Noto Music, and a few signs drawn or derived here. A figure in the picture must
not change its width, and "E♭" must not need a second font in three painters.

    python tools/make_fonts.py ATKINSON_FILES NOTO_MUSIC_FILES

The arguments are the `files` folders of the npm packages @fontsource/atkinson-hyperlegible-next and
@fontsource/noto-music. Both are under the SIL Open Font Licence 1.1 without a reserved name; so is
the result. The same input gives the same bytes.
"""

import argparse
from collections.abc import Mapping
from io import BytesIO
from itertools import pairwise
from pathlib import Path
from typing import Any

import skia
from fontTools.merge import Merger
from fontTools.misc.transform import Transform
from fontTools.pens.cu2quPen import Cu2QuPen
from fontTools.pens.recordingPen import DecomposingRecordingPen
from fontTools.pens.transformPen import TransformPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.subset import Options, Subsetter
from fontTools.ttLib import TTFont

FAMILY = "Riffract Sans"
VERSION = "1.000"
STYLES = {400: "Regular", 500: "Medium", 600: "SemiBold"}
FONTS = Path(__file__).parent.parent / "src/riffract/picture/fonts"

MUSIC_SIGNS = {"♭": (1.22, 70.0), "♯": (1.0, 200.0), "♮": (1.0, 200.0), "♩": (1.15, 0.0)}
"""For each sign its scale and how far it is raised, in thousandths of the size."""

SIGN_EMBOLDENING = {400: 8.0, 500: 22.0, 600: 36.0}
"""The music font has one weight; this rim makes its signs as strong as the letters beside them."""

SMALL_FIGURE_SCALE = 0.62
SMALL_FIGURE_DROP = -110.0
HEAVIER = {400: 600, 500: 700, 600: 800}
"""Subscripts are scaled from a heavier cut, so that their stems match the text."""

STEM = {400: 80.0, 500: 102.0, 600: 118.0}
SIDE_BEARING = 55.0


def main() -> None:
    """Build all weights."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("atkinson_files", type=Path)
    parser.add_argument("noto_music_files", type=Path)
    chosen = parser.parse_args()
    for weight in STYLES:
        font = build(weight, chosen.atkinson_files, chosen.noto_music_files)
        target = FONTS / f"RiffractSans-{weight}.ttf"
        font.save(target)
        print(f"{target.name}: {target.stat().st_size} bytes, {len(font.getBestCmap())} characters")


def build(weight: int, atkinson: Path, noto_music: Path) -> TTFont:
    """Build one weight."""
    font = _merged(weight, atkinson)
    _freeze_tabular_figures(font)
    music = TTFont(noto_music / "noto-music-music-400-normal.woff2")
    for sign in MUSIC_SIGNS:
        _add_music_sign(font, music, sign, rim=SIGN_EMBOLDENING[weight])
    heavier = TTFont(_atkinson_file(atkinson, "latin", HEAVIER[weight]))
    for figure in "0123456789+":
        _add_subscript(font, heavier, figure)
    for character, (path, width) in _drawn_signs(STEM[weight]).items():
        _add_path(font, character, path, width)
    _name(font, weight)
    return font


def _atkinson_file(folder: Path, subset: str, weight: int) -> Path:
    return folder / f"atkinson-hyperlegible-next-{subset}-{weight}-normal.woff2"


def _merged(weight: int, folder: Path) -> TTFont:
    parts = []
    for subset in ("latin", "latin-ext"):
        part = TTFont(_atkinson_file(folder, subset, weight))
        part.flavor = None
        unpacked = BytesIO()
        part.save(unpacked)
        unpacked.seek(0)
        parts.append(unpacked)
    font = Merger().merge(parts)
    font.recalcTimestamp = False
    return font


def _freeze_tabular_figures(font: TTFont) -> None:
    """Let the characters 0 to 9 mean the tabular figures; drop the features that would undo it."""
    tabular: Mapping[str, str] = {}
    for feature in font["GSUB"].table.FeatureList.FeatureRecord:
        if feature.FeatureTag == "tnum":
            (lookup,) = feature.Feature.LookupListIndex
            tabular = font["GSUB"].table.LookupList.Lookup[lookup].SubTable[0].mapping
    for table in font["cmap"].tables:
        for code, glyph in table.cmap.items():
            table.cmap[code] = tabular.get(glyph, glyph)
    options = Options()
    options.layout_features = ["ccmp", "locl", "kern", "mark", "mkmk"]
    options.name_IDs = ["*"]
    options.notdef_outline = True
    options.glyph_names = False
    options.hinting = False
    options.recalc_timestamp = False
    options.drop_tables += ["STAT"]
    subsetter = Subsetter(options)
    subsetter.populate(unicodes=list(font.getBestCmap()))
    subsetter.subset(font)


def _add_music_sign(font: TTFont, music: TTFont, sign: str, *, rim: float) -> None:
    scale, raised = MUSIC_SIGNS[sign]
    glyphs = music.getGlyphSet()
    glyph = glyphs[music.getBestCmap()[ord(sign)]]
    outline = _SkiaPen()
    glyph.draw(TransformPen(outline, Transform(scale, 0, 0, scale, 0, raised)))
    path = _with_rim(outline.path, rim)
    box = path.computeTightBounds()
    bearing = SIDE_BEARING * 0.75
    path.offset(bearing - box.left(), 0.0)
    _add_path(font, sign, path, box.width() + 2 * bearing)


def _add_subscript(font: TTFont, heavier: TTFont, figure: str) -> None:
    glyphs = heavier.getGlyphSet()
    name = heavier.getBestCmap()[ord(figure)]
    glyph = glyphs[f"{name}.tf" if f"{name}.tf" in glyphs else name]
    outline, pen = DecomposingRecordingPen(glyphs), TTGlyphPen(None)
    glyph.draw(outline)
    scale = SMALL_FIGURE_SCALE
    outline.replay(TransformPen(pen, Transform(scale, 0, 0, scale, 0, SMALL_FIGURE_DROP)))
    code = 0x2080 + "0123456789+".index(figure)
    _add_glyph(font, chr(code), pen.glyph(), glyph.width * scale)


def _drawn_signs(stem: float) -> dict[str, tuple[skia.Path, float]]:
    """Draw the signs that the font lacks, in the weight of its stems."""
    width, middle, head = 800.0, 250.0, 190.0
    left, right = 60 + stem / 2, width - 60 - stem / 2
    rightward = [
        [(left, middle), (right, middle)],
        [(right - head, middle + head), (right, middle), (right - head, middle - head)],
    ]
    leftward = [[(width - x, y) for x, y in line] for line in rightward]
    upward = [[(250 - (y - middle), x - 120) for x, y in line] for line in rightward]
    downward = [[(x, 560 - y) for x, y in line] for line in upward]
    tick = [[(70 + stem / 2, 270.0), (230.0, 60 + stem / 2), (560.0, 600.0)]]
    prime = [[(165.0, 640.0), (105.0, 430.0)]]
    less = [
        [(480.0, 540.0), (80.0, 340.0), (480.0, 140.0)],
        [(70.0, 40.0), (490.0, 40.0)],
    ]
    greater = [[(560 - x, y) for x, y in line] for line in less]
    drawn = {"→": (rightward, width), "←": (leftward, width), "↑": (upward, 500.0)}
    drawn |= {"↓": (downward, 500.0), "✓": (tick, 630.0), "′": (prime, 260.0)}
    drawn |= {"≤": (less, 560.0), "≥": (greater, 560.0)}
    return {sign: (_pen_lines(lines, stem), wide) for sign, (lines, wide) in drawn.items()}


def _pen_lines(lines: list[list[tuple[float, float]]], stem: float) -> skia.Path:
    drawing = skia.Path()
    for first, *rest in lines:
        drawing.moveTo(*first)
        for point in rest:
            drawing.lineTo(*point)
    outline = skia.Path()
    _stroke(stem).getFillPath(drawing, outline)
    return skia.Simplify(outline)


def _stroke(width: float) -> skia.Paint:
    return skia.Paint(
        Style=skia.Paint.kStroke_Style, StrokeWidth=width, StrokeJoin=skia.Paint.kMiter_Join
    )


def _with_rim(path: skia.Path, rim: float) -> skia.Path:
    rimmed = skia.Path()
    paint = _stroke(rim)
    paint.setStyle(skia.Paint.kStrokeAndFill_Style)
    paint.getFillPath(path, rimmed)
    return skia.Simplify(rimmed)


def _add_path(font: TTFont, character: str, path: skia.Path, width: float) -> None:
    pen = TTGlyphPen(None)
    # Skia's fill is even-odd after simplifying; as winding it has true directions for holes.
    quadratic = Cu2QuPen(pen, max_err=0.5, reverse_direction=False)
    _replay(skia.AsWinding(path), quadratic)
    _add_glyph(font, character, pen.glyph(), width)


def _replay(path: skia.Path, pen: Any) -> None:
    is_open = False
    for verb, points in path:
        if verb == skia.Path.kMove_Verb:
            if is_open:
                pen.closePath()
            pen.moveTo((points[0].x(), points[0].y()))
            is_open = True
        elif verb == skia.Path.kLine_Verb:
            pen.lineTo((points[1].x(), points[1].y()))
        elif verb == skia.Path.kQuad_Verb:
            pen.qCurveTo(*((p.x(), p.y()) for p in points[1:]))
        elif verb == skia.Path.kCubic_Verb:
            pen.curveTo(*((p.x(), p.y()) for p in points[1:]))
        elif verb == skia.Path.kConic_Verb:
            raise ValueError("a font holds no conic curves")
        elif verb == skia.Path.kClose_Verb and is_open:
            pen.closePath()
            is_open = False


def _add_glyph(font: TTFont, character: str, glyph: Any, width: float) -> None:
    name = f"uni{ord(character):04X}"
    font["glyf"][name] = glyph
    glyph.recalcBounds(font["glyf"])
    font["hmtx"][name] = (round(width), getattr(glyph, "xMin", 0))
    for table in font["cmap"].tables:
        table.cmap[ord(character)] = name


class _SkiaPen:
    """Takes a glyph's outline into a Skia path (a fontTools segment pen)."""

    def __init__(self) -> None:
        self.path = skia.Path()

    def moveTo(self, point: tuple[float, float]) -> None:  # noqa: N802
        self.path.moveTo(*point)

    def lineTo(self, point: tuple[float, float]) -> None:  # noqa: N802
        self.path.lineTo(*point)

    def qCurveTo(self, *points: tuple[float, float]) -> None:  # noqa: N802
        *controls, end = points
        for control, following in pairwise(controls):
            middle = ((control[0] + following[0]) / 2, (control[1] + following[1]) / 2)
            self.path.quadTo(*control, *middle)
        self.path.quadTo(*controls[-1], *end)

    def curveTo(self, *points: tuple[float, float]) -> None:  # noqa: N802
        self.path.cubicTo(*(number for point in points for number in point))

    def closePath(self) -> None:  # noqa: N802
        self.path.close()


def _name(font: TTFont, weight: int) -> None:
    style = STYLES[weight]
    is_regular = style == "Regular"
    rights = (
        "Copyright 2020-2024 The Atkinson Hyperlegible Next Project Authors "
        "(https://github.com/googlefonts/atkinson-hyperlegible-next). "
        "Music signs: Copyright 2022 The Noto Project Authors "
        "(https://github.com/notofonts/music). Merged for Riffract."
    )
    names = {
        0: rights,
        1: FAMILY if is_regular else f"{FAMILY} {style}",
        2: "Regular",
        3: f"{VERSION};RiffractSans-{style}",
        4: f"{FAMILY} {style}",
        5: f"Version {VERSION}",
        6: f"RiffractSans-{style}",
        13: "This Font Software is licensed under the SIL Open Font License, Version 1.1.",
        14: "https://openfontlicense.org",
        16: FAMILY,
        17: style,
    }
    table = font["name"]
    table.names = []
    for name_id, text in names.items():
        table.setName(text, name_id, 3, 1, 0x409)
    font["OS/2"].usWeightClass = weight
    font["OS/2"].recalcUnicodeRanges(font)
    font["head"].created = font["head"].modified = 0


if __name__ == "__main__":
    main()
