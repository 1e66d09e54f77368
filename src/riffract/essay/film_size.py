"""How large the film's picture is: a shape and perhaps one side, or both sides."""

from collections.abc import Mapping
from fractions import Fraction
from types import MappingProxyType
from typing import Final, Literal

from riffract.formats.problem import Problem, Severity

ShapeName = Literal["16:9", "9:16", "1:1", "4:5"]

SHAPES: Final[Mapping[ShapeName, Fraction]] = MappingProxyType(
    {
        "16:9": Fraction(16, 9),
        "9:16": Fraction(9, 16),
        "1:1": Fraction(1),
        "4:5": Fraction(4, 5),
    }
)
"""Width by height. The shapes that video sites and telephones ask for (common practice)."""

USUAL_SHAPE: Final[ShapeName] = "16:9"
SHORT_SIDE_PX: Final = 1080
"""Of a picture whose size nobody gave: full HD, which every player shows."""

LONGEST_SIDE_PX: Final = 3840
LONGEST_SHORT_SIDE_PX: Final = 2160
"""3840 × 2160, or the same upright, is the largest picture (UHD, Rec. ITU-R BT.2020)."""


def picture_size(
    shape: ShapeName | None = None, width: int | None = None, height: int | None = None
) -> tuple[int, int]:
    """Give width and height of the picture, px, both even.

    Both sides, if given, are taken as they are. One side is completed by the shape; without any,
    the short side is 1080 px.

    >>> picture_size(), picture_size("9:16"), picture_size("4:5", height=1350)
    ((1920, 1080), (1080, 1920), (1080, 1350))
    >>> picture_size(width=1280), picture_size("1:1", 720, 900)
    ((1280, 720), (720, 900))
    """
    if width is not None and height is not None:
        return width, height
    ratio = SHAPES[shape or USUAL_SHAPE]
    if width is not None:
        return width, _even(width / ratio)
    if height is not None:
        return _even(height * ratio), height
    one = Fraction(1)
    return _even(SHORT_SIDE_PX * max(ratio, one)), _even(SHORT_SIDE_PX / min(ratio, one))


def size_problem(
    shape: ShapeName | None = None, width: int | None = None, height: int | None = None
) -> Problem | None:
    """Say what is wrong with a size: too large, or a shape that its sides do not have."""
    wide, high = picture_size(shape, width, height)
    if max(wide, high) > LONGEST_SIDE_PX or min(wide, high) > LONGEST_SHORT_SIDE_PX:
        return Problem(
            what=f"the picture would be {wide} × {high}",
            mend=f"keep it within {LONGEST_SIDE_PX} × {LONGEST_SHORT_SIDE_PX}, or the same upright",
        )
    if shape is not None and abs(wide - high * SHAPES[shape]) > 2:
        return Problem(
            what=f"a picture of {wide} × {high} is not {shape}; its sides count",
            mend="leave out width or height, and the shape gives it",
            severity=Severity.WARNING,
        )
    return None


def _even(length_px: Fraction) -> int:
    """Round to an even number, as halved colour samples need it."""
    return 2 * round(length_px / 2)
