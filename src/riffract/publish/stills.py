"""Stills: each shot at rest, as PNG, SVG and PDF, with its description inside the file."""

import struct
import zlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from riffract.essay.beside import write_whole
from riffract.essay.shots import Shot
from riffract.picture.look import Look
from riffract.picture.pdf import pdf
from riffract.picture.raster import paint, png
from riffract.picture.scene import Scene
from riffract.picture.svg import svg
from riffract.publish.script import escaped

DESCRIPTIONS_FILE: Final = "descriptions.md"
_SIGNATURE_AND_HEADER_BYTES = 8 + 25


@dataclass(frozen=True, slots=True, kw_only=True)
class Still:
    """A picture and its names.

    Attributes:
        name: of its files, without ending.
        title: what it claims.
        scene: the picture; it is shown at rest.
    """

    name: str
    title: str
    scene: Scene


def write_stills(folder: Path, stills: Sequence[Still], look: Look) -> Iterator[Path]:
    """Write each still as PNG, in the size of its page, as SVG and as PDF; then all descriptions.

    Args:
        folder: exists.
        stills: in order.
        look: the colours.

    Yields:
        Each file once it is there.
    """
    for still in stills:
        for ending, content in (
            ("png", still_png(still, look)),
            ("svg", still_svg(still, look).encode()),
            ("pdf", still_pdf(still, look)),
        ):
            path = folder / f"{still.name}.{ending}"
            write_whole(path, content)
            yield path
    path = folder / DESCRIPTIONS_FILE
    write_whole(path, descriptions_text(stills))
    yield path


def named_stills(shots: Sequence[Shot], scenes: Sequence[Scene]) -> list[Still]:
    """Name each scene after its shot."""
    return [
        Still(name=shot.name, title=shot.title, scene=scene)
        for shot, scene in zip(shots, scenes, strict=True)
    ]


def still_png(still: Still, look: Look) -> bytes:
    """Draw a still; title and description are kept as PNG text."""
    page = still.scene.page
    pixels = paint(still.scene.at_rest(), look, page=page, width=page.width, height=page.height)
    texts = {"Title": still.title, "Description": still.scene.description}
    return with_texts(png(pixels), texts)


def still_svg(still: Still, look: Look, *, with_ground: bool = True) -> str:
    """Write a still as SVG; title and description are its own elements."""
    scene = still.scene
    return svg(
        scene.at_rest(),
        look,
        page=scene.page,
        title=still.title,
        description=scene.description,
        with_ground=with_ground,
    )


def still_pdf(still: Still, look: Look) -> bytes:
    """Write a still as PDF with its fonts inside; title and description are the document's own."""
    scene = still.scene
    return pdf(
        scene.at_rest(),
        look,
        page=scene.page,
        title=still.title,
        description=scene.description,
    )


def descriptions_text(stills: Sequence[Still]) -> str:
    """List what each still shows, as Markdown, for the alternative texts of a web page."""
    paragraphs = [f"## {still.name}\n\n{escaped(still.scene.description)}\n" for still in stills]
    return "\n".join(["# What the stills show\n", *paragraphs])


def with_texts(png_bytes: bytes, texts: dict[str, str]) -> bytes:
    """Put texts into a PNG, right behind its header, in UTF-8.

    Source: PNG (third edition), 11.3.3.4, international textual data.
    """
    at = _SIGNATURE_AND_HEADER_BYTES
    chunks = b"".join(_text_chunk(keyword, text) for keyword, text in texts.items() if text)
    return png_bytes[:at] + chunks + png_bytes[at:]


def _text_chunk(keyword: str, text: str) -> bytes:
    content = keyword.encode("latin-1") + b"\0\0\0\0\0" + text.encode()
    body = b"iTXt" + content
    return struct.pack(">I", len(content)) + body + struct.pack(">I", zlib.crc32(body))
