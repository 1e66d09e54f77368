"""Bounds: how much of the page a mark can touch."""

from collections.abc import Iterable
from dataclasses import dataclass

from riffract.picture.marks import CurveTo, Group, LineTo, Mark, MoveTo, Path, Shape, Words
from riffract.picture.type import ink_box


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """An upright rectangle on the page, px, y pointing down."""

    left: float
    top: float
    right: float
    bottom: float

    @property
    def width(self) -> float:
        """From left to right."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """From top to bottom."""
        return self.bottom - self.top

    def grown(self, by: float) -> "Box":
        """Move all sides outwards; inwards for a negative number."""
        return Box(
            left=self.left - by, top=self.top - by, right=self.right + by, bottom=self.bottom + by
        )

    def moved(self, right: float, down: float) -> "Box":
        """Shift the box."""
        return Box(
            left=self.left + right,
            top=self.top + down,
            right=self.right + right,
            bottom=self.bottom + down,
        )

    def meets(self, other: "Box") -> bool:
        """Say whether both share some area."""
        return self.common(other) is not None

    def common(self, other: "Box") -> "Box | None":
        """Give the shared area; `None` if there is none."""
        left, right = max(self.left, other.left), min(self.right, other.right)
        top, bottom = max(self.top, other.top), min(self.bottom, other.bottom)
        if left >= right or top >= bottom:
            return None
        return Box(left=left, top=top, right=right, bottom=bottom)

    def holds(self, other: "Box") -> bool:
        """Say whether the other box lies inside this one."""
        return (
            self.left <= other.left
            and self.top <= other.top
            and self.right >= other.right
            and self.bottom >= other.bottom
        )


def around(boxes: Iterable[Box]) -> Box | None:
    """Give the smallest box that holds all; `None` if there are none."""
    found = tuple(boxes)
    if not found:
        return None
    return Box(
        left=min(b.left for b in found),
        top=min(b.top for b in found),
        right=max(b.right for b in found),
        bottom=max(b.bottom for b in found),
    )


def bounds_of(mark: Mark) -> Box | None:
    """Tell what a mark can touch at most; `None` if it draws nothing.

    Curves are held by their control points, and mitred corners by twice the stroke's width, so the
    box may be larger than the ink, never smaller.
    """
    match mark:
        case Shape(path=path, stroke=stroke):
            box = path_bounds(path)
            return box if box is None or stroke is None else box.grown(2.0 * stroke.width)
        case Words(text=text, halo=halo):
            left, top, right, bottom = ink_box(mark)
            if not text.strip():
                return None
            return Box(left=left, top=top, right=right, bottom=bottom).grown(halo)
        case Group(marks=marks, clip=clip, shift=shift):
            box = around(b for b in map(bounds_of, marks) if b is not None)
            limit = None if clip is None else path_bounds(clip)
            if box is not None and limit is not None:
                box = box.common(limit)
            return None if box is None else box.moved(*shift)


def path_bounds(path: Path) -> Box | None:
    """Give the box around all points of a path, control points included; `None` if empty."""
    points: list[tuple[float, float]] = []
    for step in path:
        match step:
            case MoveTo(x, y) | LineTo(x, y):
                points.append((x, y))
            case CurveTo(x1, y1, x2, y2, x, y):
                points += [(x1, y1), (x2, y2), (x, y)]
            case _:
                pass
    if not points:
        return None
    return Box(
        left=min(x for x, _ in points),
        top=min(y for _, y in points),
        right=max(x for x, _ in points),
        bottom=max(y for _, y in points),
    )
