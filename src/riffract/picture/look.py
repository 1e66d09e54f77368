"""Looks: the values that colour roles take, dark for the film, paper for the handout."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Final

from riffract.picture.marks import Role

Rgb = tuple[float, float, float]
"""Red, green and blue of sRGB, 0..1."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """One set of colours.

    Attributes:
        name: how it is asked for.
        hexes: for each role its sRGB value as `#rrggbb`.
        thinned: roles whose translucent fills are laid on more thinly, with the factor; dark
            inks on paper cover more than light does on a dark ground.
        has_ground: whether the page is filled. Without, it stays transparent, and what is filled
            with the ground's colour takes away what lies below, and glass is half transparent.
    """

    name: str
    hexes: Mapping[Role, str]
    thinned: Mapping[Role, float] = field(default_factory=lambda: MappingProxyType({}))
    has_ground: bool = True

    def rgb(self, role: Role) -> Rgb:
        """Give the colour of a role."""
        return rgb_of(self.hexes[role])

    @property
    def without_ground(self) -> "Look":
        """The same colours on a transparent page."""
        return replace(self, has_ground=False)

    @property
    def is_dark(self) -> bool:
        """Whether light marks stand on a dark ground."""
        return luminance(self.rgb(Role.GROUND)) < luminance(self.rgb(Role.TEXT))

    def alpha(self, role: Role, alpha: float) -> float:
        """Give the opacity that a translucent fill takes in this look."""
        return alpha * self.thinned.get(role, 1.0) if alpha < 1.0 else alpha


DARK: Final = Look(
    name="dark",
    hexes=MappingProxyType(
        {
            Role.GROUND: "#17110e",
            Role.GLASS: "#231d18",
            Role.TEXT: "#f0ece4",
            Role.QUIET: "#b6b0a8",
            Role.STRING: "#69625b",
            Role.BAR: "#3a342f",
            Role.ANCHOR: "#b8754e",
            Role.FALL: "#f2c871",
            Role.RISE: "#7dbef2",
            Role.DRONE: "#eef1d8",
            Role.BEND: "#f38b9c",
        }
    ),
)

PAPER: Final = Look(
    name="paper",
    hexes=MappingProxyType(
        {
            Role.GROUND: "#f7f3eb",
            Role.GLASS: "#ece7de",
            Role.TEXT: "#201914",
            Role.QUIET: "#5c534d",
            Role.STRING: "#8c857d",
            Role.BAR: "#c8c3bc",
            Role.ANCHOR: "#4d1102",
            Role.FALL: "#8d6012",
            Role.RISE: "#3864af",
            Role.DRONE: "#454a36",
            Role.BEND: "#b60179",
        }
    ),
    thinned=MappingProxyType({Role.ANCHOR: 0.645}),
)

LOOKS: Final[Mapping[str, Look]] = MappingProxyType({"dark": DARK, "paper": PAPER})


def rgb_of(hex_colour: str) -> Rgb:
    """Read `#rrggbb`.

    >>> rgb_of("#ff0033")
    (1.0, 0.0, 0.2)
    """
    red, green, blue = (int(hex_colour[i : i + 2], 16) / 255 for i in (1, 3, 5))
    return (red, green, blue)


def hex_of(colour: Rgb) -> str:
    """Write a colour as `#rrggbb`.

    >>> hex_of((1.0, 0.0, 0.2))
    '#ff0033'
    """
    return "#" + "".join(f"{round(channel * 255):02x}" for channel in colour)


def luminance(colour: Rgb) -> float:
    """Give the relative luminance, 0..1.

    Source: WCAG 2.2, definition of relative luminance, with the sRGB threshold .04045.

    >>> round(luminance((1.0, 1.0, 1.0)), 6)
    1.0
    """
    red, green, blue = (linear(channel) for channel in colour)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def linear(channel: float) -> float:
    """Undo the transfer curve of an sRGB channel.

    Source: IEC 61966-2-1.
    """
    return channel / 12.92 if channel <= 0.04045 else float(((channel + 0.055) / 1.055) ** 2.4)


def contrast(one: Rgb, other: Rgb) -> float:
    """Give the contrast ratio of two colours, 1..21.

    Source: WCAG 2.2, definition of contrast ratio.

    >>> round(contrast(rgb_of("#767676"), rgb_of("#ffffff")), 4)
    4.5422
    """
    darker, lighter = sorted((luminance(one), luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


def laid_over(colour: Rgb, alpha: float, under: Rgb) -> Rgb:
    """Lay a colour over another as painters do, in sRGB values.

    >>> laid_over((1.0, 0.0, 0.0), 0.5, (0.0, 0.0, 1.0))
    (0.5, 0.0, 0.5)
    """
    red, green, blue = (
        alpha * top + (1.0 - alpha) * bottom for top, bottom in zip(colour, under, strict=True)
    )
    return (red, green, blue)
