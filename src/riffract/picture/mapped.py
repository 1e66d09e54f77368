"""Shapes moved and mirrored: the same marks after x and y are each stretched and shifted."""

from dataclasses import dataclass, replace

from riffract.picture.marks import (
    Close,
    CurveTo,
    Gradient,
    LineTo,
    MoveTo,
    Path,
    Shape,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Mapping:
    """Where points go: x to `x_scale * x + x_shift`, y likewise. Negative scales mirror."""

    x_scale: float = 1.0
    x_shift: float = 0.0
    y_scale: float = 1.0
    y_shift: float = 0.0

    def point(self, x: float, y: float) -> tuple[float, float]:
        """Give where a point goes.

        >>> Mapping(x_scale=-1.0, x_shift=10.0).point(2.0, 3.0)
        (8.0, 3.0)
        """
        return (self.x_scale * x + self.x_shift, self.y_scale * y + self.y_shift)


def mapped_path(path: Path, mapping: Mapping) -> Path:
    """Move all points of a path."""
    return tuple(_mapped_step(step, mapping) for step in path)


def mapped_shape(shape: Shape, mapping: Mapping) -> Shape:
    """Move a shape; its stroke keeps its width."""
    fill = shape.fill
    if isinstance(fill, Gradient):
        fill = replace(fill, from_xy=mapping.point(*fill.from_xy), to_xy=mapping.point(*fill.to_xy))
    return replace(shape, path=mapped_path(shape.path, mapping), fill=fill)


def _mapped_step(
    step: MoveTo | LineTo | CurveTo | Close, mapping: Mapping
) -> MoveTo | LineTo | CurveTo | Close:
    match step:
        case MoveTo(x, y):
            return MoveTo(*mapping.point(x, y))
        case LineTo(x, y):
            return LineTo(*mapping.point(x, y))
        case CurveTo(x1, y1, x2, y2, x, y):
            return CurveTo(*mapping.point(x1, y1), *mapping.point(x2, y2), *mapping.point(x, y))
        case Close():
            return step
