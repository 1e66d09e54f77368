"""What changes from one frame to the next: which marks, and which part of the picture."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from riffract.picture.marks import Mark


@dataclass(frozen=True, slots=True, kw_only=True)
class PixelBox:
    """A part of a picture: whole px from its upper left corner, the ends left out."""

    left: int
    top: int
    right: int
    bottom: int

    @property
    def area(self) -> int:
        """How many px it holds."""
        return max(self.right - self.left, 0) * max(self.bottom - self.top, 0)

    @property
    def rows_and_columns(self) -> tuple[slice, slice]:
        """Give what cuts the part out of an array."""
        return slice(self.top, self.bottom), slice(self.left, self.right)

    def meets(self, other: "PixelBox") -> bool:
        """Say whether both share some px."""
        return max(self.left, other.left) < min(self.right, other.right) and max(
            self.top, other.top
        ) < min(self.bottom, other.bottom)


NOWHERE = PixelBox(left=0, top=0, right=0, bottom=0)


def joined(boxes: Iterable[PixelBox]) -> PixelBox:
    """Give the smallest part that holds all; those without area are left out.

    >>> joined([PixelBox(left=0, top=0, right=2, bottom=1), NOWHERE]).right
    2
    """
    found = [box for box in boxes if box.area]
    if not found:
        return NOWHERE
    return PixelBox(
        left=min(box.left for box in found),
        top=min(box.top for box in found),
        right=max(box.right for box in found),
        bottom=max(box.bottom for box in found),
    )


def closed(part: PixelBox, boxes: Sequence[PixelBox]) -> tuple[PixelBox, tuple[int, ...]]:
    """Grow a part until every box that meets it lies within it.

    Returns:
        The part, and the numbers of the boxes within it, in order.
    """
    inside: set[int] = set()
    while True:
        met = {n for n, box in enumerate(boxes) if n not in inside and box.meets(part)}
        if not met:
            return part, tuple(sorted(inside))
        inside |= met
        part = joined([part, *(boxes[n] for n in met)])


def matches(before: Sequence[Mark], after: Sequence[Mark]) -> tuple[int | None, ...]:
    """Tell for each mark which of the marks before it equals, in the same order of drawing.

    Marks are compared from both ends; where as many lie between, one by one.

    Returns:
        For each mark of `after` a number in `before`, rising; `None` for a mark that is new.
    """
    shorter = min(len(before), len(after))
    first = 0
    while first < shorter and before[first] == after[first]:
        first += 1
    last = 0
    while last < shorter - first and before[-1 - last] == after[-1 - last]:
        last += 1
    between = range(first, len(after) - last)
    is_even = len(before) == len(after)
    return (
        *range(first),
        *(n if is_even and before[n] == after[n] else None for n in between),
        *range(len(before) - last, len(before)),
    )
