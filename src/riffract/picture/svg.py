"""The SVG painter: marks → one self-contained SVG 1.1 text, for the handout and for further use.

Words are drawn as outlines, so that no font is needed; what they say stays readable for those who
listen instead of look: every line of text and every labelled group is named.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from xml.sax.saxutils import escape, quoteattr

from riffract.picture.look import Look
from riffract.picture.marks import (
    Close,
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
    rectangle,
)
from riffract.picture.scene import Page
from riffract.picture.type import UNITS, glyph_outline, set_line, start_x


def svg(
    marks: Iterable[Mark],
    look: Look,
    *,
    page: Page,
    title: str,
    description: str,
    with_ground: bool = True,
) -> str:
    """Write marks as an SVG document; the same marks always give the same text.

    Args:
        marks: drawn in order.
        look: the colours.
        page: its size becomes the view box.
        title: the document's name.
        description: the picture in words.
        with_ground: whether the page is filled with the ground's colour first.
    """
    writer = _Writer(look)
    body = [element for mark in marks for element in writer.elements(mark, is_named=False)]
    ground = _path_element(rectangle(0, 0, page.width, page.height), f' fill="{writer.ground}"')
    head = (
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
        f' viewBox="0 0 {page.width} {page.height}" width="{page.width}"'
        f' height="{page.height}" role="group"'
        ' aria-labelledby="title description">'
    )
    definitions = [element for _, element in writer.definitions.values()]
    return "\n".join(
        [
            head,
            f'<title id="title">{escape(_printable(title))}</title>',
            f'<desc id="description">{escape(_printable(description))}</desc>',
            *(["<defs>", *definitions, "</defs>"] if definitions else []),
            *([ground] if with_ground else []),
            *body,
            "</svg>\n",
        ]
    )


def svg_fragment(marks: Iterable[Mark], look: Look, *, prefix: str) -> str:
    """Write marks as SVG elements to be put into another document.

    Args:
        marks: drawn in order.
        look: the colours.
        prefix: begins every id, so that fragments beside each other keep theirs apart.
    """
    pieces = SvgPieces(look, prefix=prefix)
    body = pieces.piece(marks)
    return pieces.definitions + body


class SvgPieces:
    """Writes marks piece by piece for one document, in which each letter is defined only once."""

    def __init__(self, look: Look, *, prefix: str) -> None:
        self._writer = _Writer(look, prefix=prefix)

    def piece(self, marks: Iterable[Mark]) -> str:
        """Write marks as elements that refer to the definitions."""
        elements = (e for mark in marks for e in self._writer.elements(mark, is_named=True))
        return "".join(elements)

    @property
    def definitions(self) -> str:
        """What the pieces written so far refer to, as one element; empty if that is nothing."""
        elements = [element for _, element in self._writer.definitions.values()]
        return "".join(["<defs>", *elements, "</defs>"]) if elements else ""


@dataclass(slots=True)
class _Writer:
    """Writes elements, and gathers the definitions (letters, gradients, clips) they refer to.

    Attributes:
        look: the colours.
        definitions: id and element of each definition, by its content.
        prefix: of every id.
    """

    look: Look
    definitions: dict[str, tuple[str, str]] = field(default_factory=dict)
    prefix: str = ""

    @property
    def ground(self) -> str:
        return self.look.hexes[Role.GROUND]

    def elements(self, mark: Mark, *, is_named: bool) -> Iterator[str]:
        match mark:
            case Shape():
                yield self._shape(mark)
            case Words():
                yield from self._words(mark, is_named=is_named)
            case Group() if mark.opacity > 0.0:
                yield from self._group(mark, is_named=is_named)
            case _:
                pass

    def _shape(self, shape: Shape) -> str:
        fill = ' fill="none"' if shape.fill is None else self._fill(shape.fill)
        stroke = "" if shape.stroke is None else self._stroke(shape.stroke)
        return _path_element(shape.path, fill + stroke)

    def _words(self, words: Words, *, is_named: bool) -> Iterator[str]:
        line = set_line(words.text, words.size, words.weight)
        letters = "".join(
            self._letter(glyph, words.weight, x * UNITS / words.size, y * UNITS / words.size)
            for glyph, (x, y) in zip(line.glyphs, line.places, strict=True)
        )
        if not letters:
            return
        scale = _shortened(f"{words.size / UNITS:.4f}")
        place = f"translate({_number(start_x(words))} {_number(words.y)}) scale({scale})"
        name = "" if is_named else f' role="img" aria-label={_attribute(words.text)}'
        if words.halo > 0.0:
            rim_width = _number(2.0 * words.halo * UNITS / words.size)
            yield (
                f'<g transform="{place}" fill="none" stroke="{self.ground}"'
                f' stroke-width="{rim_width}" stroke-linejoin="round"'
                f'{_opacity("stroke", words.colour.alpha)} aria-hidden="true">{letters}</g>'
            )
        yield f'<g transform="{place}"{self._fill(words.colour)}{name}>{letters}</g>'

    def _letter(self, glyph: int, weight: Weight, x: float, y: float) -> str:
        """Write one letter, in font units; its outline is written once and referred to."""
        data = path_data(glyph_outline(glyph, weight))
        if not data:
            return ""
        name = self._defined("path", f'd="{data}"', "", prefix="l")
        up = f' y="{_number(y)}"' if y else ""
        return f'<use xlink:href="#{name}" x="{_number(x)}"{up}/>'

    def _group(self, group: Group, *, is_named: bool) -> Iterator[str]:
        attributes = ""
        if group.shift != (0.0, 0.0):
            right, down = group.shift
            attributes += f' transform="translate({_number(right)} {_number(down)})"'
        if group.clip is not None:
            attributes += f' clip-path="url(#{self._clip(group.clip)})"'
        if group.opacity < 1.0:
            attributes += f' opacity="{_share(group.opacity)}"'
        if group.label and not is_named:
            attributes += f' role="img" aria-label={_attribute(group.label)}'
        inner_named = is_named or bool(group.label)
        inside = [e for mark in group.marks for e in self.elements(mark, is_named=inner_named)]
        if inside and not attributes:
            yield from inside
        elif inside:
            yield from (f"<g{attributes}>", *inside, "</g>")

    def _fill(self, fill: Fill) -> str:
        if isinstance(fill, Gradient):
            return f' fill="url(#{self._gradient(fill)})"'
        alpha = self.look.alpha(fill.role, fill.alpha)
        return f' fill="{self.look.hexes[fill.role]}"{_opacity("fill", alpha)}'

    def _stroke(self, stroke: Stroke) -> str:
        colour = stroke.colour
        alpha = self.look.alpha(colour.role, colour.alpha)
        dash = " ".join(_number(length) for length in stroke.dash)
        return (
            f' stroke="{self.look.hexes[colour.role]}" stroke-width="{_number(stroke.width)}"'
            + _opacity("stroke", alpha)
            + (' stroke-linecap="round"' if stroke.cap == "round" else "")
            + (f' stroke-dasharray="{dash}"' if dash else "")
        )

    def _gradient(self, gradient: Gradient) -> str:
        hex_colour = self.look.hexes[gradient.role]
        (x1, y1), (x2, y2) = gradient.from_xy, gradient.to_xy
        stops = "".join(
            f'<stop offset="{offset}" stop-color="{hex_colour}"{_opacity("stop", alpha)}/>'
            for offset, alpha in (
                (0, self.look.alpha(gradient.role, gradient.from_alpha)),
                (1, self.look.alpha(gradient.role, gradient.to_alpha)),
            )
        )
        ends = f'x1="{_number(x1)}" y1="{_number(y1)}" x2="{_number(x2)}" y2="{_number(y2)}"'
        return self._defined(
            "linearGradient", f'gradientUnits="userSpaceOnUse" {ends}', stops, prefix="g"
        )

    def _clip(self, path: Path) -> str:
        return self._defined("clipPath", "", _path_element(path, ""), prefix="c")

    def _defined(self, tag: str, attributes: str, inside: str, *, prefix: str) -> str:
        """Give the id of a definition; equal ones are written once."""
        content = f"{tag} {attributes} {inside}"
        if content not in self.definitions:
            name = f"{self.prefix}{prefix}{len(self.definitions) + 1}"
            parts = " ".join(part for part in (tag, f'id="{name}"', attributes) if part)
            element = f"<{parts}>{inside}</{tag}>" if inside else f"<{parts}/>"
            self.definitions[content] = (name, element)
        return self.definitions[content][0]


def _path_element(path: Path, attributes: str) -> str:
    return f'<path d="{path_data(path)}"{attributes}/>'


def path_data(path: Path) -> str:
    """Write a path as SVG path data, in hundredths of a px at most.

    >>> path_data((MoveTo(0.0, 1.5), LineTo(10.0, 1.499), Close()))
    'M0 1.5L10 1.5Z'
    """
    return "".join(_step_data(step) for step in path)


def _step_data(step: MoveTo | LineTo | CurveTo | Close) -> str:
    match step:
        case MoveTo(x, y):
            return f"M{_number(x)} {_number(y)}"
        case LineTo(x, y):
            return f"L{_number(x)} {_number(y)}"
        case CurveTo(x1, y1, x2, y2, x, y):
            first, second = f"{_number(x1)} {_number(y1)}", f"{_number(x2)} {_number(y2)}"
            return f"C{first} {second} {_number(x)} {_number(y)}"
        case Close():
            return "Z"


def _opacity(of: str, alpha: float) -> str:
    return "" if alpha >= 1.0 else f' {of}-opacity="{_share(alpha)}"'


def _number(value: float) -> str:
    """Write a length in hundredths; a picture holds thousands of them."""
    text = f"{value:.2f}"
    return _shortened(text) if text[-1] == "0" else text


def _share(value: float) -> str:
    return _shortened(f"{value:.3f}")


def _shortened(text: str) -> str:
    short = text.rstrip("0").rstrip(".")
    return "0" if short == "-0" else short


def _attribute(text: str) -> str:
    return quoteattr(_printable(text))


def _printable(text: str) -> str:
    """Leave out control characters, which XML 1.0 does not allow even as references."""
    return "".join(c for c in text if c >= " " or c in "\t\n")
