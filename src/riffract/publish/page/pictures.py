"""A claim's pictures as elements of the page: one for wide windows, one for upright telephones."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from riffract.picture.scene import PORTRAIT, WIDE, Page
from riffract.publish.page.moving_picture import MovingPicture

UPRIGHT: Final[Page] = PORTRAIT
"""Four by five: as wide as a telephone, and still leaves room below it for the player."""

PAGES: Final = (WIDE, UPRIGHT)


@dataclass(frozen=True, slots=True, kw_only=True)
class Pictures:
    """The same picture twice; the page's style shows one of them."""

    wide: MovingPicture
    upright: MovingPicture


def pictures_html(name: str, pictures: Pictures, *, can_move: bool) -> Iterator[str]:
    """Write both pictures as they rest, so that they are there without scripts, too.

    Args:
        name: of the claim's element; its title and description have names that begin so.
        pictures: what to write.
        can_move: whether what moves them is written, too.
    """
    yield '<div class="picture">'
    yield _rest(name, pictures.wide, "wide")
    yield _rest(name, pictures.upright, "upright")
    yield "</div>"
    if can_move:
        yield _packed(pictures.wide, "wide")
        yield _packed(pictures.upright, "upright")


def _rest(name: str, picture: MovingPicture, shape: str) -> str:
    page = picture.page
    return (
        f'<svg class="{shape}" viewBox="0 0 {page.width} {page.height}" role="img" '
        f'aria-labelledby="{name}-title" aria-describedby="{name}-seen">'
        f'<g class="rest">{picture.rest}</g><g class="played" display="none"></g></svg>'
    )


def _packed(picture: MovingPicture, shape: str) -> str:
    """Write what the script reads; no browser runs it, and no sign of Base64 ends the element."""
    return f'<script type="text/plain" class="{shape}">{picture.packed}</script>'
